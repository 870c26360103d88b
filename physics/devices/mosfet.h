// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// MOSFET channel, EKV interpolation with the bulk at the source:
//   I_D = I_spec [F(v_P) - F(v_P - v_DS/U_T)],  F(v) = ln^2(1 + e^(v/2)),  v_P = (v_GS - V_T0)/(n
//   U_T), I_spec = 2 n beta U_T^2
// Source: C. Enz, F. Krummenacher, E. Vittoz, Analog Integr. Circuits Signal Process. 8, 1995,
// 83-114. Valid: all regions, weak to strong inversion, both signs of v_DS (synchronous
// conduction); no velocity saturation, no output slope, no body effect of a separate bulk. Tested
// by tests/unit/physics_devices.cpp against the table of the paper's law evaluated independently.
#pragma once

#include "base/math.h"

namespace pb::physics {

struct Channel {
  double sign = 1;         // +1 N, -1 P
  double threshold_V = 2;  // V_T0, magnitude: not the data sheet's threshold, see extraction.h
  double beta_A_V2 = 1;
  double slope_n = 1.3;
  double Ut_V = 0.02585;
};

/// ln(1 + e^x) and its slope where they are not yet, or no longer, different from 0 or x.
inline ValueSlope channel_log(double x) {
  constexpr double kLinear = 37.0;  // e^-37 is below the last bit of 37
  return x > kLinear ? ValueSlope{x, 1.0} : softplus(x);
}

struct ChannelCurrent {
  double i_A, g_gs_S, g_ds_S;  // drain to source; derivatives to v_GS and v_DS
};

/// v_gs, v_ds as they stand on the terminals, either polarity.
inline ChannelCurrent channel_current(const Channel& c, double v_gs_V, double v_ds_V) {
  const double half = 0.5 / c.Ut_V, per_n = 1.0 / c.slope_n;
  const double a = half * per_n * (c.sign * v_gs_V - c.threshold_V), b = a - half * c.sign * v_ds_V;
  constexpr double kOff =
      -18.0;  // ln^2(1+e^-18) = 2e-16 of I_spec: picoamperes for the largest channel here
  if (a < kOff && b < kOff) return {0.0, 0.0, 0.0};
  const ValueSlope fa = channel_log(a), fb = channel_log(b);
  const double i_spec = 2.0 * c.slope_n * c.beta_A_V2 * c.Ut_V * c.Ut_V;
  const double ga = 2.0 * i_spec * half * fa.value * fa.slope,
               gb = 2.0 * i_spec * half * fb.value * fb.slope;
  // (fa - fb)(fa + fb): deep in triode the two squares nearly cancel.
  return {c.sign * i_spec * (fa.value - fb.value) * (fa.value + fb.value), (ga - gb) * per_n, gb};
}

}  // namespace pb::physics
