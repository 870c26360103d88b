// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/bench_scene.h"

#include <algorithm>
#include <cmath>

#include "base/random.h"
#include "judgement/yield.h"

namespace pb {
namespace {

using namespace physics;

/// Mean current into an end, 0 where the board has no such end.
double mean_of(const Seen& s, const std::string& ref, const std::string& terminal) {
  for (const NetFlow& n : s.flows)
    for (const NetEndFlow& e : n.ends)
      if (e.ref == ref && e.terminal == terminal) return e.flow.mean_A;
  return 0;
}

void set_bench(const Case& c, Point& p, const std::string& name, double value) {
  for (std::size_t k = 0; k < c.spreads.size(); ++k)
    if (c.spreads[k].name == name) p.value[k] = value;
}

Seen once(const Case& c, const Point& p, const Scene& scene, bool stands, const StopToken& stop) {
  const RunRequest& r = scene.request;
  Temperatures cold;
  cold.winding_K = value_of(c.spreads, p, "ambient");
  Seen out;
  if (r.on_means) {  // figures alone
    out.figures = run(c.design, c.spreads, p, cold, r, stop);
    out.ended = out.figures.outcome == Outcome::reached_end;
    return out;
  }
  NetCurrents probe(c.design, means_of(r.plan));
  const System* system = nullptr;
  const Watch watch = [&](const System& s, double t, const std::vector<double>& x) {
    probe.step(s, t, x);
    if (!system) {
      system = &s;
      for (const Place& place : c.design.wiring.places)
        for (const std::string& n : place.nodes) out.net_V[n] = 0;
      for (const Pin& pin : c.design.wiring.pins) out.net_V[pin.node] = 0;
      for (const auto* w : {&c.design.wiring.winding_a, &c.design.wiring.winding_b})
        for (const std::string& n : *w) out.net_V[n] = 0;
      out.net_V[kRail] = 0;
    }
    for (auto& [name, volts] : out.net_V)
      if (const int n = s.circuit().find_node(name); n >= 0) volts = s.node_voltage(x, n);
  };
  out.figures = stands ? watched_stand(c.design, c.spreads, p, cold, r, watch)
                       : watched_run(c.design, c.spreads, p, cold, r, watch, stop);
  out.ended = out.figures.outcome == Outcome::reached_end;
  if (out.ended) out.flows = probe.flows();
  return out;
}

}  // namespace

Point bench_nominal(const Case& c) {
  Point p = typical(c.spreads);
  constexpr double kRoom_K = 298.15;
  set_bench(c, p, "ambient", kRoom_K);
  return p;
}

Point bench_unit(const Case& c, const BenchOptions& o, int unit) {
  YieldOptions y;
  y.seed = o.seed;
  Point p = unit_of(c, y, unit);
  const Draws draws(o.seed, static_cast<std::uint64_t>(unit));
  for (const char* name : {"supply.voltage", "controller.logic_voltage"}) {
    const double typ = value_of(c.spreads, typical(c.spreads), name);
    set_bench(c, p, name, typ * (1 + draws.uniform(std::string("bench ") + name, -kSet, kSet)));
  }
  set_bench(c, p, "ambient", draws.uniform("bench ambient", kLaboratoryLow_K, kLaboratoryHigh_K));
  return p;
}

Seen see(const Case& c, const Point& p, const Scene& scene, const StopToken& stop) {
  const Plan& plan = scene.request.plan;
  const bool rests = plan.stands_still();
  Seen s = once(c, p, scene, rests, stop);
  // Some resting states are hard to find from nothing; time finds them.
  return rests && !s.ended ? once(c, p, scene, false, stop) : s;
}

std::vector<Expectation> readings_of(const Case& c, const Scene& scene,
                                     const std::vector<Probe>& probes, const BenchOptions& o) {
  const auto values = [&](const Point& p) {
    const Seen s = see(c, p, scene, o.stop);
    std::vector<double> out;
    out.reserve(probes.size());
    for (const Probe& probe : probes) out.push_back(s.ended ? probe.value(s) : kNotGiven);
    return out;
  };
  const std::vector<double> typical = values(bench_nominal(c));
  std::vector<std::vector<double>> units(static_cast<std::size_t>(o.units));
  o.parallel(units.size(),
             [&](std::size_t k) { units[k] = values(bench_unit(c, o, static_cast<int>(k))); });
  std::vector<Expectation> out;
  out.reserve(probes.size());
  for (std::size_t k = 0; k < probes.size(); ++k) {
    Expectation r{probes[k].what, probes[k].where, probes[k].unit,
                  typical[k],     typical[k],      typical[k]};
    std::size_t ended = 0;
    for (const auto& u : units)
      if (given(u[k])) r.low = std::min(r.low, u[k]), r.high = std::max(r.high, u[k]), ++ended;
    if (2 * ended < units.size() || !given(r.expected)) {
      r.low = r.high = kNotGiven;
    } else {
      const double wider = kWidenBand * (r.high - r.low);
      r.low -= wider, r.high += wider;
    }
    out.push_back(std::move(r));
  }
  return out;
}

Probe supply_current() {
  return {"motor supply's current", "supply +", "A",
          [](const Seen& s) { return -mean_of(s, "supply", "+"); }};
}

Probe logic_current() {
  return {"logic supply's current into the board", "logic", "A",
          [](const Seen& s) { return -mean_of(s, "controller", "supply"); }};
}

Probe pin_current(const std::string& pin) {
  return {"current out of the pin", "pin " + pin, "A",
          [pin](const Seen& s) { return -mean_of(s, "pin " + pin, ""); }};
}

Probe winding_current(const Template& t, int winding) {
  const std::string lead = (winding == 0 ? t.winding_a : t.winding_b).front();
  return {std::string("current of winding ") + (winding == 0 ? "a" : "b"), "lead " + lead, "A",
          [lead](const Seen& s) { return mean_of(s, "motor", lead); }};
}

Probe node_voltage(const std::string& node) {
  return {"voltage to ground", node, "V", [node](const Seen& s) {
            const auto at = s.net_V.find(node);
            return at == s.net_V.end() ? kNotGiven : at->second;
          }};
}

Probe voltage_between(const std::string& from, const std::string& to) {
  Probe a = node_voltage(from), b = node_voltage(to);
  return {"voltage between", from + " and " + to, "V",
          [a, b](const Seen& s) { return a.value(s) - b.value(s); }};
}

}  // namespace pb
