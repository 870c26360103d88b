// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/net_current.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace pb::physics {
namespace {

constexpr std::size_t kNone = static_cast<std::size_t>(-1);

/// Of a straight line from a to b over h: integral of its square, and of its magnitude.
double square_over(double a, double b, double h) { return (a * a + a * b + b * b) / 3.0 * h; }
double magnitude_over(double a, double b, double h) {
  if (a * b >= 0) return 0.5 * (std::abs(a) + std::abs(b)) * h;
  return 0.5 * (a * a + b * b) / (std::abs(a) + std::abs(b)) * h;
}

}  // namespace

NetCurrents::NetCurrents(const Design& design, MeanSpan span) : d_(design), span_(span) {}

void NetCurrents::add_end(const std::string& ref, const std::string& terminal,
                          const std::string& net) {
  auto at = std::find_if(nets_.begin(), nets_.end(), [&](const Net& n) { return n.name == net; });
  if (at == nets_.end()) at = nets_.insert(at, Net{net, -1, {}, 0, {}});
  at->ends.push_back(ends_.size());
  End end;
  end.ref = ref, end.terminal = terminal;
  end.net = static_cast<std::size_t>(at - nets_.begin());
  ends_.push_back(std::move(end));
}

void NetCurrents::list_ends(const System& system) {
  add_end("supply", "-", kGround);
  add_end("controller", "ground", kGround);
  add_end("supply", "+", kRail);
  const Template& t = d_.wiring;
  const auto used = [](const std::vector<std::string>& nodes) {
    return std::find(nodes.begin(), nodes.end(), kLogic) != nodes.end();
  };
  if (std::any_of(t.places.begin(), t.places.end(),
                  [&](const Place& p) { return d_.parts.contains(p.role) && used(p.nodes); }))
    add_end("controller", "supply", kLogic);
  for (const Place& p : t.places) {
    const auto part = d_.parts.find(p.role);
    if (part == d_.parts.end()) continue;
    const PartClass& k = *find_part_class(part->second.part_class);
    std::set<std::string> seen;  // two leads on one net are one end
    for (std::size_t n = 0; n < p.nodes.size(); ++n)
      if (seen.insert(p.nodes[n]).second) add_end(p.ref, std::string(k.terminals[n]), p.nodes[n]);
  }
  for (const Pin& p : t.pins) add_end("pin " + p.name, "", p.node);
  std::set<std::string> leads;  // a lead both windings share is one
  for (const auto* w : {&t.winding_a, &t.winding_b})
    for (const std::string& n : *w)
      if (leads.insert(n).second) add_end("motor", n, n);
  for (Net& n : nets_) n.node = system.circuit().find_node(n.name);
}

std::size_t NetCurrents::end_at(const std::string& ref, int node) const {
  for (std::size_t k = 0; k < ends_.size(); ++k)
    if (ends_[k].ref == ref && nets_[ends_[k].net].node == node) return k;
  return kNone;
}

void NetCurrents::lead(const std::string& ref, int node, std::size_t element, double sign) {
  std::size_t end = end_at(ref, node);
  if (end == kNone) end = end_at("pin " + ref, node);  // a pin's own protection
  if (end == kNone && ref.starts_with("winding_")) end = end_at("motor", node);  // its iron
  if (end == kNone && ref.starts_with("supply cable")) end = end_at("supply", node);
  if (end != kNone) leads_.push_back({end, element, sign});  // else inside of the part
}

void NetCurrents::two(const std::string& ref, int a, int b, std::size_t element) {
  lead(ref, a, element, 1.0);
  lead(ref, b, element, -1.0);
}

/// Readings, in the order of System::names; behind them base currents and those of bridges, which
/// have no reading of their own.
void NetCurrents::list_leads(const System& system) {
  const Circuit& c = system.circuit();
  std::size_t e = 0;
  for (const auto& r : c.resistors) two(r.ref, r.a, r.b, e++);
  for (const auto& d : c.diodes) two(d.ref, d.anode, d.cathode, e++);
  for (const auto& m : c.mosfets) two(m.ref, m.drain, m.source, e++);
  for (const auto& q : c.bipolars) two(q.ref, q.collector, q.emitter, e++);
  e += c.bridges.size();
  for (const auto& l : c.limiters) two(l.ref, l.a, l.b, e++);
  for (const auto& l : c.inductors) two(l.ref, l.a, l.b, e++);
  for (const auto& p : c.pins) lead(p.ref, p.node, e++, -1.0);
  for (const auto& w : c.windings) two("motor", w.a, w.b, e++);
  for (const auto& q : c.bipolars) two(q.ref, q.base, q.emitter, e++);
  for (const auto& b : c.bridges)
    for (int node : b.node) lead(b.ref, node, e++, 1.0);
  std::size_t store = 0;
  const auto stores = [&](const auto& list) {
    for (const auto& s : list) {
      for (const auto& [node, sign] : {std::pair{s.a, 1.0}, std::pair{s.b, -1.0}})
        if (const std::size_t end = end_at(s.ref, node); end != kNone)
          stored_.push_back({end, store, sign});
      ++store;
    }
  };
  stores(c.capacitors), stores(c.depletions), stores(c.ceramics);
  stored_C_.assign(store, 0.0);
}

void NetCurrents::list(const System& system) {
  list_ends(system);
  list_leads(system);
  listed_ = true;
}

void NetCurrents::read(const System& system, const std::vector<double>& x, double h_s) {
  const Circuit& c = system.circuit();
  const auto v = [&](int node) { return system.node_voltage(x, node); };
  std::vector<double> current;
  current.reserve(system.readings.size() + c.bipolars.size());
  for (const Reading& r : system.readings) current.push_back(r.current_A);
  for (const auto& q : c.bipolars)
    current.push_back(
        bipolar_current(q.transistor, v(q.base) - v(q.emitter), v(q.base) - v(q.collector)).ib_A);
  for (const auto& b : c.bridges) {
    double at_V[kBridgeTerminals];
    for (int k = 0; k < kBridgeTerminals; ++k) at_V[k] = v(b.node[k]);
    const BridgeCurrent i = bridge_current(b.chip, at_V);
    current.insert(current.end(), std::begin(i.i_A), std::end(i.i_A));
  }
  for (End& e : ends_) e.before_A = e.now_A, e.now_A = e.stored_A = 0;
  for (const Lead& l : leads_) ends_[l.end].now_A += l.sign * current[l.element];
  std::vector<double> stored(stored_C_.size(), 0.0);
  std::size_t store = 0;
  const auto put = [&](double charge_C) {
    if (h_s > 0) stored[store] = (charge_C - stored_C_[store]) / h_s;
    stored_C_[store++] = charge_C;
  };
  for (const auto& k : c.capacitors) put(k.capacitance_F * (v(k.a) - v(k.b)));
  for (const auto& k : c.depletions) put(k.law(v(k.a) - v(k.b)).value);
  for (const auto& k : c.ceramics) put(k.law(v(k.a) - v(k.b)).value);
  for (const StoredLead& l : stored_) ends_[l.end].stored_A += l.sign * stored[l.store];
  close_to_outside();
}

/// What a driven net's parts do not account for flows to the outside: the supply's return is what
/// its lead delivers, the rest is the controller's.
void NetCurrents::close_to_outside() {
  const auto find = [&](const char* ref, const char* terminal) {
    return std::find_if(ends_.begin(), ends_.end(),
                        [&](const End& e) { return e.ref == ref && e.terminal == terminal; });
  };
  const auto plus = find("supply", "+"), minus = find("supply", "-");
  minus->now_A = -plus->now_A, minus->stored_A = -plus->stored_A;
  for (const char* terminal : {"ground", "supply"}) {
    const auto end = find("controller", terminal);
    if (end == ends_.end()) continue;
    end->now_A = end->stored_A = 0;
    double now_A = 0, stored_A = 0;
    for (std::size_t k : nets_[end->net].ends)
      now_A += ends_[k].now_A, stored_A += ends_[k].stored_A;
    end->now_A = -now_A, end->stored_A = -stored_A;
  }
}

void NetCurrents::add(double t_s, double h_s) {
  const bool counts = t_s > span_.from_s && t_s <= span_.to_s * (1 + 1e-12);
  const auto keep = [&](Sums& s, double from_A, double to_A) {
    if (counts) {
      s.charge_C += 0.5 * (from_A + to_A) * h_s;
      s.abs_C += magnitude_over(from_A, to_A, h_s);
      s.i2_A2s += square_over(from_A, to_A, h_s);
    }
    if (std::abs(to_A) > s.peak_A && t_s >= 0) s.peak_A = std::abs(to_A), s.peak_s = t_s;
  };
  for (End& e : ends_) keep(e.sums, e.before_A + e.stored_A, e.now_A + e.stored_A);
  for (Net& n : nets_) {
    double from_A = 0, to_A = 0;
    for (std::size_t k : n.ends) {
      from_A += 0.5 * std::abs(ends_[k].before_A + ends_[k].stored_A);
      to_A += 0.5 * std::abs(ends_[k].now_A + ends_[k].stored_A);
    }
    keep(n.sums, from_A, to_A);
  }
}

void NetCurrents::spread_of_voltages(const System& system, const std::vector<double>& x) {
  double low_V = HUGE_VAL, high_V = -HUGE_VAL;
  const auto v = [&](const Net& n) { return system.node_voltage(x, n.node); };
  for (const Net& n : nets_) low_V = std::min(low_V, v(n)), high_V = std::max(high_V, v(n));
  for (Net& n : nets_) n.apart_V = std::max({n.apart_V, v(n) - low_V, high_V - v(n)});
}

void NetCurrents::step(const System& system, double t_s, const std::vector<double>& x) {
  const bool first = !listed_;
  if (first) list(system);
  const double h_s = first ? 0 : t_s - t_s_;
  read(system, x, h_s);
  spread_of_voltages(system, x);
  if (!first) resting_ = false;
  add(t_s, h_s);
  t_s_ = t_s;
}

Flow NetCurrents::flow_of(const Sums& s, bool magnitude) const {
  if (resting_) return {s.peak_A, s.peak_A, s.peak_A, s.peak_s};
  const double span_s = span_.to_s - span_.from_s;
  return {magnitude ? s.abs_C / span_s : s.charge_C / span_s, std::sqrt(s.i2_A2s / span_s),
          s.peak_A, s.peak_s};
}

std::vector<NetFlow> NetCurrents::flows() const {
  std::vector<NetFlow> out;
  out.reserve(nets_.size());
  for (const Net& n : nets_) {
    NetFlow net{n.name, {}, flow_of(n.sums, true), n.apart_V};
    for (std::size_t k : n.ends) {
      const End& e = ends_[k];
      net.ends.push_back({e.ref, e.terminal, flow_of(e.sums, false)});
      if (resting_) net.ends.back().flow.mean_A = e.now_A;
    }
    out.push_back(std::move(net));
  }
  return out;
}

}  // namespace pb::physics
