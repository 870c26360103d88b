// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What follows from the brief's figures.
#include <cmath>
#include <numbers>

#include "model/brief.h"

namespace pb {

double holding_torque(const MotorBrief& m, double constant_Vs, double current_A) {
  if (!given(m.saturation_current_A)) return constant_Vs * current_A;
  const double teeth = rotor_teeth(m), per_A = 1.0 / m.saturation_current_A,
               magnet = constant_Vs / (teeth * m.winding_inductance_H) * per_A,
               coil_H = m.winding_inductance_H * std::hypot(1.0, magnet), i = current_A * per_A;
  // sqrt(1 + (i + m)^2) - sqrt(1 + (i - m)^2), without the difference.
  const double sum = std::hypot(1.0, i + magnet) + std::hypot(1.0, i - magnet);
  return 0.5 * teeth * coil_H / (per_A * per_A) * 4.0 * i * magnet / sum;
}

double motor_constant(const MotorBrief& m) {
  if (given(m.back_emf_constant_Vs)) return m.back_emf_constant_Vs;
  const double amps = std::numbers::sqrt2 * m.rated_current_A, linear = m.holding_torque_Nm / amps;
  if (!given(m.saturation_current_A)) return linear;
  const auto reaches = [&](double k) { return holding_torque(m, k, amps) >= m.holding_torque_Nm; };
  constexpr int kDoublings = 60, kHalvings = 60;
  double low = linear, high = linear;
  for (int k = 0; k < kDoublings && !reaches(high); ++k) low = high, high *= 2.0;
  for (int k = 0; k < kHalvings; ++k) {
    const double middle = 0.5 * (low + high);
    (reaches(middle) ? high : low) = middle;
  }
  return high;
}

double contact_stiffness(const Brief& b, double given_Nm_rad) {
  if (given(given_Nm_rad)) return given_Nm_rad;
  constexpr double kTimes = 100.0;  // a holding torque presses it by 0.006 of a step
  const double amps = given(b.motor.rated_current_A)
                          ? b.motor.rated_current_A
                          : b.supply.voltage_V / b.motor.winding_resistance_ohm;
  return kTimes * rotor_teeth(b.motor) * motor_constant(b.motor) * std::numbers::sqrt2 * amps *
         b.load.gear_ratio * b.load.gear_ratio * b.load.gear_efficiency;
}

double contact_restitution(double given_1) {
  constexpr double kUsual = 0.5;
  return given(given_1) ? given_1 : kUsual;
}

double regulated_current(const Brief& b) {
  return given(b.regulation.current_A) ? b.regulation.current_A : b.motor.rated_current_A;
}

double start_rate(const MotionBrief& m) {
  return given(m.start_rate_steps_s) ? m.start_rate_steps_s : m.rate_steps_s;
}

}  // namespace pb
