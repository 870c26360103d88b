// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What System works out once of a circuit's values: linear matrices, laws of devices.
#include "physics/system.h"

namespace pb::physics {

template <>
void BasicSystem<double>::stamp(Vector& m, const Pair& s, const double& value) {
  m[s.aa] += value;
  m[s.bb] += value;
  m[s.ab] -= value;
  m[s.ba] -= value;
}

template <>
void BasicSystem<double>::couple(int a, int b, const double& capacitance_F,
                                 const double& conductance_S) {
  const int p = n_.place[a], q = n_.place[b];
  if (p < size() && q >= size()) driven_terms_.push_back({p, q, capacitance_F, conductance_S});
  if (q < size() && p >= size()) driven_terms_.push_back({q, p, capacitance_F, conductance_S});
}

template <>
void BasicSystem<double>::build_linear(const Circuit& c) {
  for (std::size_t k = 0; k < c.resistors.size(); ++k) {
    const auto& r = c.resistors[k];
    const double stamped = resistor_[k].stamped;
    stamp(linear_, n_.pair(r.a, r.b), stamped);
    couple(r.a, r.b, 0.0, stamped);
  }
  for (const auto& e : c.capacitors) {
    stamp(capacitance_, n_.pair(e.a, e.b), e.capacitance_F);
    couple(e.a, e.b, e.capacitance_F, 0.0);
  }
  const auto current_branch = [&](const Branch& e, int a, int b) {
    const int i = e.unknown;
    const Pair s = n_.branch(i, a, b);
    linear_[s.aa] += 1.0, linear_[s.ab] -= 1.0, linear_[s.ba] -= 1.0, linear_[s.bb] += 1.0;
    linear_[n_.lu.slot(i, i)] += e.resistance_ohm;
    capacitance_[n_.lu.slot(i, i)] = i >= n_.first_winding && c.iron ? 0.0 : e.inductance_H;
    if (e.a >= size()) driven_terms_.push_back({i, e.a, 0.0, 1.0});
    if (e.b >= size()) driven_terms_.push_back({i, e.b, 0.0, -1.0});
  };
  for (std::size_t l = 0; l < c.inductors.size(); ++l)
    current_branch(inductor_[l], c.inductors[l].a, c.inductors[l].b);
  for (std::size_t w = 0; w < c.windings.size(); ++w)
    current_branch(winding_[w], c.windings[w].a, c.windings[w].b);
  if (!has_rotor()) return;
  const int w = speed_unknown(), th = angle_unknown();
  capacitance_[n_.lu.slot(w, w)] = c.rotor.inertia_kgm2;
  capacitance_[n_.lu.slot(th, th)] = 1.0;
  if (c.loose_load) {
    const int load = load_speed_unknown();
    capacitance_[n_.lu.slot(load, load)] = c.loose_load->inertia_kgm2;
    capacitance_[n_.lu.slot(load + 1, load + 1)] = 1.0;
    if (!c.rotor.locked) {
      linear_[n_.lu.slot(load, load)] += c.loose_load->viscous_Nms;
      linear_[n_.lu.slot(load + 1, load)] -= 1.0;
    }
  }
  if (c.rotor.locked) return;  // held by hand: speed stays, angle stays; a load as well
  linear_[n_.lu.slot(w, w)] += c.rotor.viscous_Nms;
  linear_[n_.lu.slot(th, w)] -= 1.0;
}

template <>
void BasicSystem<double>::build_storage() {
  capacitance_[n_.lu.nonzeros] = linear_[n_.lu.nonzeros] = 0.0;
  for (const Numbering::Stored& t : n_.stored)
    storage_terms_.push_back({t.column, capacitance_[t.slot]});
}

template <>
void BasicSystem<double>::build(const Circuit& c) {
  const std::vector<int>& place = n_.place;
  for (std::size_t k = 0; k < c.resistors.size(); ++k) {
    // What the node equations see of a resistor; the test hook of Circuit acts here.
    const auto& r = c.resistors[k];
    const double factor = static_cast<int>(k) == c.scaled_resistor ? c.scale : 1.0;
    resistor_.push_back({place[r.a], place[r.b], r.conductance_S, factor * r.conductance_S});
  }
  for (const auto& e : c.capacitors)
    capacitor_.push_back({place[e.a], place[e.b], e.capacitance_F, e.capacitance_F});
  for (const auto& e : c.depletions)
    depletion_.push_back({place[e.a], place[e.b], n_.pair(e.a, e.b), e.law, 0});
  for (const auto& e : c.ceramics)
    ceramic_.push_back({place[e.a], place[e.b], n_.pair(e.a, e.b), e.law, 0});
  for (const auto& d : c.diodes) {
    const bool breaks_down = d.breakdown_V > 0.0;
    diode_.push_back({place[d.anode], place[d.cathode], breaks_down, n_.pair(d.anode, d.cathode),
                      law_of(d.forward), breaks_down ? law_of(d.reverse) : JunctionLaw<double>{},
                      d.breakdown_V, 0, 0, 0, 0, false});
  }
  for (const auto& m : c.mosfets)
    mosfet_.push_back({place[m.drain], place[m.gate], place[m.source],
                       n_.three(m.drain, m.gate, m.source), law_of(m.channel), 0, 0, 0, 0, 0});
  for (const auto& q : c.bipolars)
    bipolar_.push_back({place[q.collector],
                        place[q.base],
                        place[q.emitter],
                        n_.three(q.collector, q.base, q.emitter),
                        q.transistor,
                        0,
                        0,
                        {}});
  for (const auto& b : c.bridges) {
    Bridge s{};
    s.law = b.chip;
    for (int t = 0; t < kBridgeTerminals; ++t) s.place[t] = place[b.node[t]];
    for (int t = 0; t < kBridgeTerminals; ++t)
      for (int u = 0; u < kBridgeTerminals; ++u)
        s.slot[t][u] = n_.slot_or_bin(s.place[t], s.place[u]);
    bridge_.push_back(s);
  }
  for (const auto& l : c.limiters) {
    limiter_.push_back({place[l.a], place[l.b], n_.pair(l.a, l.b), l.law, l.hiccup, 1.0, 0, 0, 0});
    hiccups_ = hiccups_ || l.hiccup.acts();
  }
  int unknown = n_.first_inductor;
  for (const auto& e : c.inductors)
    inductor_.push_back({unknown++, place[e.a], place[e.b], e.resistance_ohm, e.inductance_H});
  for (const auto& e : c.windings)
    winding_.push_back({unknown++, place[e.a], place[e.b], e.resistance_ohm, e.inductance_H});
  for (const auto& p : c.pins)
    pin_.push_back({place[p.node], n_.slot_or_bin(place[p.node], place[p.node]), 0.0, 0.0});
  rotor_ = c.rotor;
  saturates_ = c.iron.has_value();
  if (saturates_) iron_ = *c.iron;
  stops_ = c.end_stop.has_value();
  if (stops_) stop_ = *c.end_stop;
  if (c.loose_load) load_ = *c.loose_load;
  start_angle_rad_ = c.theta0_rad;
}

template <>
BasicSystem<double>::BasicSystem(const Numbering& numbering)
    : names(numbering.names), n_(numbering), lu_(numbering.lu) {
  const Circuit& c = n_.circuit;
  const std::size_t places = static_cast<std::size_t>(size()) + n_.driven_nodes.size();
  f.assign(static_cast<std::size_t>(size()), 0.0);
  for (Vector* v : {&at_, &residual_, &delta_, &allow_, &hold_}) v->assign(places, 0.0);
  for (Vector* m : {&capacitance_, &linear_, &base_}) m->assign(lu_.values.size(), 0.0);
  for (Vector* v : {&loss_W_, &current_A_}) v->assign(names.size(), 0.0);
  readings.assign(names.size(), {});
  const auto source = [&](const Profile& p) { source_.push_back({&p.t_s, p.value, 0, false}); };
  for (int node : n_.driven_nodes) source(c.nodes[node].voltage_V);
  for (const PinElement& p : c.pins) source(p.level_V), source(p.conductance_S);
  build(c);
  build_linear(c);
  build_storage();
  sum_leakage();
  plan_product();
}

System::System(const Circuit& c) : NumberingOwner(c), BasicSystem<double>(own_numbering) {}

}  // namespace pb::physics
