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

#include "physics/devices/table.h"

namespace pb::physics {

struct Channel {
  double sign = 1;         // +1 N, -1 P
  double threshold_V = 2;  // V_T0, magnitude: not the data sheet's threshold, see extraction.h
  double beta_A_V2 = 1;
  double slope_n = 1.3;
  double Ut_V = 0.02585;
};

/// ln(1 + e^x) with its slope from a table, within 1e-6 of itself; 0 below, x above.
class SoftplusTable {
 public:
  static constexpr double kOff = -18.0;    // ln^2(1+e^-18) = 2e-16 of I_spec: picoamperes for the
                                           // largest channel here
  static constexpr double kLinear = 37.0;  // e^-37 is below the last bit of 37

  template <class R>
  [[gnu::always_inline]] BasicValueSlope<R> operator()(const R& x) const {
    const auto linear = x > R(kLinear), off = x < R(kOff);
    if (all(linear)) return {x, R(1.0)};
    const R in = minimum(maximum(x, R(kOff)), R(kLinear));
    const BasicValueSlope<R> f = look_up(knot_, (in - kOff) * kPerUnit);
    return {select(linear, x, select(off, R(0.0), f.value)),
            select(linear, R(1.0), select(off, R(0.0), f.slope * kPerUnit))};
  }

  SoftplusTable();

 private:
  static constexpr double kPerUnit = 8.0;
  static constexpr int kCount = static_cast<int>((kLinear - kOff) * kPerUnit) + 2;
  Knot knot_[kCount];
};

extern const SoftplusTable kSoftplus;

template <class R>
struct BasicChannelCurrent {
  R i_A, g_gs_S, g_ds_S;  // drain to source; derivatives to v_GS and v_DS
};
using ChannelCurrent = BasicChannelCurrent<double>;

/// The law with what does not change worked out.
template <class R>
struct ChannelLaw {
  R sign, threshold_V, half_per_V, per_n, i_spec_A, i_spec_per_V;

  /// v_gs, v_ds as they stand on the terminals, either polarity.
  [[gnu::always_inline]] BasicChannelCurrent<R> operator()(const R& v_gs_V, const R& v_ds_V) const {
    const R a = at_source(v_gs_V), b = a - half_per_V * sign * v_ds_V;
    if (all(maximum(a, b) < R(SoftplusTable::kOff))) return {R(0.0), R(0.0), R(0.0)};
    const BasicValueSlope<R> fa = kSoftplus(a), fb = kSoftplus(b);
    const R ga = i_spec_per_V * fa.value * fa.slope, gb = i_spec_per_V * fb.value * fb.slope;
    // (fa - fb)(fa + fb): deep in triode the two squares nearly cancel.
    return {sign * i_spec_A * (fa.value - fb.value) * (fa.value + fb.value), (ga - gb) * per_n, gb};
  }

  /// Most that the tangent at v_gs, v_ds may be wrong by at v_gs + dv_gs, v_ds + dv_ds. [A]
  [[gnu::always_inline]] R tangent_error(const R& v_gs_V, const R& v_ds_V, const R& dv_gs_V,
                                         const R& dv_ds_V) const {
    const R a = at_source(v_gs_V), b = a - half_per_V * sign * v_ds_V;
    const R da = half_per_V * per_n * sign * dv_gs_V, db = da - half_per_V * sign * dv_ds_V;
    const R top = maximum(maximum(a, b), maximum(a + da, b + db)),
            low = minimum(minimum(a, b), minimum(a + da, b + db));
    // ln^2(1 + e^x) is x^2 in strong inversion, whose errors are squares that nearly cancel; its
    // second derivative is nowhere more than 2.2.
    constexpr double kStrong = 20.0, kMost = 1.1;
    return i_spec_A * select(top < R(SoftplusTable::kOff), R(0.0),
                             select(low > R(kStrong), absolute((da - db) * (da + db)),
                                    kMost * (da * da + db * db)));
  }

 private:
  [[gnu::always_inline]] R at_source(const R& v_gs_V) const {
    return half_per_V * per_n * (sign * v_gs_V - threshold_V);
  }
};

inline ChannelLaw<double> law_of(const Channel& c) {
  const double half = 0.5 / c.Ut_V, i_spec = 2.0 * c.slope_n * c.beta_A_V2 * c.Ut_V * c.Ut_V;
  return {c.sign, c.threshold_V, half, 1.0 / c.slope_n, i_spec, 2.0 * i_spec * half};
}

inline ChannelCurrent channel_current(const Channel& c, double v_gs_V, double v_ds_V) {
  return law_of(c)(v_gs_V, v_ds_V);
}

}  // namespace pb::physics
