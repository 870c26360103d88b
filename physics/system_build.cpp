// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What System works out once for a circuit: numbering, pattern, linear matrices, slots of devices.
#include "base/check.h"
#include "physics/system.h"

namespace pb::physics {

System::System(const Circuit& circuit) : c_(circuit) {
  PB_CHECK(!c_.nodes.empty() && c_.nodes[0].driven, c_.nodes.size());
  PB_CHECK(c_.windings.empty() || c_.windings.size() == 2, c_.windings.size());
  number_unknowns();
  name_elements();
  build_pattern();
  build_devices();
  build_linear();
  build_storage();
}

void System::number_unknowns() {
  int n = 0;
  for (const Node& node : c_.nodes) n += !node.driven;
  first_inductor_ = n;
  n += static_cast<int>(c_.inductors.size());
  first_winding_ = n;
  if (has_rotor()) n += 4;
  f.assign(static_cast<std::size_t>(n), 0.0);
  int unknowns = 0;
  for (std::size_t k = 0; k < c_.nodes.size(); ++k) {
    if (c_.nodes[k].driven) {
      place_.push_back(n + static_cast<int>(driven_nodes_.size()));
      driven_nodes_.push_back(static_cast<int>(k));
    } else {
      place_.push_back(unknowns++);
    }
  }
  const std::size_t places = f.size() + driven_nodes_.size();
  for (auto* v : {&at_, &residual_, &flow_}) v->assign(places, 0.0);
  driven_cursor_.assign(driven_nodes_.size(), 0);
  pin_cursor_.assign(2 * c_.pins.size(), 0);
  pin_level_V_.assign(c_.pins.size(), 0.0);
  pin_g_S_.assign(c_.pins.size(), 0.0);
}

void System::name_elements() {
  for (const auto& e : c_.resistors) names.push_back({e.ref, "resistor"});
  for (const auto& e : c_.diodes) names.push_back({e.ref, "diode"});
  for (const auto& e : c_.mosfets) names.push_back({e.ref, "mosfet"});
  for (const auto& e : c_.bipolars) names.push_back({e.ref, "bipolar"});
  for (const auto& e : c_.bridges) names.push_back({e.ref, "bridge"});
  for (const auto& e : c_.inductors) names.push_back({e.ref, "inductor"});
  for (const auto& e : c_.pins) names.push_back({e.ref, "pin"});
  for (std::size_t w = 0; w < c_.windings.size(); ++w)
    names.push_back({w == 0 ? "winding_a" : "winding_b", "winding"});
  readings.assign(names.size(), {});
}

void System::build_pattern() {
  const int n = static_cast<int>(f.size());
  std::vector<std::pair<int, int>> e;
  const auto both = [&](int a, int b) {
    if (a < n && b < n) e.push_back({a, b}), e.push_back({b, a});
  };
  const auto nodes = [&](std::initializer_list<int> list) {
    for (int a : list)
      for (int b : list) both(place_[a], place_[b]);
  };
  for (const auto& r : c_.resistors) nodes({r.a, r.b});
  for (const auto& r : c_.capacitors) nodes({r.a, r.b});
  for (const auto& d : c_.diodes) nodes({d.anode, d.cathode});
  for (const auto& m : c_.mosfets) nodes({m.drain, m.gate, m.source});
  for (const auto& q : c_.bipolars) nodes({q.collector, q.base, q.emitter});
  for (const auto& b : c_.bridges)
    for (int s : b.node)
      for (int t : b.node) both(place_[s], place_[t]);
  for (std::size_t l = 0; l < c_.inductors.size(); ++l) {
    both(first_inductor_ + static_cast<int>(l), place_[c_.inductors[l].a]);
    both(first_inductor_ + static_cast<int>(l), place_[c_.inductors[l].b]);
  }
  for (std::size_t w = 0; w < c_.windings.size(); ++w) {
    const int i = first_winding_ + static_cast<int>(w);
    both(i, place_[c_.windings[w].a]);
    both(i, place_[c_.windings[w].b]);
    both(i, speed_unknown());
    both(i, angle_unknown());
  }
  if (has_rotor()) both(speed_unknown(), angle_unknown());
  lu = SparseLu(n, e);
  for (auto* m : {&capacitance_, &linear_, &base_}) m->assign(lu.values.size(), 0.0);
}

int System::slot_or_bin(int row_place, int column_place) const {
  return row_place < size() && column_place < size() ? lu.slot(row_place, column_place)
                                                     : lu.nonzeros();
}

System::Pair System::pair(int a, int b) const {
  const int p = place_[a], q = place_[b];
  return {slot_or_bin(p, p), slot_or_bin(p, q), slot_or_bin(q, p), slot_or_bin(q, q)};
}

System::Pair System::branch(int i, int a, int b) const {
  const int p = place_[a], q = place_[b];
  return {slot_or_bin(p, i), slot_or_bin(q, i), slot_or_bin(i, p), slot_or_bin(i, q)};
}

System::Three System::three(int a, int b, int c) const {
  Three t{};
  const int n[3] = {place_[a], place_[b], place_[c]};
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 3; ++j) t.slot[i][j] = slot_or_bin(n[i], n[j]);
  return t;
}

void System::build_devices() {
  for (const auto& d : c_.diodes) {
    const Junction& j = d.forward;
    diode_.push_back({place_[d.anode], place_[d.cathode], d.breakdown_V > 0.0, 1.0 / j.nVt_V,
                      j.offset, j.nVt_V / j.series_ohm, 1.0 / j.series_ohm, j.saturation_A, 0, 0, 0,
                      pair(d.anode, d.cathode)});
  }
  for (const auto& m : c_.mosfets)
    mosfet_.push_back({place_[m.drain], place_[m.gate], place_[m.source], 0, 0, 0, 0, 0,
                       three(m.drain, m.gate, m.source)});
  for (const auto& q : c_.bipolars)
    bipolar_.push_back({place_[q.collector],
                        place_[q.base],
                        place_[q.emitter],
                        0,
                        0,
                        {},
                        three(q.collector, q.base, q.emitter)});
  for (const auto& b : c_.bridges) {
    BridgeState s{};
    for (int t = 0; t < kBridgeTerminals; ++t) s.place[t] = place_[b.node[t]];
    for (int t = 0; t < kBridgeTerminals; ++t)
      for (int u = 0; u < kBridgeTerminals; ++u) s.slot[t][u] = slot_or_bin(s.place[t], s.place[u]);
    bridge_.push_back(s);
  }
  for (const auto& p : c_.pins) pin_slots_.push_back(slot_or_bin(place_[p.node], place_[p.node]));
  if (!has_rotor()) return;
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 4; ++j) {
      const bool cross = (i == 0 && j == 1) || (i == 1 && j == 0);  // windings do not couple
      motor_slots_.push_back(cross ? lu.nonzeros()
                                   : lu.slot(first_winding_ + i, first_winding_ + j));
    }
}

void System::stamp(std::vector<double>& m, const Pair& s, double value) {
  m[s.aa] += value;
  m[s.bb] += value;
  m[s.ab] -= value;
  m[s.ba] -= value;
}

void System::couple(int a, int b, double capacitance_F, double conductance_S) {
  const int p = place_[a], q = place_[b];
  if (p < size() && q >= size()) driven_terms_.push_back({p, q, capacitance_F, conductance_S});
  if (q < size() && p >= size()) driven_terms_.push_back({q, p, capacitance_F, conductance_S});
}

/// What the node equations see of a resistor's conductance; the test hook of Circuit acts here.
double System::stamped(std::size_t resistor) const {
  const double factor = static_cast<int>(resistor) == c_.scaled_resistor ? c_.scale : 1.0;
  return factor * c_.resistors[resistor].conductance_S;
}

void System::build_linear() {
  for (std::size_t k = 0; k < c_.resistors.size(); ++k) {
    const auto& r = c_.resistors[k];
    stamp(linear_, pair(r.a, r.b), stamped(k));
    couple(r.a, r.b, 0.0, stamped(k));
  }
  for (const auto& e : c_.capacitors) {
    stamp(capacitance_, pair(e.a, e.b), e.capacitance_F);
    couple(e.a, e.b, e.capacitance_F, 0.0);
  }
  const auto current_branch = [&](int i, int a, int b, double inductance_H, double resistance_ohm) {
    const Pair s = branch(i, a, b);
    linear_[s.aa] += 1.0, linear_[s.ab] -= 1.0, linear_[s.ba] -= 1.0, linear_[s.bb] += 1.0;
    linear_[lu.slot(i, i)] += resistance_ohm;
    capacitance_[lu.slot(i, i)] = inductance_H;
    if (place_[a] >= size()) driven_terms_.push_back({i, place_[a], 0.0, 1.0});
    if (place_[b] >= size()) driven_terms_.push_back({i, place_[b], 0.0, -1.0});
  };
  for (std::size_t l = 0; l < c_.inductors.size(); ++l) {
    const auto& e = c_.inductors[l];
    current_branch(inductor_unknown(static_cast<int>(l)), e.a, e.b, e.inductance_H,
                   e.resistance_ohm);
  }
  for (std::size_t w = 0; w < c_.windings.size(); ++w) {
    const auto& e = c_.windings[w];
    current_branch(winding_unknown(static_cast<int>(w)), e.a, e.b, e.inductance_H,
                   e.resistance_ohm);
  }
  if (!has_rotor()) return;
  const int w = speed_unknown(), th = angle_unknown();
  capacitance_[lu.slot(w, w)] = c_.rotor.inertia_kgm2;
  capacitance_[lu.slot(th, th)] = 1.0;
  if (c_.rotor.locked) return;  // held by hand: speed stays, angle stays
  linear_[lu.slot(w, w)] += c_.rotor.viscous_Nms;
  linear_[lu.slot(th, w)] -= 1.0;
}

void System::build_storage() {
  capacitance_[lu.nonzeros()] = linear_[lu.nonzeros()] = 0.0;
  for (int i = 0; i < size(); ++i)
    for (int j = 0; j < size(); ++j)
      if (const int s = lu.find(i, j); s >= 0 && capacitance_[s] != 0.0)
        storage_terms_.push_back({i, j, capacitance_[s]});
}

}  // namespace pb::physics
