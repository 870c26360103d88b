// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Junction law with series resistance, in closed form: no interior node, and a slope that never
// exceeds 1/R.
//   v = n V_t ln(1 + i/I_s) + R i   =>   i = (n V_t / R) w(z) - I_s,  z = ln(I_s R/(n V_t)) + (v +
//   I_s R)/(n V_t)
// where w is the Wright omega function, w + ln w = z.
// Sources: W. Shockley, Bell Syst. Tech. J. 28(3), 1949, 435-489; T. Banwell and A. Jayakumar,
// Electronics Letters 36(4), 2000, 291-292 (closed form). Valid: forward and reverse without
// breakdown, no stored charge. Tested by tests/unit/physics_devices.cpp.
#pragma once

#include <cmath>

#include "physics/devices/table.h"

namespace pb::physics {

/// Wright omega for real z, to about 1e-15. Source of the iteration: P. Lawrence, R. Corless, D.
/// Jeffrey, ACM Trans. Math. Softw. 38(3), 2012, article 20.
inline double wright_omega(double z) {
  if (z < -12.0) {  // w = e - e^2 + 3/2 e^3 - ..., the next term is below the last bit
    const double e = std::exp(z);
    return e * (1.0 - e * (1.0 - 1.5 * e));
  }
  double w;
  if (z < -2.0)
    w = std::exp(z);
  else if (z < 4.0)
    w = 1.0 + (z - 1.0) * (0.5 + (z - 1.0) * (0.0625 - (z - 1.0) / 192.0));
  else {
    const double l = std::log(z);
    w = z - l + l / z;
  }
  for (int k = 0; k < 2; ++k) {
    const double r = z - w - std::log(w), p = w + 1.0, u = 2.0 * p * (p + 2.0 / 3.0 * r);
    w *= 1.0 + r / p * (u - r) / (u - 2.0 * r);
    if (std::abs(r) < 1e-4 * p) break;  // what is left goes with the fourth power
  }
  return w;
}

/// The same with its slope, from a table read by cubics that meet with equal slopes: within 7e-7 of
/// w (3e-8 where w > 1), three times as fast. Below the table 0, above it by the iteration.
class OmegaTable {
 public:
  static constexpr double kLow = -40.0, kHigh = 280.0;

  template <class R>
  [[gnu::always_inline]] BasicValueSlope<R> operator()(const R& z) const {
    // Not a number is taken for the lowest: it may index nothing.
    const R in = minimum(maximum(z, R(kLow)), R(kHigh));
    const auto coarse = in >= R(kMiddle);
    const R at = select(coarse, (in - kMiddle) * kPerUnitAbove + kCoarse, (in - kLow) * kPerUnit);
    BasicValueSlope<R> w = look_up(knot_, at);
    w.slope = w.slope * select(coarse, R(kPerUnitAbove), R(kPerUnit));
    if (any(z >= R(kHigh))) above(z, w);
    const auto inside = z >= R(kLow);
    return {select(inside, w.value, R(0.0)), select(inside, w.slope, R(0.0))};
  }

  OmegaTable();

 private:
  /// Above the middle w is nearly straight.
  static constexpr double kMiddle = 24.0, kPerUnit = 8.0, kPerUnitAbove = 2.0;
  static constexpr int kCoarse = static_cast<int>((kMiddle - kLow) * kPerUnit) + 1;
  static constexpr int kCount = kCoarse + static_cast<int>((kHigh - kMiddle) * kPerUnitAbove) + 2;

  template <class R>
  [[gnu::noinline]] static void above(const R& z, BasicValueSlope<R>& w) {
    const R exact = each([](double x) { return x >= kHigh ? wright_omega(x) : 0.0; }, z);
    const auto is = z >= R(kHigh);
    w.value = select(is, exact, w.value);
    w.slope = select(is, exact / (1.0 + exact), w.slope);
  }

  Knot knot_[kCount];
};

/// Not inline, as all below: no other file may come to hold what fills it.
extern const OmegaTable kOmega;

struct Junction {
  double saturation_A = 1e-12, nVt_V = 0.026, series_ohm = 0.1;
  double offset = 0;  // ln(I_s R/(n V_t)) + I_s R/(n V_t); see prepared()
};

inline Junction prepared(Junction j) {
  const double a = j.saturation_A * j.series_ohm / j.nVt_V;
  j.offset = std::log(a) + a;
  return j;
}

/// Below this z the forward part is less than 1e-17 of n V_t/R, and taken as none.
inline constexpr double kJunctionOff = OmegaTable::kLow;

/// The same law with what does not change worked out.
template <class R>
struct JunctionLaw {
  R per_V, offset, scale_A, per_ohm, saturation_A;

  [[gnu::always_inline]] R z(const R& v_V) const { return v_V * per_V + offset; }
  [[gnu::always_inline]] BasicValueSlope<R> at(const R& z) const {
    const BasicValueSlope<R> i = beyond_leakage(z);
    return {i.value - saturation_A, i.slope};
  }
  /// What it carries beside the saturation current that leaks backwards.
  [[gnu::always_inline]] BasicValueSlope<R> beyond_leakage(const R& z) const {
    if (all(z < R(kJunctionOff))) return {R(0.0), R(0.0)};
    const BasicValueSlope<R> w = kOmega(z);
    return {scale_A * w.value, per_ohm * w.slope};
  }
};

/// Below this z a junction carries less than 1.4e-11 of n V_t/R.
inline constexpr double kJunctionNothing = -25.0;

/// Most that the tangent at z, of slope `g_S`, may be wrong by at v + dv. [A]
template <class R>
[[gnu::always_inline]] inline R tangent_error(const JunctionLaw<R>& j, const R& z, const R& dv_V,
                                              const R& g_S) {
  // i'' is at most i'/(n V_t), and grows by e^(1/2) over half a thermal voltage. Beyond that only a
  // junction that carries nothing at either end is known.
  constexpr double kSmall = 0.5, kGrown = 0.5 * 1.65, kShare = 1.4e-11;
  const R dz = dv_V * j.per_V;
  return select(absolute(dz) < R(kSmall), kGrown * g_S * absolute(dz * dv_V),
                select(maximum(z, z + dz) < R(kJunctionNothing),
                       kShare * j.scale_A * (1.0 + absolute(dz)), R(1e300)));
}

inline JunctionLaw<double> law_of(const Junction& j) {
  return {1.0 / j.nVt_V, j.offset, j.nVt_V / j.series_ohm, 1.0 / j.series_ohm, j.saturation_A};
}

/// Current [A] and slope [S] at v [V], anode to cathode.
inline ValueSlope junction_current(const Junction& j, double v_V) {
  const JunctionLaw<double> law = law_of(j);
  return law.at(law.z(v_V));
}

/// Junction through two points of a data sheet (i1 < i2), series resistance from the second: with
/// emission coefficient n, I_s = i1 e^(-v1/(n V_t)), R = (v2 - n V_t ln(i2/I_s))/i2, at least
/// r_min.
inline Junction junction_from_points(double v1_V, double i1_A, double v2_V, double i2_A, double n,
                                     double T_K) {
  Junction j;
  j.nVt_V = n * thermal_voltage_V(T_K);
  constexpr double kLeastSeries_ohm = 1e-3;  // below any bond wire; keeps the closed form finite
  // Two unknowns (I_s, R) from two points: v2 - v1 = nVt ln(i2/i1) + R (i2 - i1).
  j.series_ohm =
      std::max((v2_V - v1_V - j.nVt_V * std::log(i2_A / i1_A)) / (i2_A - i1_A), kLeastSeries_ohm);
  j.saturation_A = i1_A / std::expm1((v1_V - j.series_ohm * i1_A) / j.nVt_V);
  return prepared(j);
}

}  // namespace pb::physics
