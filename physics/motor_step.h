// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Currents of two windings and their rotor under given voltages, step by step: what runs on means
// and on latches share. Motor: physics/devices/motor.h; a rigid load. Source of the step:
// Abramowitz and Stegun, 25.5.10 (classical Runge-Kutta). Tested by tests/slow/chopped_run.cpp.
#pragma once

#include <algorithm>
#include <array>

#include "physics/circuit.h"

namespace pb::physics {

using MotorVector = std::array<double, 4>;  // currents [A], speed [rad/s], angle [rad]

/// `volts(w, i_A)`: across winding w along its own direction.
template <class Volts>
MotorVector motor_slope(const Circuit& c, const MotorVector& x, const Volts& volts) {
  const Rotor& r = c.rotor;
  const MotorTorque m = motor_torque(r, x[0], x[1], x[2], x[3]);
  const double e[2] = {m.e_a_V, m.e_b_V};
  MotorVector out{};
  for (std::size_t w = 0; w < 2; ++w)
    out[w] =
        (volts(w, x[w]) - c.windings[w].resistance_ohm * x[w] - e[w]) / c.windings[w].inductance_H;
  if (r.locked) return out;
  out[2] = (m.electric_Nm - m.detent_Nm - m.friction_Nm - r.viscous_Nms * x[2] - r.gravity_Nm) /
           r.inertia_kgm2;
  out[3] = x[2];
  return out;
}

template <class Volts>
void motor_step(const Circuit& c, double h, const Volts& volts, MotorVector& x) {
  const auto plus = [&](const MotorVector& k, double f) {
    MotorVector y = x;
    for (std::size_t m = 0; m < y.size(); ++m) y[m] += f * k[m];
    return y;
  };
  const auto slope = [&](const MotorVector& y) { return motor_slope(c, y, volts); };
  const MotorVector k1 = slope(x), k2 = slope(plus(k1, 0.5 * h)), k3 = slope(plus(k2, 0.5 * h)),
                    k4 = slope(plus(k3, h));
  for (std::size_t m = 0; m < x.size(); ++m)
    x[m] += h / 6.0 * (k1[m] + 2.0 * k2[m] + 2.0 * k3[m] + k4[m]);
}

/// Short against friction that turns round at standstill, which is the fastest thing here. [s]
inline double longest_motor_step(const Circuit& c) {
  constexpr double kUsual_s = 25e-6, kLeast_s = 0.5e-6;
  const double friction_1_s = c.rotor.friction_Nm / (kFrictionSpeed_rad_s * c.rotor.inertia_kgm2);
  return std::clamp(2.0 / std::max(friction_1_s, 1.0), kLeast_s, kUsual_s);
}

}  // namespace pb::physics
