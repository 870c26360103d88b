// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/system.h"

#include <algorithm>
#include <cmath>

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

void System::set_time(double t_s) {
  const std::size_t n = f.size();
  for (std::size_t d = 0; d < driven_nodes_.size(); ++d)
    at_[n + d] = profile_at(c_.nodes[driven_nodes_[d]].voltage_V, t_s, driven_cursor_[d]);
  for (std::size_t p = 0; p < c_.pins.size(); ++p) {
    pin_level_V_[p] = profile_at(c_.pins[p].level_V, t_s, pin_cursor_[2 * p]);
    pin_g_S_[p] = profile_at(c_.pins[p].conductance_S, t_s, pin_cursor_[2 * p + 1]);
  }
}

void System::set_factor(double hg) {
  hg_ = hg;
  for (std::size_t s = 0; s < base_.size(); ++s) base_[s] = capacitance_[s] + hg * linear_[s];
}

void System::evaluate(const std::vector<double>& x) {
  std::fill(residual_.begin(), residual_.end(), 0.0);
  for (const DrivenTerm& t : driven_terms_) residual_[t.row] += t.conductance_S * at_[t.driven];
  assemble(linear_, 1.0, x);
  for (std::size_t m = 0; m < f.size(); ++m) f[m] = -residual_[m];
}

bool System::newton(const std::vector<double>& x, const std::vector<double>& rhs,
                    std::vector<double>& dx) {
  std::copy(rhs.begin(), rhs.end(), residual_.begin());
  for (const DrivenTerm& t : driven_terms_)
    residual_[t.row] += (t.capacitance_F + hg_ * t.conductance_S) * at_[t.driven];
  assemble(base_, hg_, x);
  std::copy_n(residual_.begin(), dx.size(), dx.begin());
  return lu.factor_solve(dx);
}

/// residual_ -= base x + hg (devices), lu.values = base + hg (slopes of devices).
void System::assemble(const std::vector<double>& base, double hg, const std::vector<double>& x) {
  std::copy(x.begin(), x.end(), at_.begin());
  std::copy(base.begin(), base.end(), lu.values.begin());
  lu.subtract_product(base.data(), at_.data(), residual_.data());
  pins(hg);
  diodes(hg);
  mosfets(hg);
  bipolars(hg);
  bridges(hg);
  if (has_rotor()) motor(hg);
}

void System::pins(double hg) {
  for (std::size_t k = 0; k < c_.pins.size(); ++k) {
    const int p = place_[c_.pins[k].node];
    residual_[p] += hg * pin_g_S_[k] * (pin_level_V_[k] - at_[p]);
    lu.values[pin_slots_[k]] += hg * pin_g_S_[k];
  }
}

void System::diodes(double hg) {
  double *const m = lu.values.data(), *const r = residual_.data();
  const double* const at = at_.data();
  for (std::size_t k = 0; k < diode_.size(); ++k) {
    DiodeState& d = diode_[k];
    const double v = at[d.anode] - at[d.cathode], z = v * d.per_V + d.offset;
    d.v_V = v, d.i_A = -d.saturation_A, d.g_S = 0.0;
    if (z >= kJunctionOff) {
      const ValueSlope w = kOmega(z);
      d.i_A += d.scale_A * w.value, d.g_S = d.per_ohm * w.slope;
    }
    if (d.breaks_down) {
      const DiodeElement& e = c_.diodes[k];
      const ValueSlope back = junction_current(e.reverse, -v - e.breakdown_V);
      d.i_A -= back.value, d.g_S += back.slope;
    }
    r[d.anode] -= hg * d.i_A;
    r[d.cathode] += hg * d.i_A;
    if (d.g_S == 0.0) continue;
    const double g = hg * d.g_S;
    m[d.slots.aa] += g, m[d.slots.bb] += g, m[d.slots.ab] -= g, m[d.slots.ba] -= g;
  }
}

void System::mosfets(double hg) {
  double* const g = lu.values.data();
  for (std::size_t k = 0; k < mosfet_.size(); ++k) {
    MosfetState& m = mosfet_[k];
    m.vgs_V = at_[m.gate] - at_[m.source], m.vds_V = at_[m.drain] - at_[m.source];
    const ChannelCurrent i = channel_current(c_.mosfets[k].channel, m.vgs_V, m.vds_V);
    m.i_A = i.i_A, m.g_gs_S = i.g_gs_S, m.g_ds_S = i.g_ds_S;
    if (i.i_A == 0.0 && i.g_ds_S == 0.0) continue;
    residual_[m.drain] -= hg * i.i_A;
    residual_[m.source] += hg * i.i_A;
    const auto& s = m.slots.slot;  // rows and columns: drain, gate, source
    const double gs = hg * i.g_gs_S, ds = hg * i.g_ds_S;
    g[s[0][0]] += ds, g[s[0][1]] += gs, g[s[0][2]] -= ds + gs;
    g[s[2][0]] -= ds, g[s[2][1]] -= gs, g[s[2][2]] += ds + gs;
  }
}

void System::bipolars(double hg) {
  double* const g = lu.values.data();
  for (std::size_t k = 0; k < bipolar_.size(); ++k) {
    BipolarState& q = bipolar_[k];
    q.vbe_V = at_[q.base] - at_[q.emitter], q.vbc_V = at_[q.base] - at_[q.collector];
    q.i = bipolar_current(c_.bipolars[k].transistor, q.vbe_V, q.vbc_V);
    residual_[q.collector] -= hg * q.i.ic_A;
    residual_[q.base] -= hg * q.i.ib_A;
    residual_[q.emitter] += hg * (q.i.ic_A + q.i.ib_A);
    const auto& s = q.slots.slot;  // collector, base, emitter
    const double cb = hg * (q.i.gc_be_S + q.i.gc_bc_S), cc = -hg * q.i.gc_bc_S,
                 ce = -hg * q.i.gc_be_S;
    const double bb = hg * (q.i.gb_be_S + q.i.gb_bc_S), bc = -hg * q.i.gb_bc_S,
                 be = -hg * q.i.gb_be_S;
    g[s[0][0]] += cc, g[s[0][1]] += cb, g[s[0][2]] += ce;
    g[s[1][0]] += bc, g[s[1][1]] += bb, g[s[1][2]] += be;
    g[s[2][0]] -= cc + bc, g[s[2][1]] -= cb + bb, g[s[2][2]] -= ce + be;
  }
}

void System::bridges(double hg) {
  for (std::size_t k = 0; k < bridge_.size(); ++k) {
    BridgeState& b = bridge_[k];
    for (int t = 0; t < kBridgeTerminals; ++t) b.v_V[t] = at_[b.place[t]];
    b.i = bridge_current(c_.bridges[k].chip, b.v_V);
    for (int t = 0; t < kBridgeTerminals; ++t) {
      residual_[b.place[t]] -= hg * b.i.i_A[t];
      for (int u = 0; u < kBridgeTerminals; ++u) lu.values[b.slot[t][u]] += hg * b.i.g_S[t][u];
    }
  }
}

/// What is not linear in the motor: EMF, torque, detent, friction.
void System::motor(double hg) {
  const Rotor& r = c_.rotor;
  const double ia = at_[first_winding_], ib = at_[first_winding_ + 1], w = at_[speed_unknown()],
               th = at_[angle_unknown()];
  const double s = std::sin(r.teeth * th), c = std::cos(r.teeth * th), k = hg * r.motor_constant_Vs;
  residual_[first_winding_] += k * w * s;
  residual_[first_winding_ + 1] -= k * w * c;
  double* const m = lu.values.data();
  const auto at = [&](int i, int j) -> double& { return m[motor_slots_[4 * i + j]]; };
  at(0, 2) -= k * s, at(0, 3) -= k * w * r.teeth * c;
  at(1, 2) += k * c, at(1, 3) -= k * w * r.teeth * s;
  if (r.locked) return;
  const double s4 = 4.0 * s * c * (c * c - s * s),
               c4 = 1.0 - 8.0 * s * s * c * c;  // sin and cos of 4 N th
  const double friction = std::tanh(w / kFrictionSpeed_rad_s);
  residual_[speed_unknown()] +=
      k * (ib * c - ia * s) - hg * (r.detent_Nm * s4 + r.friction_Nm * friction + r.gravity_Nm);
  at(2, 0) += k * s, at(2, 1) -= k * c;
  at(2, 2) += hg * r.friction_Nm * (1.0 - friction * friction) / kFrictionSpeed_rad_s;
  at(2, 3) += k * r.teeth * (ib * s + ia * c) + hg * 4.0 * r.teeth * r.detent_Nm * c4;
}

void System::read(const std::vector<double>& x) {
  std::copy(x.begin(), x.end(), at_.begin());
  std::fill(flow_.begin(), flow_.end(), 0.0);
  std::size_t e = 0;
  for (std::size_t k = 0; k < c_.resistors.size(); ++k, ++e) {
    const auto& r = c_.resistors[k];
    const int a = place_[r.a], b = place_[r.b];
    const double v = at_[a] - at_[b], i = r.conductance_S * v;
    flow(a, b, static_cast<int>(k) == c_.scaled_resistor ? c_.scale * i : i);
    readings[e] = {v, i, 0.0, v * i};
  }
  read_devices(e);
  const std::size_t windings = names.size() - c_.windings.size(), pins = windings - c_.pins.size();
  read_branches(pins - c_.inductors.size(), windings);
  source_power_W_ = 0;
  for (std::size_t k = 0; k < c_.pins.size(); ++k) {
    const double v_V = at_[place_[c_.pins[k].node]], drop_V = pin_level_V_[k] - v_V,
                 i = pin_g_S_[k] * drop_V;
    source_power_W_ += pin_level_V_[k] * i;
    readings[pins + k] = {v_V, i, pin_level_V_[k], drop_V * i};
  }
  for (std::size_t p = f.size(); p < at_.size(); ++p) source_power_W_ += at_[p] * flow_[p];
  load_power_W_ = 0;
  const Rotor& r = c_.rotor;
  if (!has_rotor() || r.locked) return;
  const double w = at_[speed_unknown()];
  load_power_W_ =
      w * (r.viscous_Nms * w + r.friction_Nm * std::tanh(w / kFrictionSpeed_rad_s) + r.gravity_Nm);
}

void System::read_devices(std::size_t e) {
  for (const DiodeState& d : diode_) {
    const double v = at_[d.anode] - at_[d.cathode], i = d.i_A + d.g_S * (v - d.v_V);
    flow(d.anode, d.cathode, i);
    readings[e++] = {v, i, 0.0, v * i};
  }
  for (const MosfetState& m : mosfet_) {
    const double vgs = at_[m.gate] - at_[m.source], vds = at_[m.drain] - at_[m.source],
                 i = m.i_A + m.g_gs_S * (vgs - m.vgs_V) + m.g_ds_S * (vds - m.vds_V);
    flow(m.drain, m.source, i);
    readings[e++] = {vds, i, vgs, vds * i};
  }
  for (const BipolarState& q : bipolar_) {
    const double vbe = at_[q.base] - at_[q.emitter], vbc = at_[q.base] - at_[q.collector],
                 vce = vbe - vbc, be = vbe - q.vbe_V, bc = vbc - q.vbc_V;
    const double ic = q.i.ic_A + q.i.gc_be_S * be + q.i.gc_bc_S * bc,
                 ib = q.i.ib_A + q.i.gb_be_S * be + q.i.gb_bc_S * bc;
    flow(q.collector, q.emitter, ic);
    flow(q.base, q.emitter, ib);
    readings[e++] = {vce, ic, vbe, vce * ic + vbe * ib};
  }
  for (const BridgeState& b : bridge_) readings[e++] = read_bridge(b);
}

Reading System::read_bridge(const BridgeState& b) {
  double v[kBridgeTerminals], i[kBridgeTerminals], power = 0;
  for (int t = 0; t < kBridgeTerminals; ++t) v[t] = at_[b.place[t]];
  for (int t = 0; t < kBridgeTerminals; ++t) {
    i[t] = b.i.i_A[t];
    for (int u = 0; u < kBridgeTerminals; ++u) i[t] += b.i.g_S[t][u] * (v[u] - b.v_V[u]);
    flow_[b.place[t]] += i[t];
    power += i[t] * (v[t] - v[kChipGround]);
  }
  const double out = std::abs(i[kChipOut1]) > std::abs(i[kChipOut2]) ? i[kChipOut1] : -i[kChipOut2];
  return {v[kChipSupply] - v[kChipGround], out, std::max(v[kChipIn1], v[kChipIn2]) - v[kChipGround],
          power};
}

void System::read_branches(std::size_t inductor, std::size_t winding) {
  const auto one = [&](int unknown, int a, int b, double r_ohm) -> Reading {
    const double i = at_[unknown], v = at_[place_[a]] - at_[place_[b]];
    flow(place_[a], place_[b], i);
    return {v, i, 0.0, r_ohm * i * i};
  };
  for (std::size_t l = 0; l < c_.inductors.size(); ++l) {
    const auto& c = c_.inductors[l];
    readings[inductor + l] = one(first_inductor_ + static_cast<int>(l), c.a, c.b, c.resistance_ohm);
  }
  for (std::size_t w = 0; w < c_.windings.size(); ++w) {
    const auto& c = c_.windings[w];
    readings[winding + w] = one(first_winding_ + static_cast<int>(w), c.a, c.b, c.resistance_ohm);
  }
}

void System::charge(const std::vector<double>& x, std::vector<double>& q) const {
  std::fill(q.begin(), q.end(), 0.0);
  for (const StorageTerm& t : storage_terms_) q[t.row] += t.value * x[t.column];
  for (const DrivenTerm& t : driven_terms_) q[t.row] -= t.capacitance_F * at_[t.driven];
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

}  // namespace pb::physics
