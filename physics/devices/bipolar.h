// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Bipolar transistor, transport form of Ebers-Moll:
//   I_C = I_S (e^(v_BE/V_t) - e^(v_BC/V_t)) - (I_S/b_R)(e^(v_BC/V_t) - 1)
//   I_B = (I_S/b_F)(e^(v_BE/V_t) - 1) + (I_S/b_R)(e^(v_BC/V_t) - 1)
// Source: J. Ebers, J. Moll, Proc. IRE 42, 1954, 1761-1772; transport form: I. Getreu, Modeling the
// Bipolar Transistor, 1976. Valid: DC, all four regions; no Early effect, no high-injection fall of
// gain, no breakdown. Charge: see models.md. Tested by tests/unit/physics_devices.cpp.
#pragma once

#include "physics/devices/exponential.h"

namespace pb::physics {

template <class R>
struct BasicBipolar {
  R sign = 1;  // +1 NPN, -1 PNP
  R saturation_A = 1e-14, forward_gain = 200, reverse_gain = 5, Vt_V = 0.02585;
};
using Bipolar = BasicBipolar<double>;

template <class R>
struct BasicBipolarCurrent {
  R ic_A, ib_A;  // into collector and base
  R gc_be_S, gc_bc_S, gb_be_S, gb_bc_S;
};
using BipolarCurrent = BasicBipolarCurrent<double>;

/// As limited_exp(), of lanes.
template <class R>
BasicValueSlope<R> junction_exp(const R& x) {
  constexpr double kMax = 80.0;
  const R slope = exponential(minimum(x, R(kMax)));
  return {slope * (1.0 + maximum(x - kMax, R(0.0))), slope};
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
  return out;
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
