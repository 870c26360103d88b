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

#include "base/math.h"

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
/// w (3e-8 where w > 1), three times as fast. Below the table 0.
class OmegaTable {
 public:
  static constexpr double kLow = -40.0, kHigh = 24.0;

  ValueSlope operator()(double z) const {
    if (!(z >= kLow)) return {0.0, 0.0};  // also for NaN, which may index nothing
    if (z >= kHigh) {
      const double w = wright_omega(z);
      return {w, w / (1.0 + w)};
    }
    const double at = (z - kLow) * kPerUnit;
    const int k = static_cast<int>(at);
    const Knot &a = knot_[k], &b = knot_[k + 1];
    const double u = at - k, rise = b.value - a.value;
    // value(u) = a + s u + (c + d u) u^2, slopes scaled to the interval.
    const double d = a.slope + b.slope - 2.0 * rise, c = rise - a.slope - d;
    return {a.value + u * (a.slope + u * (c + u * d)),
            kPerUnit * (a.slope + u * (2.0 * c + 3.0 * u * d))};
  }

  OmegaTable() {
    for (int k = 0; k <= kCount; ++k) {
      const double w = wright_omega(kLow + k / kPerUnit);
      knot_[k] = {w, w / (1.0 + w) / kPerUnit};
    }
  }

 private:
  static constexpr double kPerUnit = 8.0;
  static constexpr int kCount = static_cast<int>((kHigh - kLow) * kPerUnit);
  struct Knot {
    double value, slope;
  };
  Knot knot_[kCount + 1];
};

inline const OmegaTable kOmega;

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

/// Current [A] and slope [S] at v [V], anode to cathode.
inline ValueSlope junction_current(const Junction& j, double v_V) {
  const ValueSlope w = kOmega(v_V / j.nVt_V + j.offset);
  return {j.nVt_V / j.series_ohm * w.value - j.saturation_A, w.slope / j.series_ohm};
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
