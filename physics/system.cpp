// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/system.h"

#include <cmath>

#include "base/check.h"

namespace pb::physics {

double profile_at(const Profile& p, double t_s, std::size_t& k) {
  if (p.t_s.empty()) return 0.0;
  if (t_s <= p.t_s.front()) return p.value.front();
  if (t_s >= p.t_s.back()) return p.value.back();
  if (k + 1 >= p.t_s.size() || p.t_s[k] > t_s) k = 0;
  while (p.t_s[k + 1] < t_s) ++k;
  const double span = p.t_s[k + 1] - p.t_s[k];
  if (span <= 0.0) return p.value[k + 1];
  return mix(p.value[k], p.value[k + 1], (t_s - p.t_s[k]) / span);
}

System::System(const Circuit& circuit) : c_(circuit) {
  PB_CHECK(!c_.nodes.empty() && c_.nodes[0].driven, c_.nodes.size());
  PB_CHECK(c_.windings.empty() || c_.windings.size() == 2, c_.windings.size());
  int n = 0;
  for (const Node& node : c_.nodes) unknown_.push_back(node.driven ? -1 : n++);
  first_inductor_ = n;
  n += static_cast<int>(c_.inductors.size());
  first_winding_ = n;
  if (has_rotor()) n += 4;
  driven_V_.assign(c_.nodes.size(), 0.0);
  v_.assign(c_.nodes.size(), 0.0);
  f_node_.assign(c_.nodes.size(), 0.0);
  node_cursor_.assign(c_.nodes.size(), 0);
  pin_cursor_.assign(2 * c_.pins.size(), 0);
  pin_level_V_.assign(c_.pins.size(), 0.0);
  pin_g_S_.assign(c_.pins.size(), 0.0);
  f.assign(n, 0.0);

  for (const auto& e : c_.resistors) names.push_back({e.ref, "resistor"});
  for (const auto& e : c_.diodes) names.push_back({e.ref, "diode"});
  for (const auto& e : c_.mosfets) names.push_back({e.ref, "mosfet"});
  for (const auto& e : c_.bipolars) names.push_back({e.ref, "bipolar"});
  for (const auto& e : c_.inductors) names.push_back({e.ref, "inductor"});
  for (const auto& e : c_.pins) names.push_back({e.ref, "pin"});
  for (std::size_t w = 0; w < c_.windings.size(); ++w)
    names.push_back({w == 0 ? "winding_a" : "winding_b", "winding"});
  readings.assign(names.size(), {});

  build_pattern();
  build_slots();
  build_capacitance();
}

void System::build_pattern() {
  std::vector<std::pair<int, int>> e;
  const auto both = [&](int a, int b) {
    if (a >= 0 && b >= 0) e.push_back({a, b}), e.push_back({b, a});
  };
  const auto nodes = [&](std::initializer_list<int> list) {
    for (int a : list)
      for (int b : list) both(unknown_[a], unknown_[b]);
  };
  for (const auto& r : c_.resistors) nodes({r.a, r.b});
  for (const auto& r : c_.capacitors) nodes({r.a, r.b});
  for (const auto& d : c_.diodes) nodes({d.anode, d.cathode});
  for (const auto& m : c_.mosfets) nodes({m.drain, m.gate, m.source});
  for (const auto& q : c_.bipolars) nodes({q.collector, q.base, q.emitter});
  for (std::size_t l = 0; l < c_.inductors.size(); ++l) {
    both(first_inductor_ + static_cast<int>(l), unknown_[c_.inductors[l].a]);
    both(first_inductor_ + static_cast<int>(l), unknown_[c_.inductors[l].b]);
  }
  for (std::size_t w = 0; w < c_.windings.size(); ++w) {
    const int i = first_winding_ + static_cast<int>(w);
    both(i, unknown_[c_.windings[w].a]);
    both(i, unknown_[c_.windings[w].b]);
    both(i, speed_unknown());
    both(i, angle_unknown());
  }
  if (has_rotor()) both(speed_unknown(), angle_unknown());
  lu = SparseLu(static_cast<int>(f.size()), e);
  bin_ = lu.nonzeros();
  g.assign(static_cast<std::size_t>(bin_) + 1, 0.0);
  capacitance.assign(g.size(), 0.0);
}

int System::slot_or_bin(int row_node, int column_node) const {
  const int i = unknown_[row_node], j = unknown_[column_node];
  return i >= 0 && j >= 0 ? lu.slot(i, j) : bin_;
}

System::Pair System::pair(int a, int b) const {
  return {slot_or_bin(a, a), slot_or_bin(a, b), slot_or_bin(b, a), slot_or_bin(b, b)};
}

void System::build_slots() {
  for (const auto& r : c_.resistors) resistor_slots_.push_back(pair(r.a, r.b));
  for (const auto& d : c_.diodes) diode_slots_.push_back(pair(d.anode, d.cathode));
  const auto three = [&](int a, int b, int d) {
    Three t{};
    const int n[3] = {a, b, d};
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j) t.slot[i][j] = slot_or_bin(n[i], n[j]);
    return t;
  };
  for (const auto& m : c_.mosfets) mosfet_slots_.push_back(three(m.drain, m.gate, m.source));
  for (const auto& q : c_.bipolars) bipolar_slots_.push_back(three(q.collector, q.base, q.emitter));
  for (const auto& p : c_.pins) pin_slots_.push_back(slot_or_bin(p.node, p.node));
  // Branch with a current unknown: (node a, i), (node b, i), (i, node a), (i, node b).
  const auto branch = [&](int i, int a, int b) {
    const int ua = unknown_[a], ub = unknown_[b];
    return Pair{ua >= 0 ? lu.slot(ua, i) : bin_, ub >= 0 ? lu.slot(ub, i) : bin_,
                ua >= 0 ? lu.slot(i, ua) : bin_, ub >= 0 ? lu.slot(i, ub) : bin_};
  };
  for (std::size_t l = 0; l < c_.inductors.size(); ++l)
    inductor_slots_.push_back(
        branch(first_inductor_ + static_cast<int>(l), c_.inductors[l].a, c_.inductors[l].b));
  for (std::size_t w = 0; w < c_.windings.size(); ++w)
    winding_slots_.push_back(
        branch(first_winding_ + static_cast<int>(w), c_.windings[w].a, c_.windings[w].b));
  if (has_rotor())
    for (int i = 0; i < 4; ++i)
      for (int j = 0; j < 4; ++j) {
        const bool cross = (i == 0 && j == 1) || (i == 1 && j == 0);  // windings do not couple
        motor_slots_.push_back(cross ? bin_ : lu.slot(first_winding_ + i, first_winding_ + j));
      }
}

void System::build_capacitance() {
  for (const auto& e : c_.capacitors) {
    const Pair s = pair(e.a, e.b);
    capacitance[s.aa] += e.capacitance_F;
    capacitance[s.bb] += e.capacitance_F;
    capacitance[s.ab] -= e.capacitance_F;
    capacitance[s.ba] -= e.capacitance_F;
  }
  for (std::size_t l = 0; l < c_.inductors.size(); ++l) {
    const int i = first_inductor_ + static_cast<int>(l);
    capacitance[lu.slot(i, i)] = c_.inductors[l].inductance_H;
  }
  for (std::size_t w = 0; w < c_.windings.size(); ++w) {
    const int i = first_winding_ + static_cast<int>(w);
    capacitance[lu.slot(i, i)] = c_.windings[w].inductance_H;
  }
  if (has_rotor()) {
    capacitance[lu.slot(speed_unknown(), speed_unknown())] = c_.rotor.inertia_kgm2;
    capacitance[lu.slot(angle_unknown(), angle_unknown())] = 1.0;
  }
}

void System::set_time(double t_s) {
  t_s_ = t_s;
  for (std::size_t n = 0; n < c_.nodes.size(); ++n)
    if (c_.nodes[n].driven) driven_V_[n] = profile_at(c_.nodes[n].voltage_V, t_s, node_cursor_[n]);
  for (std::size_t p = 0; p < c_.pins.size(); ++p) {
    pin_level_V_[p] = profile_at(c_.pins[p].level_V, t_s, pin_cursor_[2 * p]);
    pin_g_S_[p] = profile_at(c_.pins[p].conductance_S, t_s, pin_cursor_[2 * p + 1]);
  }
}

void System::conductance(const Pair& s, double g_S) {
  g[s.aa] += g_S;
  g[s.bb] += g_S;
  g[s.ab] -= g_S;
  g[s.ba] -= g_S;
}

void System::evaluate(const std::vector<double>& x) {
  std::fill(g.begin(), g.end(), 0.0);
  std::fill(f_node_.begin(), f_node_.end(), 0.0);
  for (std::size_t n = 0; n < v_.size(); ++n)
    v_[n] = unknown_[n] >= 0 ? x[unknown_[n]] : driven_V_[n];
  passive(x);
  diodes();
  mosfets();
  bipolars();
  magnetics(x);
  if (has_rotor()) motor(x);
  for (std::size_t n = 0; n < v_.size(); ++n)
    if (unknown_[n] >= 0) f[unknown_[n]] = f_node_[n];
}

void System::passive(const std::vector<double>&) {
  for (std::size_t k = 0; k < c_.resistors.size(); ++k) {
    const auto& r = c_.resistors[k];
    const double v = v_[r.a] - v_[r.b], i = r.conductance_S * v;
    const double stamped = static_cast<int>(k) == c_.scaled_resistor ? c_.scale : 1.0;
    flow(r.a, r.b, stamped * i);
    conductance(resistor_slots_[k], stamped * r.conductance_S);
    readings[k] = {v, i, 0.0, v * i};
  }
  std::size_t e = names.size() - c_.windings.size() - c_.pins.size();
  pin_power_W = 0;
  for (std::size_t k = 0; k < c_.pins.size(); ++k, ++e) {
    const double v = pin_level_V_[k] - v_[c_.pins[k].node], i = pin_g_S_[k] * v;
    f_node_[c_.pins[k].node] -= i;
    g[pin_slots_[k]] += pin_g_S_[k];
    pin_power_W += pin_level_V_[k] * i;
    readings[e] = {v_[c_.pins[k].node], i, pin_level_V_[k], v * i};
  }
}

void System::diodes() {
  std::size_t e = c_.resistors.size();
  for (std::size_t k = 0; k < c_.diodes.size(); ++k, ++e) {
    const auto& d = c_.diodes[k];
    const double v = v_[d.anode] - v_[d.cathode];
    ValueSlope s = junction_current(d.forward, v);
    if (d.breakdown_V > 0.0) {
      const ValueSlope r = junction_current(d.reverse, -v - d.breakdown_V);
      s.value -= r.value;
      s.slope += r.slope;
    }
    flow(d.anode, d.cathode, s.value);
    conductance(diode_slots_[k], s.slope);
    readings[e] = {v, s.value, 0.0, v * s.value};
  }
}

void System::mosfets() {
  std::size_t e = c_.resistors.size() + c_.diodes.size();
  for (std::size_t k = 0; k < c_.mosfets.size(); ++k, ++e) {
    const auto& m = c_.mosfets[k];
    const double vgs = v_[m.gate] - v_[m.source], vds = v_[m.drain] - v_[m.source];
    const ChannelCurrent i = channel_current(m.channel, vgs, vds);
    readings[e] = {vds, i.i_A, vgs, vds * i.i_A};
    if (i.i_A == 0.0 && i.g_ds_S == 0.0) continue;
    flow(m.drain, m.source, i.i_A);
    const auto& s = mosfet_slots_[k].slot;  // rows and columns: drain, gate, source
    const double gs = i.g_gs_S, ds = i.g_ds_S;
    g[s[0][0]] += ds, g[s[0][1]] += gs, g[s[0][2]] -= ds + gs;
    g[s[2][0]] -= ds, g[s[2][1]] -= gs, g[s[2][2]] += ds + gs;
  }
}

void System::bipolars() {
  std::size_t e = c_.resistors.size() + c_.diodes.size() + c_.mosfets.size();
  for (std::size_t k = 0; k < c_.bipolars.size(); ++k, ++e) {
    const auto& q = c_.bipolars[k];
    const double vbe = v_[q.base] - v_[q.emitter], vbc = v_[q.base] - v_[q.collector],
                 vce = vbe - vbc;
    const BipolarCurrent i = bipolar_current(q.transistor, vbe, vbc);
    f_node_[q.collector] += i.ic_A;
    f_node_[q.base] += i.ib_A;
    f_node_[q.emitter] -= i.ic_A + i.ib_A;
    readings[e] = {vce, i.ic_A, vbe, vce * i.ic_A + vbe * i.ib_A};
    const auto& s = bipolar_slots_[k].slot;  // collector, base, emitter
    const double cb = i.gc_be_S + i.gc_bc_S, cc = -i.gc_bc_S, ce = -i.gc_be_S;
    const double bb = i.gb_be_S + i.gb_bc_S, bc = -i.gb_bc_S, be = -i.gb_be_S;
    g[s[0][0]] += cc, g[s[0][1]] += cb, g[s[0][2]] += ce;
    g[s[1][0]] += bc, g[s[1][1]] += bb, g[s[1][2]] += be;
    g[s[2][0]] -= cc + bc, g[s[2][1]] -= cb + bb, g[s[2][2]] -= ce + be;
  }
}

void System::magnetics(const std::vector<double>& x) {
  std::size_t e = c_.resistors.size() + c_.diodes.size() + c_.mosfets.size() + c_.bipolars.size();
  const auto branch = [&](int unknown, int a, int b, double r_ohm, const Pair& s,
                          Reading& reading) {
    const double i = x[unknown], v = v_[a] - v_[b];
    flow(a, b, i);
    f[unknown] = r_ohm * i - v;
    g[s.aa] += 1.0, g[s.ab] -= 1.0, g[s.ba] -= 1.0, g[s.bb] += 1.0;
    reading = {v, i, 0.0, r_ohm * i * i};
  };
  for (std::size_t l = 0; l < c_.inductors.size(); ++l, ++e) {
    const auto& c = c_.inductors[l];
    const int i = first_inductor_ + static_cast<int>(l);
    branch(i, c.a, c.b, c.resistance_ohm, inductor_slots_[l], readings[e]);
    g[lu.slot(i, i)] += c.resistance_ohm;
  }
  e = names.size() - c_.windings.size();
  for (std::size_t w = 0; w < c_.windings.size(); ++w, ++e) {
    const auto& c = c_.windings[w];
    branch(first_winding_ + static_cast<int>(w), c.a, c.b, c.resistance_ohm, winding_slots_[w],
           readings[e]);
  }
}

void System::motor(const std::vector<double>& x) {
  const Rotor& r = c_.rotor;
  const double ia = x[first_winding_], ib = x[first_winding_ + 1], w = x[speed_unknown()],
               th = x[angle_unknown()];
  const double s = std::sin(r.teeth * th), c = std::cos(r.teeth * th), k = r.motor_constant_Vs;
  const double s4 = 4.0 * s * c * (c * c - s * s),
               c4 = 1.0 - 8.0 * s * s * c * c;  // sin and cos of 4 N th
  const double ea = -k * w * s, eb = k * w * c, te = k * (ib * c - ia * s);
  const double friction = std::tanh(w / kFrictionSpeed_rad_s);
  f[first_winding_] += ea;
  f[first_winding_ + 1] += eb;
  double* const gm = g.data();
  const auto at = [&](int i, int j) -> double& { return gm[motor_slots_[4 * i + j]]; };
  at(0, 0) += c_.windings[0].resistance_ohm;
  at(1, 1) += c_.windings[1].resistance_ohm;
  at(0, 2) -= k * s, at(0, 3) -= k * w * r.teeth * c;
  at(1, 2) += k * c, at(1, 3) -= k * w * r.teeth * s;
  load_power_W = 0;
  if (r.locked) {  // held by hand: speed stays, angle stays
    f[speed_unknown()] = f[angle_unknown()] = 0.0;
    return;
  }
  f[speed_unknown()] =
      -te + r.detent_Nm * s4 + r.viscous_Nms * w + r.friction_Nm * friction + r.gravity_Nm;
  at(2, 0) += k * s, at(2, 1) -= k * c;
  at(2, 2) += r.viscous_Nms + r.friction_Nm * (1.0 - friction * friction) / kFrictionSpeed_rad_s;
  at(2, 3) += k * r.teeth * (ib * s + ia * c) + 4.0 * r.teeth * r.detent_Nm * c4;
  f[angle_unknown()] = -w;
  at(3, 2) -= 1.0;
  load_power_W = w * (r.viscous_Nms * w + r.friction_Nm * friction + r.gravity_Nm);
}

void System::charge(const std::vector<double>& x, std::vector<double>& q) const {
  q.assign(f.size(), 0.0);
  for (const auto& e : c_.capacitors) {
    const double charge_C = e.capacitance_F * (node_voltage(x, e.a) - node_voltage(x, e.b));
    if (unknown_[e.a] >= 0) q[unknown_[e.a]] += charge_C;
    if (unknown_[e.b] >= 0) q[unknown_[e.b]] -= charge_C;
  }
  for (std::size_t l = 0; l < c_.inductors.size(); ++l)
    q[first_inductor_ + l] = c_.inductors[l].inductance_H * x[first_inductor_ + l];
  if (!has_rotor()) return;
  for (std::size_t w = 0; w < 2; ++w)
    q[first_winding_ + w] = c_.windings[w].inductance_H * x[first_winding_ + w];
  q[speed_unknown()] = c_.rotor.inertia_kgm2 * x[speed_unknown()];
  q[angle_unknown()] = x[angle_unknown()];
}

double System::stored_J(const std::vector<double>& x) const {
  double sum = 0;
  for (const auto& e : c_.capacitors)
    sum += 0.5 * e.capacitance_F * square(node_voltage(x, e.a) - node_voltage(x, e.b));
  for (std::size_t l = 0; l < c_.inductors.size(); ++l)
    sum += 0.5 * c_.inductors[l].inductance_H * square(x[first_inductor_ + l]);
  if (!has_rotor()) return sum;
  for (std::size_t w = 0; w < 2; ++w)
    sum += 0.5 * c_.windings[w].inductance_H * square(x[first_winding_ + w]);
  const Rotor& r = c_.rotor;
  sum += 0.5 * r.inertia_kgm2 * square(x[speed_unknown()]);
  // Detent: torque -T_d sin(4 N th) is minus the slope of -T_d cos(4 N th)/(4 N).
  return sum - r.detent_Nm / (4.0 * r.teeth) * std::cos(4.0 * r.teeth * x[angle_unknown()]);
}

double System::source_power_W() const {
  double sum = pin_power_W;
  for (std::size_t n = 0; n < v_.size(); ++n)
    if (unknown_[n] < 0) sum += v_[n] * f_node_[n];
  return sum;
}

}  // namespace pb::physics
