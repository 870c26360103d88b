// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Constants of nature and small functions the standard library lacks. Tested by
// tests/unit/base_math.cpp.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

namespace pb {

inline constexpr double kPi = std::numbers::pi;
inline constexpr double kBoltzmann_J_K = 1.380649e-23;        // exact: SI brochure, 9th ed. (2019)
inline constexpr double kElectronCharge_C = 1.602176634e-19;  // exact: SI brochure, 9th ed. (2019)
inline constexpr double kZeroCelsius_K = 273.15;              // exact: SI brochure, 9th ed., 2.3.1
inline constexpr double kStandardGravity_m_s2 = 9.80665;      // exact: 3rd CGPM (1901)

constexpr double square(double x) { return x * x; }
constexpr double celsius_to_kelvin(double t_degC) { return t_degC + kZeroCelsius_K; }
constexpr double kelvin_to_celsius(double T_K) { return T_K - kZeroCelsius_K; }

/// kT/q: 25.85 mV at 300 K.
constexpr double thermal_voltage_V(double T_K) { return kBoltzmann_J_K * T_K / kElectronCharge_C; }

/// a at f = 0, b at f = 1, both exactly; straight between.
constexpr double mix(double a, double b, double f) { return (1.0 - f) * a + f * b; }

/// A value and its slope, for Newton.
template <class R>
struct BasicValueSlope {
  R value, slope;
};
using ValueSlope = BasicValueSlope<double>;

/// exp(x), continued as its tangent above x = 80, so Newton never sees infinity. C1; slope is its
/// derivative.
inline ValueSlope limited_exp(double x) {
  constexpr double kMax =
      80.0;  // e^80 = 5.5e34: above any physical current over any saturation current
  if (x <= kMax) {
    const double e = std::exp(x);
    return {e, e};
  }
  const double e = std::exp(kMax);
  return {e * (1.0 + (x - kMax)), e};
}

/// ln(1 + e^x) without overflow or cancellation; slope is the logistic function.
inline ValueSlope softplus(double x) {
  const double e = std::exp(-std::abs(x));
  return {std::max(x, 0.0) + std::log1p(e), (x >= 0.0 ? 1.0 : e) / (1.0 + e)};
}

/// |a-b| over the larger magnitude; 0 when both are 0.
inline double relative_difference(double a, double b) {
  const double scale = std::max(std::abs(a), std::abs(b));
  return scale > 0.0 ? std::abs(a - b) / scale : 0.0;
}

/// Distribution function of the standard normal, accurate in both tails.
double normal_cdf(double z);
/// Its inverse for 0 < p < 1, to about 1e-15 relative; -inf at 0, +inf at 1, NaN outside.
double normal_quantile(double p);

/// Sum with the rounding errors carried along: the energy ledger adds millions of small terms.
/// Source: A. Neumaier, Z. Angew. Math. Mech. 54 (1974), 39-51.
class CompensatedSum {
 public:
  void add(double x) {
    const double t = sum_ + x;
    error_ += std::abs(sum_) >= std::abs(x) ? (sum_ - t) + x : (x - t) + sum_;
    sum_ = t;
  }
  double value() const { return sum_ + error_; }

 private:
  double sum_ = 0.0, error_ = 0.0;
};

}  // namespace pb
