// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Round copper wire: size, resistance, warming in still air.
//   diameter    d = 0.127 mm 92^((36 - n)/39)                     ASTM B258
//   resistance  rho20 (1 + a20 (T - 20 degC)) / area              IEC 60028:1925
//   warming     I^2 R'(T) = pi d (h + h_r)(T - T_a)
//     h = Nu k/d, Nu^(1/2) = 0.60 + 0.387 Ra^(1/6) / (1 + (0.559/Pr)^(9/16))^(8/27)
//     h_r = e s (T^4 - T_a^4)/(T - T_a), e = 0.9
// Source of Nu: S. Churchill, H. Chu, Int. J. Heat Mass Transfer 18, 1975, 1049-1053 (1e-5 < Ra <
// 1e12). Valid: one horizontal wire alone in still air, 250 to 450 K. The insulation is left out:
// thin plastic makes the surface greater and the wire cooler. Air from memory, as power laws about
// 300 K. Tested by tests/unit/physics_copper.cpp.
#pragma once

#include <cmath>
#include <numbers>

namespace pb::physics {

inline constexpr double kCopper20_ohm_m = 1e-6 / 58.0, kCopperAlpha20_1_K = 0.00393;

inline double awg_diameter_m(double gauge) {
  return 0.127e-3 * std::pow(92.0, (36.0 - gauge) / 39.0);
}
inline double awg_area_m2(double gauge) {
  const double d = awg_diameter_m(gauge);
  return 0.25 * std::numbers::pi * d * d;
}
/// Of copper of this cross-section at T_K. [ohm/m]
inline double copper_ohm_per_m(double area_m2, double T_K) {
  return kCopper20_ohm_m * (1.0 + kCopperAlpha20_1_K * (T_K - 293.15)) / area_m2;
}

/// Still air at T_K and sea level.
struct Air {
  double conductivity_W_mK, viscosity_m2_s, diffusivity_m2_s;
};
inline Air air_at(double T_K) {
  const double t = T_K / 300.0;
  return {0.0263 * std::pow(t, 0.83), 15.9e-6 * std::pow(t, 1.78), 22.5e-6 * std::pow(t, 1.83)};
}

/// Mean film coefficient of a horizontal cylinder. [W/(m2 K)]
inline double cylinder_film_W_m2K(double diameter_m, double surface_K, double air_K) {
  constexpr double kGravity_m_s2 = 9.80665;
  const double film_K = 0.5 * (surface_K + air_K);
  const Air a = air_at(film_K);
  const double ra = kGravity_m_s2 / film_K * std::abs(surface_K - air_K) * std::pow(diameter_m, 3) /
                    (a.viscosity_m2_s * a.diffusivity_m2_s),
               pr = a.viscosity_m2_s / a.diffusivity_m2_s;
  const double root = 0.60 + 0.387 * std::pow(ra, 1.0 / 6.0) /
                                 std::pow(1.0 + std::pow(0.559 / pr, 9.0 / 16.0), 8.0 / 27.0);
  return root * root * a.conductivity_W_mK / diameter_m;
}
inline double radiated_W_m2(double surface_K, double air_K) {
  constexpr double kStefan_W_m2K4 = 5.670374419e-8, kEmissivity = 0.9;
  return kEmissivity * kStefan_W_m2K4 * (std::pow(surface_K, 4) - std::pow(air_K, 4));
}

/// Temperature [K] at which a wire gives away what current_A heats it by; by bisection up to 600 K,
/// beyond which it is 600 K.
inline double wire_temperature_K(double gauge, double current_A, double air_K) {
  const double d = awg_diameter_m(gauge), area = awg_area_m2(gauge);
  const auto surplus_W_m = [&](double T_K) {
    const double given_W_m2 =
        cylinder_film_W_m2K(d, T_K, air_K) * (T_K - air_K) + radiated_W_m2(T_K, air_K);
    return current_A * current_A * copper_ohm_per_m(area, T_K) - std::numbers::pi * d * given_W_m2;
  };
  double low = air_K, high = 600.0;
  if (surplus_W_m(high) > 0) return high;
  constexpr int kHalvings = 40;
  for (int k = 0; k < kHalvings; ++k) {
    const double middle = 0.5 * (low + high);
    (surplus_W_m(middle) > 0 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace pb::physics
