// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/numbering.h"

#include <algorithm>
#include <set>
#include <tuple>

#include "base/check.h"

namespace pb::physics {

Numbering::Numbering(const Circuit& c) : circuit(c) {
  PB_CHECK(!c.nodes.empty() && c.nodes[0].driven, c.nodes.size());
  PB_CHECK(c.windings.empty() || c.windings.size() == 2, c.windings.size());
  PB_CHECK(!c.windings.empty() || !c.loose_load, c.windings.size());
  number_unknowns();
  name_elements();
  build_pattern();
  list_storage();
  list_driven_ends();
  list_spans();
  collect_corners();
}

void Numbering::number_unknowns() {
  has_rotor = !circuit.windings.empty();
  int n = 0;
  for (const Node& node : circuit.nodes) n += !node.driven;
  first_inductor = n;
  n += static_cast<int>(circuit.inductors.size());
  first_winding = n;
  if (has_rotor) n += 4;
  has_loose_load = circuit.loose_load.has_value();
  if (has_loose_load) n += 2;
  unknowns = n;
  int voltages = 0;
  for (std::size_t k = 0; k < circuit.nodes.size(); ++k) {
    if (circuit.nodes[k].driven) {
      place.push_back(n + static_cast<int>(driven_nodes.size()));
      driven_nodes.push_back(static_cast<int>(k));
    } else {
      place.push_back(voltages++);
    }
  }
}

std::size_t Numbering::first_inductor_element() const {
  const Circuit& c = circuit;
  return c.resistors.size() + c.diodes.size() + c.mosfets.size() + c.bipolars.size() +
         c.bridges.size() + c.limiters.size();
}

void Numbering::name_elements() {
  const Circuit& c = circuit;
  for (const auto& e : c.resistors) names.push_back({e.ref, "resistor"});
  for (const auto& e : c.diodes) names.push_back({e.ref, "diode"});
  for (const auto& e : c.mosfets) names.push_back({e.ref, "mosfet"});
  for (const auto& e : c.bipolars) names.push_back({e.ref, "bipolar"});
  for (const auto& e : c.bridges) names.push_back({e.ref, "bridge"});
  for (const auto& e : c.limiters) names.push_back({e.ref, "limiter"});
  for (const auto& e : c.inductors) names.push_back({e.ref, "inductor"});
  for (const auto& e : c.pins) names.push_back({e.ref, "pin"});
  for (std::size_t w = 0; w < c.windings.size(); ++w)
    names.push_back({w == 0 ? "winding_a" : "winding_b", "winding"});
}

void Numbering::build_pattern() {
  const Circuit& c = circuit;
  const int n = unknowns;
  std::vector<std::pair<int, int>> e;
  const auto both = [&](int a, int b) {
    if (a < n && b < n) e.push_back({a, b}), e.push_back({b, a});
  };
  const auto nodes = [&](std::initializer_list<int> list) {
    for (int a : list)
      for (int b : list) both(place[a], place[b]);
  };
  for (const auto& r : c.resistors) nodes({r.a, r.b});
  for (const auto& r : c.capacitors) nodes({r.a, r.b});
  for (const auto& k : c.depletions) nodes({k.a, k.b});
  for (const auto& k : c.ceramics) nodes({k.a, k.b});
  for (const auto& d : c.diodes) nodes({d.anode, d.cathode});
  for (const auto& m : c.mosfets) nodes({m.drain, m.gate, m.source});
  for (const auto& q : c.bipolars) nodes({q.collector, q.base, q.emitter});
  for (const auto& b : c.bridges)
    for (int s : b.node)
      for (int t : b.node) both(place[s], place[t]);
  for (const auto& l : c.limiters) nodes({l.a, l.b});
  for (std::size_t l = 0; l < c.inductors.size(); ++l) {
    both(first_inductor + static_cast<int>(l), place[c.inductors[l].a]);
    both(first_inductor + static_cast<int>(l), place[c.inductors[l].b]);
  }
  const int speed = first_winding + 2, angle = first_winding + 3;
  for (std::size_t w = 0; w < c.windings.size(); ++w) {
    const int i = first_winding + static_cast<int>(w);
    both(i, place[c.windings[w].a]);
    both(i, place[c.windings[w].b]);
    both(i, speed);
    both(i, angle);
  }
  if (has_rotor) both(speed, angle);
  if (c.iron) both(first_winding, first_winding + 1);
  if (has_loose_load)
    for (const int i : {speed, angle})
      for (const int j : {angle + 1, angle + 2}) both(i, j);
  if (has_loose_load) both(angle + 1, angle + 2);
  lu = LuPlan::of(n, e);
  for (int i = 0; i < n; ++i) diagonal_slot.push_back(lu.slot(i, i));
  if (!has_rotor) return;
  for (int i = 0; i < kMotor; ++i)
    for (int j = 0; j < kMotor; ++j) {
      const bool cross = !c.iron && i + j == 1,  // windings do not couple but through iron
          load = i > 3 || j > 3, none = load && (!has_loose_load || i < 2 || j < 2);
      motor_slot[i][j] =
          cross || none ? lu.nonzeros : lu.slot(first_winding + i, first_winding + j);
    }
}

void Numbering::list_storage() {
  std::set<std::pair<int, int>> at;
  for (const auto& e : circuit.capacitors)
    for (const int a : {place[e.a], place[e.b]})
      for (const int b : {place[e.a], place[e.b]})
        if (a < unknowns && b < unknowns) at.insert({a, b});
  for (int i = first_inductor; i < unknowns; ++i) at.insert({i, i});
  for (int i = 0; i < unknowns; ++i) {
    for (auto t = at.lower_bound({i, 0}); t != at.end() && t->first == i; ++t)
      stored.push_back({lu.slot(i, t->second), t->second});
    storage_end.push_back(static_cast<int>(stored.size()));
  }
}

void Numbering::list_driven_ends() {
  const Circuit& c = circuit;
  std::vector<bool> dead(c.nodes.size(), false);
  for (std::size_t n = 0; n < c.nodes.size(); ++n) {
    const std::vector<double>& v = c.nodes[n].voltage_V.value;
    dead[n] = std::all_of(v.begin(), v.end(), [](double x) { return x == 0.0; });
  }
  int element = 0;
  const auto end = [&](int of, int node, double sign) {
    if (place[node] >= unknowns && !dead[node]) driven_ends.push_back({of, place[node], sign});
  };
  const auto two = [&](int a, int b) { end(element, a, 1.0), end(element, b, -1.0), ++element; };
  for (const auto& r : c.resistors) two(r.a, r.b);
  for (const auto& d : c.diodes) two(d.anode, d.cathode);
  for (const auto& m : c.mosfets) two(m.drain, m.source);
  element = static_cast<int>(first_inductor_element() - c.limiters.size());
  for (const auto& l : c.limiters) two(l.a, l.b);
  for (const auto& l : c.inductors) two(l.a, l.b);
  element = static_cast<int>(first_winding_element());
  for (const auto& w : c.windings) two(w.a, w.b);
}

void Numbering::list_spans() {
  std::set<std::pair<int, int>> pairs;
  const auto add = [&](int node_a, int node_b) {
    const int a = place[node_a], b = place[node_b];
    if (a != b && a < unknowns && b < unknowns) pairs.insert(std::minmax(a, b));
  };
  for (const MosfetElement& e : circuit.mosfets) add(e.drain, e.source), add(e.gate, e.source);
  for (const BipolarElement& e : circuit.bipolars)
    add(e.collector, e.emitter), add(e.base, e.emitter);
  for (const DiodeElement& e : circuit.diodes) add(e.anode, e.cathode);
  for (const WindingElement& e : circuit.windings) add(e.a, e.b);
  for (const auto& [a, b] : pairs) spans.push_back({a, b});
}

void Numbering::collect_corners() {
  const auto add = [&](const Profile& p) {
    corners_s.insert(corners_s.end(), p.t_s.begin(), p.t_s.end());
  };
  for (const Node& n : circuit.nodes)
    if (n.driven) add(n.voltage_V);
  for (const PinElement& p : circuit.pins) {
    add(p.level_V);
    add(p.conductance_S);
  }
  std::sort(corners_s.begin(), corners_s.end());
  corners_s.erase(std::unique(corners_s.begin(), corners_s.end()), corners_s.end());
}

int Numbering::slot_or_bin(int row_place, int column_place) const {
  return row_place < size() && column_place < size() ? lu.slot(row_place, column_place)
                                                     : lu.nonzeros;
}

Numbering::Pair Numbering::pair(int a, int b) const {
  const int p = place[a], q = place[b];
  return {slot_or_bin(p, p), slot_or_bin(p, q), slot_or_bin(q, p), slot_or_bin(q, q)};
}

Numbering::Pair Numbering::branch(int i, int a, int b) const {
  const int p = place[a], q = place[b];
  return {slot_or_bin(p, i), slot_or_bin(q, i), slot_or_bin(i, p), slot_or_bin(i, q)};
}

Numbering::Three Numbering::three(int a, int b, int c) const {
  Three t{};
  const int n[3] = {place[a], place[b], place[c]};
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 3; ++j) t.slot[i][j] = slot_or_bin(n[i], n[j]);
  return t;
}

bool same_wiring(const Numbering& a, const Numbering& b) {
  const auto alike = [](const auto& x, const auto& y, auto nodes) {
    if (x.size() != y.size()) return false;
    for (std::size_t k = 0; k < x.size(); ++k)
      if (nodes(x[k]) != nodes(y[k])) return false;
    return true;
  };
  const Circuit &c = a.circuit, &d = b.circuit;
  const auto ends = [](const auto& e) { return std::pair(e.a, e.b); };
  const auto times = [](const Profile& p) { return p.t_s; };
  return a.place == b.place && c.rotor.locked == d.rotor.locked &&
         c.iron.has_value() == d.iron.has_value() &&
         c.end_stop.has_value() == d.end_stop.has_value() &&
         c.loose_load.has_value() == d.loose_load.has_value() &&
         c.scaled_resistor == d.scaled_resistor && alike(c.resistors, d.resistors, ends) &&
         alike(c.capacitors, d.capacitors, ends) && alike(c.depletions, d.depletions, ends) &&
         alike(c.ceramics, d.ceramics, ends) && alike(c.inductors, d.inductors, ends) &&
         alike(c.windings, d.windings, ends) &&
         alike(c.limiters, d.limiters,
               [](const auto& e) { return std::tuple(e.a, e.b, e.hiccup.on_s, e.hiccup.off_s); }) &&
         alike(c.diodes, d.diodes,
               [](const auto& e) { return std::tuple(e.anode, e.cathode, e.breakdown_V > 0.0); }) &&
         alike(c.mosfets, d.mosfets,
               [](const auto& e) { return std::tuple(e.drain, e.gate, e.source); }) &&
         alike(c.bipolars, d.bipolars,
               [](const auto& e) { return std::tuple(e.collector, e.base, e.emitter); }) &&
         alike(c.bridges, d.bridges,
               [](const auto& e) {
                 return std::vector<int>(std::begin(e.node), std::end(e.node));
               }) &&
         alike(c.nodes, d.nodes,
               [&](const Node& n) { return std::pair(n.driven, times(n.voltage_V)); }) &&
         alike(c.pins, d.pins, [&](const PinElement& p) {
           return std::tuple(p.node, times(p.level_V), times(p.conductance_S));
         });
}

}  // namespace pb::physics
