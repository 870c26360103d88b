// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The equations of system.h, over any number type. Included where they are instantiated: for double
// by system.cpp, for Lanes by lane_build.h.
#pragma once

#include "physics/system.h"
#include "physics/system_contacts.h"
#include "physics/system_saturation.h"
#include "physics/system_supplies.h"

namespace pb::physics {

/// Voltage or conductance the source's value goes to.
template <class R>
R& BasicSystem<R>::driven_by(std::size_t source) {
  const std::size_t driven = n_.driven_nodes.size();
  if (source < driven) return at_[static_cast<std::size_t>(size()) + source];
  Pin& p = pin_[(source - driven) / 2];
  return (source - driven) % 2 == 0 ? p.level_V : p.conductance_S;
}

/// Between which corners t lies, of every profile; sets those that stand still there.
template <class R>
void BasicSystem<R>::find_span(double t_s) {
  constexpr double kNever = std::numeric_limits<double>::infinity();
  span_from_s_ = -kNever, span_to_s_ = kNever;
  for (std::size_t k = 0; k < source_.size(); ++k) {
    Source& s = source_[k];
    const double* const corner = s.t_s->data();
    const std::size_t count = s.t_s->size();
    s.moves = false;
    if (count == 0) {
      driven_by(k) = R(0.0);
      continue;
    }
    if (t_s <= corner[0] || t_s > corner[count - 1]) {
      const bool before = t_s <= corner[0];
      driven_by(k) = s.value[before ? 0 : count - 1];
      if (before && corner[0] < span_to_s_) span_to_s_ = corner[0];
      if (!before && corner[count - 1] > span_from_s_) span_from_s_ = corner[count - 1];
      continue;
    }
    if (s.at + 1 >= count || corner[s.at] >= t_s) s.at = 0;
    while (corner[s.at + 1] < t_s) ++s.at;
    if (corner[s.at] > span_from_s_) span_from_s_ = corner[s.at];
    if (corner[s.at + 1] < span_to_s_) span_to_s_ = corner[s.at + 1];
    driven_by(k) = s.value[s.at];
    s.moves = any(absolute(s.value[s.at + 1] - s.value[s.at]) > R(0.0));
  }
}

template <class R>
void BasicSystem<R>::set_time(const R& t_s) {
  const double last_s = largest(t_s);
  if (!(least(t_s) > span_from_s_ && last_s <= span_to_s_)) find_span(last_s);
  for (std::size_t k = 0; k < source_.size(); ++k) {
    const Source& s = source_[k];
    if (!s.moves) continue;
    const double from = (*s.t_s)[s.at];
    const R share = (t_s - from) / R((*s.t_s)[s.at + 1] - from);
    driven_by(k) = (1.0 - share) * s.value[s.at] + share * s.value[s.at + 1];
  }
  if (hiccups_)
    for (Limiter& l : limiter_) l.share = l.hiccup.share(t_s);
  for (const Ramp& r : steered_pins_) {
    Pin& p = pin_[static_cast<std::size_t>(r.of)];
    p.level_V = r.at(0, last_s), p.conductance_S = r.at(1, last_s);
  }
  for (const Ramp& r : steered_bridges_) {
    BasicBridgeChip<R>& law = bridge_[static_cast<std::size_t>(r.of)].law;
    law.slow = r.at(0, last_s), law.fast = r.at(1, last_s);
  }
}

/// Goes on from where the element's last ramp is by then.
template <class R>
void BasicSystem<R>::steer(std::vector<Ramp>& all, const Ramp& next) {
  for (Ramp& r : all)
    if (r.of == next.of) {
      const R from[2] = {r.at(0, next.from_s), r.at(1, next.from_s)};
      r = next;
      r.from[0] = from[0], r.from[1] = from[1];
      return;
    }
  all.push_back(next);
}

template <class R>
void BasicSystem<R>::steer_pin(int pin, double from_s, double to_s, const R& level_V,
                               const R& conductance_S) {
  const Pin& p = pin_[static_cast<std::size_t>(pin)];
  steer(steered_pins_, {pin, from_s, to_s, {p.level_V, p.conductance_S}, {level_V, conductance_S}});
}

template <class R>
void BasicSystem<R>::steer_bridge(int bridge, double from_s, double to_s, const R& slow,
                                  const R& fast) {
  const BasicBridgeChip<R>& law = bridge_[static_cast<std::size_t>(bridge)].law;
  steer(steered_bridges_, {bridge, from_s, to_s, {law.slow, law.fast}, {slow, fast}});
}

template <class R>
void BasicSystem<R>::set_factor(const R& hg) {
  hg_ = hg;
  R* const base = base_.data();
  const R *const c = capacitance_.data(), *const g = linear_.data();
  for (std::size_t s = 0, end = base_.size(); s < end; ++s) base[s] = c[s] + hg * g[s];
  for (std::size_t m = 0; m < leakage_.size(); ++m) hg_leakage_[m] = hg * leakage_[m];
}

template <class R>
void BasicSystem<R>::plan_product() {
  const auto is_something = [](const R& x) { return any(absolute(x) > R(0.0)); };
  std::vector<bool> used;  // given its size at once, it leaves functions behind: tests/house
  for (std::size_t s = 0; s < linear_.size(); ++s)
    used.push_back(is_something(linear_[s]) ||  // NOLINT(performance-inefficient-*)
                   is_something(capacitance_[s]));
  product_ = ProductPlan(n_.lu, used);
}

/// Diodes leak whether they conduct or not; most of them do nothing else most of the time.
template <class R>
void BasicSystem<R>::sum_leakage() {
  leakage_.assign(at_.size(), R(0.0));
  hg_leakage_ = leakage_;
  for (Diode& d : diode_) {
    const R back =
        d.breaks_down ? d.forward.saturation_A - d.reverse.saturation_A : d.forward.saturation_A;
    d.i_A = -back, d.g_S = R(0.0), d.conducts = false;
    leakage_[d.anode] += back;
    leakage_[d.cathode] -= back;
  }
}

template <class R>
void BasicSystem<R>::evaluate(const Vector& x) {
  residual_ = leakage_;
  for (const DrivenTerm& t : driven_terms_) residual_[t.row] += t.conductance_S * at_[t.driven];
  assemble(linear_, R(1.0), x);
  for (std::size_t m = 0; m < f.size(); ++m) f[m] = -residual_[m];
}

template <class R>
Which<R> BasicSystem<R>::newton(const Vector& x, const Vector& rhs, Vector& dx) {
  for (std::size_t m = 0; m < rhs.size(); ++m) residual_[m] = rhs[m] + hg_leakage_[m];
  for (const DrivenTerm& t : driven_terms_)
    residual_[t.row] += (t.capacitance_F + hg_ * t.conductance_S) * at_[t.driven];
  assemble(base_, hg_, x);
  charges(depletion_);
  charges(ceramic_);
  if (!bipolar_.empty()) transits();
  if (saturates_) iron();
  return lu_.factor_solve(residual_.data(), dx.data());
}

template <class R>
void BasicSystem<R>::set_allowed(const Vector& tolerance, double share) {
  // A current that is off by e moves its node by at most e over what holds the node.
  const R* const base = base_.data();
  const R per_hg = 1.0 / hg_;
  for (int m = 0, n = size(); m < n; ++m) {
    allow_[m] = share * tolerance[m];
    hold_[m] = allow_[m] * base[n_.diagonal_slot[m]] * per_hg;
  }
  for (std::size_t m = tolerance.size(); m < hold_.size(); ++m) hold_[m] = R(1e300);
}

template <class R>
Which<R> BasicSystem<R>::left_little(const Vector& dx) {
  // Nothing is known of those.
  if (!bridge_.empty() || !limiter_.empty() || saturates_) return which<R>(false);
  R* const delta = delta_.data();
  const R *const allow = allow_.data(), *const hold = hold_.data();
  for (int m = 0, n = size(); m < n; ++m) delta[m] = dx[m];
  R most = R(0.0);  // of errors over what is allowed
  const R per_hg = 1.0 / hg_, half_per_hg = 0.5 * per_hg;
  const auto charges_left = [&](const auto& list) {
    for (const auto& q : list) {
      const R dv = delta[q.a] - delta[q.b],
              error = half_per_hg * q.law.curvature(q.v_V, dv) * dv * dv;
      most = maximum(most, error - hold[q.a]);
      most = maximum(most, error - hold[q.b]);
    }
  };
  // While the answer is no for all, as mostly it is, the rest need not be asked.
  const auto too_much = [&] { return !any(R(0.0) >= most); };
  charges_left(depletion_);
  charges_left(ceramic_);
  if (too_much()) return which<R>(false);
  for (const Diode& d : diode_) {
    const R dv = delta[d.anode] - delta[d.cathode];
    if (!d.conducts && !d.breaks_down && !any(d.z + d.forward.per_V * dv >= R(kJunctionNothing)))
      continue;
    R error = tangent_error(d.forward, d.z, dv, d.g_S);
    if (d.breaks_down)
      error += tangent_error(d.reverse, d.reverse.z(-d.v_V - d.breakdown_V), -dv, d.g_S);
    most = maximum(most, error - hold[d.anode] - d.g_S * allow[d.anode]);
    most = maximum(most, error - hold[d.cathode] - d.g_S * allow[d.cathode]);
    if (too_much()) return which<R>(false);
  }
  for (const Mosfet& m : mosfet_) {
    const R error = m.law.tangent_error(m.vgs_V, m.vds_V, delta[m.gate] - delta[m.source],
                                        delta[m.drain] - delta[m.source]);
    if (!any(error > R(0.0))) continue;
    most = maximum(most, error - hold[m.drain] - m.g_ds_S * allow[m.drain]);
    most = maximum(most, error - hold[m.source] - m.g_ds_S * allow[m.source]);
    if (too_much()) return which<R>(false);
  }
  for (const Bipolar& q : bipolar_) {
    const R be = delta[q.base] - delta[q.emitter], bc = delta[q.base] - delta[q.collector];
    // What hangs on a junction: the emitter's current, and the collector's.
    const R ge = q.i.gc_be_S + q.i.gb_be_S, gc = -q.i.gc_bc_S, gb = q.i.gb_be_S + q.i.gb_bc_S;
    // The charge under way follows the same exponential: over the step, as t/hg of a current.
    const R error =
        tangent_error(q.law, q.vbe_V, be, ge) * (1.0 + q.law.forward_transit_s * per_hg) +
        tangent_error(q.law, q.vbc_V, bc, gc) * (1.0 + q.law.reverse_transit_s * per_hg);
    const R se = q.i.be.slope * per_hg, sc = q.i.bc.slope * per_hg;
    most = maximum(most, error - hold[q.collector] - (gc + sc) * allow[q.collector]);
    most = maximum(most, error - hold[q.base] - (gb + se + sc) * allow[q.base]);
    most = maximum(most, error - hold[q.emitter] - (ge + se) * allow[q.emitter]);
  }
  const Which<R> little = R(0.0) >= most;
  return has_rotor() && any(little) ? both(little, motor_left_little(dx)) : little;
}

/// The same of the motor's products and sines, and of the friction's turning.
template <class R>
Which<R> BasicSystem<R>::motor_left_little(const Vector& dx) const {
  const int a = n_.first_winding, b = a + 1, w = a + 2;
  const R turn = absolute(dx[w + 1]), gain = rotor_.motor_constant_Vs * rotor_.teeth * turn,
          curve = 0.5 * rotor_.teeth * turn;
  const R emf = gain * (absolute(dx[w]) + curve * absolute(at_[w]));
  const Which<R> current = minimum(hold_[a], hold_[b]) >= emf;
  if (rotor_.locked) return current;
  const R torque =
      gain * (absolute(dx[a]) + absolute(dx[b]) + curve * (absolute(at_[a]) + absolute(at_[b])));
  const R detent = 8.0 * rotor_.detent_Nm * (rotor_.teeth * turn) * (rotor_.teeth * turn);
  const R per_speed = R(1.0 / kFrictionSpeed_rad_s),
          friction = rotor_.friction_Nm * turning_error(per_speed * at_[w], per_speed * dx[w]);
  const Which<R> little = both(current, hold_[w] >= torque + detent + friction);
  return touches() ? both(little, contacts_left_little(dx)) : little;
}

/// residual_ -= base x + hg (devices), lu values = base + hg (slopes of devices).
template <class R>
void BasicSystem<R>::assemble(const Vector& base, const R& hg, const Vector& x) {
  for (std::size_t m = 0; m < x.size(); ++m) at_[m] = x[m];
  lu_.take(base.data());
  subtract_product(product_, base.data(), at_.data(), residual_.data());
  pins(hg);
  diodes(hg);
  mosfets(hg);
  bipolars(hg);
  bridges(hg);
  if (!limiter_.empty()) limiters(hg);
  if (has_rotor()) motor(hg);
}

/// residual_ -= q, lu values += dq/dv: of charges that are not linear.
template <class R>
template <class List>
void BasicSystem<R>::charges(List& list) {
  R *const m = lu_.values.data(), *const r = residual_.data();
  const R* const at = at_.data();
  for (auto& e : list) {
    e.v_V = at[e.a] - at[e.b];
    const BasicValueSlope<R> q = e.law(e.v_V);
    r[e.a] -= q.value;
    r[e.b] += q.value;
    m[e.slots.aa] += q.slope, m[e.slots.bb] += q.slope;
    m[e.slots.ab] -= q.slope, m[e.slots.ba] -= q.slope;
  }
}

template <class R>
template <class List>
void BasicSystem<R>::add_charge(const List& list, const Vector& x, Vector& q) const {
  const auto at = [&](int place) { return place < size() ? x[place] : at_[place]; };
  for (const auto& e : list) {
    const R charge = e.law(at(e.a) - at(e.b)).value;
    if (e.a < size()) q[e.a] += charge;
    if (e.b < size()) q[e.b] -= charge;
  }
}

template <class R>
void BasicSystem<R>::pins(const R& hg) {
  for (const Pin& p : pin_) {
    residual_[p.place] += hg * p.conductance_S * (p.level_V - at_[p.place]);
    lu_.values[p.slot] += hg * p.conductance_S;
  }
}

template <class R>
void BasicSystem<R>::diodes(const R& hg) {
  R *const m = lu_.values.data(), *const r = residual_.data();
  const R* const at = at_.data();
  for (Diode& d : diode_) {
    const R v = at[d.anode] - at[d.cathode], z = d.forward.z(v);
    d.z = z;
    if (!d.conducts && !d.breaks_down && !any(z >= R(kJunctionOff))) continue;
    d.v_V = v;
    BasicValueSlope<R> i = d.forward.beyond_leakage(z);
    R leaks = d.forward.saturation_A;
    if (d.breaks_down) {
      const BasicValueSlope<R> back = d.reverse.beyond_leakage(d.reverse.z(-v - d.breakdown_V));
      i.value -= back.value, i.slope += back.slope;
      leaks -= d.reverse.saturation_A;
    }
    d.i_A = i.value - leaks, d.g_S = i.slope;
    d.conducts = any(absolute(i.value) + i.slope > R(0.0));
    if (!d.conducts) continue;
    const R beyond = hg * i.value, g = hg * i.slope;
    r[d.anode] -= beyond;
    r[d.cathode] += beyond;
    m[d.slots.aa] += g, m[d.slots.bb] += g, m[d.slots.ab] -= g, m[d.slots.ba] -= g;
  }
}

template <class R>
void BasicSystem<R>::mosfets(const R& hg) {
  R *const g = lu_.values.data(), *const r = residual_.data();
  const R* const at = at_.data();
  for (Mosfet& m : mosfet_) {
    m.vgs_V = at[m.gate] - at[m.source], m.vds_V = at[m.drain] - at[m.source];
    const BasicChannelCurrent<R> i = m.law(m.vgs_V, m.vds_V);
    m.i_A = i.i_A, m.g_gs_S = i.g_gs_S, m.g_ds_S = i.g_ds_S;
    if (!any(absolute(i.i_A) + i.g_ds_S > R(0.0))) continue;
    r[m.drain] -= hg * i.i_A;
    r[m.source] += hg * i.i_A;
    const auto& s = m.slots.slot;  // rows and columns: drain, gate, source
    const R gs = hg * i.g_gs_S, ds = hg * i.g_ds_S;
    g[s[0][0]] += ds, g[s[0][1]] += gs, g[s[0][2]] -= ds + gs;
    g[s[2][0]] -= ds, g[s[2][1]] -= gs, g[s[2][2]] += ds + gs;
  }
}

template <class R>
void BasicSystem<R>::bipolars(const R& hg) {
  R* const g = lu_.values.data();
  for (Bipolar& q : bipolar_) {
    q.vbe_V = at_[q.base] - at_[q.emitter], q.vbc_V = at_[q.base] - at_[q.collector];
    q.i = bipolar_law(q.law, q.vbe_V, q.vbc_V);
    residual_[q.collector] -= hg * q.i.ic_A;
    residual_[q.base] -= hg * q.i.ib_A;
    residual_[q.emitter] += hg * (q.i.ic_A + q.i.ib_A);
    const auto& s = q.slots.slot;  // collector, base, emitter
    const R cb = hg * (q.i.gc_be_S + q.i.gc_bc_S), cc = -hg * q.i.gc_bc_S, ce = -hg * q.i.gc_be_S;
    const R bb = hg * (q.i.gb_be_S + q.i.gb_bc_S), bc = -hg * q.i.gb_bc_S, be = -hg * q.i.gb_be_S;
    g[s[0][0]] += cc, g[s[0][1]] += cb, g[s[0][2]] += ce;
    g[s[1][0]] += bc, g[s[1][1]] += bb, g[s[1][2]] += be;
    g[s[2][0]] -= cc + bc, g[s[2][1]] -= cb + bb, g[s[2][2]] -= ce + be;
  }
}

/// As charges(), of what is under way in bipolar transistors; after bipolars().
template <class R>
void BasicSystem<R>::transits() {
  R *const m = lu_.values.data(), *const r = residual_.data();
  for (const Bipolar& q : bipolar_) {
    r[q.base] -= q.i.be.value + q.i.bc.value;
    r[q.emitter] += q.i.be.value;
    r[q.collector] += q.i.bc.value;
    const auto& s = q.slots.slot;  // collector, base, emitter
    const R be = q.i.be.slope, bc = q.i.bc.slope;
    m[s[1][1]] += be + bc, m[s[2][2]] += be, m[s[0][0]] += bc;
    m[s[1][2]] -= be, m[s[2][1]] -= be;
    m[s[1][0]] -= bc, m[s[0][1]] -= bc;
  }
}

template <class R>
void BasicSystem<R>::add_transits(const Vector& x, Vector& q) const {
  const auto at = [&](int place) { return place < size() ? x[place] : at_[place]; };
  for (const Bipolar& b : bipolar_) {
    const R base = at(b.base),
            be = transit_charge_C(b.law, b.law.forward_transit_s, base - at(b.emitter)),
            bc = transit_charge_C(b.law, b.law.reverse_transit_s, base - at(b.collector));
    if (b.base < size()) q[b.base] += be + bc;
    if (b.emitter < size()) q[b.emitter] -= be;
    if (b.collector < size()) q[b.collector] -= bc;
  }
}

template <class R>
void BasicSystem<R>::bridges(const R& hg) {
  for (Bridge& b : bridge_) {
    for (int t = 0; t < kBridgeTerminals; ++t) b.v_V[t] = at_[b.place[t]];
    b.i = bridge_law(b.law, b.v_V);
    for (int t = 0; t < kBridgeTerminals; ++t) {
      residual_[b.place[t]] -= hg * b.i.i_A[t];
      for (int u = 0; u < kBridgeTerminals; ++u) lu_.values[b.slot[t][u]] += hg * b.i.g_S[t][u];
    }
  }
}

/// What is not linear in the motor: EMF, torque, detent, friction.
template <class R>
void BasicSystem<R>::motor(const R& hg) {
  const int first = n_.first_winding;
  const R ia = at_[first], ib = at_[first + 1], w = at_[first + 2], th = at_[first + 3];
  const SineCosine<R> a = sine_cosine(rotor_.teeth * th);
  const R s = a.sin, c = a.cos, k = hg * rotor_.motor_constant_Vs;
  R* const m = lu_.values.data();
  const auto at = [&](int i, int j) -> R& { return m[n_.motor_slot[i][j]]; };
  if (!saturates_) {
    residual_[first] += k * w * s;
    residual_[first + 1] -= k * w * c;
    at(0, 2) -= k * s, at(0, 3) -= k * w * rotor_.teeth * c;
    at(1, 2) += k * c, at(1, 3) -= k * w * rotor_.teeth * s;
  }
  if (rotor_.locked) return;
  const R s4 = 4.0 * s * c * (c * c - s * s),
          c4 = 1.0 - 8.0 * s * s * c * c;  // sin and cos of 4 N th
  const R friction = friction_share(w / R(kFrictionSpeed_rad_s));
  at(2, 2) += hg * rotor_.friction_Nm * (1.0 - friction * friction) / R(kFrictionSpeed_rad_s);
  if (!saturates_) {
    residual_[first + 2] +=
        k * (ib * c - ia * s) -
        hg * (rotor_.detent_Nm * s4 + rotor_.friction_Nm * friction + rotor_.gravity_Nm);
    at(2, 0) += k * s, at(2, 1) -= k * c;
    at(2, 3) +=
        k * rotor_.teeth * (ib * s + ia * c) + hg * 4.0 * rotor_.teeth * rotor_.detent_Nm * c4;
  } else {
    const BasicFlux<R> flux = flux_law(iron_, ia, ib, th);
    residual_[first + 2] += hg * (flux.torque_Nm - rotor_.detent_Nm * s4 -
                                  rotor_.friction_Nm * friction - rotor_.gravity_Nm);
    at(2, 0) -= hg * flux.a_by_angle_Vs, at(2, 1) -= hg * flux.b_by_angle_Vs;
    at(2, 3) += hg * (4.0 * rotor_.teeth * rotor_.detent_Nm * c4 - flux.torque_by_angle_Nm);
  }
  if (touches()) contacts(hg);
}

template <class R>
void BasicSystem<R>::measure(const Vector& x, Vector& loss_W, Vector& current_A) {
  for (std::size_t m = 0; m < x.size(); ++m) at_[m] = x[m];
  const R* const at = at_.data();
  R *loss = loss_W.data(), *current = current_A.data();
  for (const TwoTerminal& e : resistor_) {
    const R v = at[e.a] - at[e.b], i = e.value * v;
    *current++ = i, *loss++ = v * i;
  }
  for (const Diode& d : diode_) {
    const R v = at[d.anode] - at[d.cathode];
    const R i = d.conducts ? d.i_A + d.g_S * (v - d.v_V) : d.i_A;
    *current++ = i, *loss++ = v * i;
  }
  for (const Mosfet& m : mosfet_) {
    const R vgs = at[m.gate] - at[m.source], vds = at[m.drain] - at[m.source],
            i = m.i_A + m.g_gs_S * (vgs - m.vgs_V) + m.g_ds_S * (vds - m.vds_V);
    *current++ = i, *loss++ = vds * i;
  }
  R source = R(0.0);
  for (const Bipolar& q : bipolar_) {
    const R vbe = at[q.base] - at[q.emitter], vbc = at[q.base] - at[q.collector], vce = vbe - vbc,
            be = vbe - q.vbe_V, bc = vbc - q.vbc_V;
    const R ic = q.i.ic_A + q.i.gc_be_S * be + q.i.gc_bc_S * bc,
            ib = q.i.ib_A + q.i.gb_be_S * be + q.i.gb_bc_S * bc;
    if (q.collector >= size()) source += at[q.collector] * ic;
    if (q.base >= size()) source += at[q.base] * ib;
    if (q.emitter >= size()) source -= at[q.emitter] * (ic + ib);
    *current++ = ic, *loss++ = vce * ic + vbe * ib;
  }
  source_power_W_ = source;
  for (Bridge& b : bridge_) measure_bridge(b, *loss++, *current++);
  for (const Limiter& l : limiter_) {
    const R v = at[l.a] - at[l.b], i = l.i_A + l.g_S * (v - l.v_V);
    *current++ = i, *loss++ = v * i;
  }
  for (const Branch& e : inductor_) {
    const R i = at[e.unknown];
    *current++ = i, *loss++ = e.resistance_ohm * i * i;
  }
  for (const Pin& p : pin_) {
    const R drop = p.level_V - at[p.place], i = p.conductance_S * drop;
    source_power_W_ += p.level_V * i;
    *current++ = i, *loss++ = drop * i;
  }
  for (const Branch& e : winding_) {
    const R i = at[e.unknown];
    *current++ = i, *loss++ = e.resistance_ohm * i * i;
  }
  measure_ends(current_A);
}

/// Power of the driven nodes and of the load.
template <class R>
void BasicSystem<R>::measure_ends(const Vector& current_A) {
  const int scaled = n_.circuit.scaled_resistor;
  for (const Numbering::DrivenEnd& e : n_.driven_ends) {
    R i = current_A[e.element];
    if (e.element == scaled) i = i * (resistor_[scaled].stamped / resistor_[scaled].value);
    source_power_W_ += at_[e.place] * (e.sign * i);
  }
  load_power_W_ = R(0.0);
  if (!has_rotor() || rotor_.locked) return;
  const R w = at_[speed_unknown()];
  load_power_W_ =
      w * (rotor_.viscous_Nms * w +
           rotor_.friction_Nm * friction_share(w / R(kFrictionSpeed_rad_s)) + rotor_.gravity_Nm);
  if (touches()) measure_contacts();
}

template <class R>
void BasicSystem<R>::measure_bridge(Bridge& b, R& loss_W, R& current_A) {
  R v[kBridgeTerminals], i[kBridgeTerminals], power = R(0.0);
  for (int t = 0; t < kBridgeTerminals; ++t) v[t] = at_[b.place[t]];
  for (int t = 0; t < kBridgeTerminals; ++t) {
    i[t] = b.i.i_A[t];
    for (int u = 0; u < kBridgeTerminals; ++u) i[t] += b.i.g_S[t][u] * (v[u] - b.v_V[u]);
    if (b.place[t] >= size()) source_power_W_ += at_[b.place[t]] * i[t];
    power += i[t] * (v[t] - v[kChipGround]);
  }
  const auto first = absolute(i[kChipOut1]) > absolute(i[kChipOut2]);
  current_A = select(first, i[kChipOut1], -i[kChipOut2]);
  loss_W = power;
  b.reading = {v[kChipSupply] - v[kChipGround], current_A,
               maximum(v[kChipIn1], v[kChipIn2]) - v[kChipGround], power};
}

template <class R>
void BasicSystem<R>::fill_readings(const Vector& loss_W, const Vector& current_A,
                                   const Which<R>& of) {
  std::size_t e = 0;
  const bool whole = all(of);
  const auto take = [&](const BasicReading<R>& next) {
    BasicReading<R>& r = readings[e++];
    if (whole)
      r = next;
    else
      r = {select(of, next.voltage_V, r.voltage_V), select(of, next.current_A, r.current_A),
           select(of, next.control_V, r.control_V), select(of, next.power_W, r.power_W)};
  };
  const auto put = [&](const R& voltage, const R& control) {
    take({voltage, current_A[e], control, loss_W[e]});
  };
  const R* const at = at_.data();
  const R none = R(0.0);
  for (const TwoTerminal& r : resistor_) put(at[r.a] - at[r.b], none);
  for (const Diode& d : diode_) put(at[d.anode] - at[d.cathode], none);
  for (const Mosfet& m : mosfet_) put(at[m.drain] - at[m.source], at[m.gate] - at[m.source]);
  for (const Bipolar& q : bipolar_)
    put(at[q.collector] - at[q.emitter], at[q.base] - at[q.emitter]);
  for (const Bridge& b : bridge_) take(b.reading);
  for (const Limiter& l : limiter_) put(at[l.a] - at[l.b], none);
  for (const Branch& l : inductor_) put(at[l.a] - at[l.b], none);
  for (const Pin& p : pin_) put(at[p.place], p.level_V);
  for (const Branch& w : winding_) put(at[w.a] - at[w.b], none);
}

template <class R>
void BasicSystem<R>::charge(const Vector& x, Vector& q) const {
  const StorageTerm* t = storage_terms_.data();
  const int* const end = n_.storage_end.data();
  const R* const from = x.data();
  for (int row = 0, n = size(); row < n; ++row) {
    R sum = R(0.0);
    for (const StorageTerm* const last = storage_terms_.data() + end[row]; t != last; ++t)
      sum += t->value * from[t->column];
    q[row] = sum;
  }
  for (const DrivenTerm& d : driven_terms_) q[d.row] -= d.capacitance_F * at_[d.driven];
  add_charge(depletion_, x, q);
  add_charge(ceramic_, x, q);
  if (!bipolar_.empty()) add_transits(x, q);
  if (saturates_) iron_flux(x, q);
}

template <class R>
R BasicSystem<R>::stored_J(const Vector& x) const {
  const auto voltage = [&](int place) { return place < size() ? x[place] : at_[place]; };
  R sum = R(0.0);
  for (const TwoTerminal& e : capacitor_) {
    const R v = voltage(e.a) - voltage(e.b);
    sum += 0.5 * e.value * v * v;
  }
  const auto of_charges = [&](const auto& list) {
    for (const auto& e : list) sum += e.law.energy_J(voltage(e.a) - voltage(e.b));
  };
  of_charges(depletion_);
  of_charges(ceramic_);
  for (const Bipolar& q : bipolar_) {
    const R base = voltage(q.base);
    sum += transit_energy_J(q.law, q.law.forward_transit_s, base - voltage(q.emitter)) +
           transit_energy_J(q.law, q.law.reverse_transit_s, base - voltage(q.collector));
  }
  for (const std::vector<Branch>* list : {&inductor_, &winding_}) {
    if (saturates_ && list == &winding_) continue;
    for (const Branch& b : *list) sum += 0.5 * b.inductance_H * x[b.unknown] * x[b.unknown];
  }
  if (!has_rotor()) return sum;
  if (saturates_)
    sum +=
        flux_law(iron_, x[winding_unknown(0)], x[winding_unknown(1)], x[angle_unknown()]).stored_J;
  const R& w = x[speed_unknown()];
  sum += 0.5 * rotor_.inertia_kgm2 * w * w;
  // Detent: torque -T_d sin(4 N th) is minus the slope of -T_d cos(4 N th)/(4 N).
  const R four = 4.0 * rotor_.teeth;
  sum -= rotor_.detent_Nm / four * sine_cosine(four * x[angle_unknown()]).cos;
  if (touches()) sum += contacts_J(x);
  return sum;
}

}  // namespace pb::physics
