// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Bipolar transistor, transport form of Ebers-Moll:
//   I_C = I_S (e^(v_BE/V_t) - e^(v_BC/V_t)) - (I_S/b_R)(e^(v_BC/V_t) - 1)
//   I_B = (I_S/b_F)(e^(v_BE/V_t) - 1) + (I_S/b_R)(e^(v_BC/V_t) - 1)
// Source: J. Ebers, J. Moll, Proc. IRE 42, 1954, 1761-1772; transport form: I. Getreu, Modeling the
// Bipolar Transistor, 1976. Valid: DC, all four regions; no Early effect, no high-injection fall of
// gain, no breakdown.
//
// Charge that the carriers under way make up, between base and emitter and base and collector:
//   Q_BE = t_F I_S (e^(v_BE/V_t) - 1),   Q_BC = t_R I_S (e^(v_BC/V_t) - 1)
// Source: charge control, J. Moll, Proc. IRE 42, 1954, 1773-1784; Getreu as above. Valid: changes
// slower than t_F; transit times do not rise with current. Tested by tests/unit/physics_devices.cpp
// and physics_transit.cpp.
#pragma once

#include "physics/devices/exponential.h"

namespace pb::physics {

template <class R>
struct BasicBipolar {
  R sign = 1;  // +1 NPN, -1 PNP
  R saturation_A = 1e-14, forward_gain = 200, reverse_gain = 5, Vt_V = 0.02585;
  R forward_transit_s = 0, reverse_transit_s = 0;  // t_F, t_R
};
using Bipolar = BasicBipolar<double>;

template <class R>
struct BasicBipolarCurrent {
  R ic_A, ib_A;  // into collector and base
  R gc_be_S, gc_bc_S, gb_be_S, gb_bc_S;
  BasicValueSlope<R> be, bc;  // charge from base to emitter and to collector [C], its capacity [F]
};
using BipolarCurrent = BasicBipolarCurrent<double>;

/// From here on the exponential of a junction goes on as its tangent.
inline constexpr double kBent = 80.0;

/// As limited_exp(), of lanes.
template <class R>
BasicValueSlope<R> junction_exp(const R& x) {
  const R slope = exponential(minimum(x, R(kBent)));
  return {slope * (1.0 + maximum(x - kBent, R(0.0))), slope};
}
inline ValueSlope junction_exp(double x) { return limited_exp(x); }

template <class R>
BasicBipolarCurrent<R> bipolar_law(const BasicBipolar<R>& q, const R& v_be_V, const R& v_bc_V) {
  const BasicValueSlope<R> e = junction_exp(q.sign * v_be_V / q.Vt_V),
                           c = junction_exp(q.sign * v_bc_V / q.Vt_V);
  const R is = q.saturation_A, ge = is * e.slope / q.Vt_V, gc = is * c.slope / q.Vt_V;
  BasicBipolarCurrent<R> out;
  out.ic_A = q.sign * (is * (e.value - c.value) - is / q.reverse_gain * (c.value - 1.0));
  out.ib_A =
      q.sign * (is / q.forward_gain * (e.value - 1.0) + is / q.reverse_gain * (c.value - 1.0));
  out.gc_be_S = ge;
  out.gc_bc_S = -gc - gc / q.reverse_gain;
  out.gb_be_S = ge / q.forward_gain;
  out.gb_bc_S = gc / q.reverse_gain;
  out.be = {q.sign * (q.forward_transit_s * is) * (e.value - 1.0), q.forward_transit_s * ge};
  out.bc = {q.sign * (q.reverse_transit_s * is) * (c.value - 1.0), q.reverse_transit_s * gc};
  return out;
}

/// Charge that is under way across a junction at v from base, of its transit time. [C]
template <class R>
R transit_charge_C(const BasicBipolar<R>& q, const R& transit_s, const R& v_V) {
  return q.sign * (transit_s * q.saturation_A) * (junction_exp(q.sign * v_V / q.Vt_V).value - 1.0);
}
/// What it stores, the integral of v dq: t I_S V_t [x e^x - (e^x - 1)] with x = v/V_t; where the
/// exponential goes on as its tangent, the rest at constant capacity. [J]
template <class R>
R transit_energy_J(const BasicBipolar<R>& q, const R& transit_s, const R& v_V) {
  const R x = q.sign * v_V / q.Vt_V, slope = junction_exp(x).slope, bent = minimum(x, R(kBent));
  return transit_s * q.saturation_A * q.Vt_V *
         (bent * slope - (slope - 1.0) + 0.5 * slope * (x - bent) * (x + bent));
}

/// Most that the exponential of a junction may be off its tangent at v, of slope `g_S`, at v + dv;
/// g_S over all that hangs on it. [A]
template <class R>
[[gnu::always_inline]] inline R tangent_error(const BasicBipolar<R>& q, const R& v_V, const R& dv_V,
                                              const R& g_S) {
  // As of a diode (junction.h): known over half a thermal voltage, and of what carries nothing at
  // either end.
  constexpr double kSmall = 0.5, kGrown = 0.5 * 1.65, kNothing = 5.0, kMost = 300.0;
  const R v = q.sign * v_V / q.Vt_V, dv = q.sign * dv_V / q.Vt_V, way = absolute(dv);
  return select(
      way < R(kSmall), kGrown * g_S * way * absolute(dv_V),
      select(maximum(v, v + dv) < R(kNothing), kMost * q.saturation_A * (1.0 + way), R(1e300)));
}

inline BipolarCurrent bipolar_current(const Bipolar& q, double v_be_V, double v_bc_V) {
  return bipolar_law(q, v_be_V, v_bc_V);
}

}  // namespace pb::physics
