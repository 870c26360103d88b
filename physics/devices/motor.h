// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two-phase permanent-magnet or hybrid stepper motor:
//   e_A = -K w sin(N th), e_B = K w cos(N th);  L di/dt = v - R i - e
//   J dw/dt = K (i_B cos(N th) - i_A sin(N th)) - T_d sin(4 N th) - B w - T_f tanh(w/w_f) - T_g
// Source: P. Acarnley, Stepping Motors, 4th ed., IET 2002 (model); signs fixed by e_A i_A + e_B i_B
// = T w, which a test holds to. Valid: unsaturated, no iron loss, sinusoidal back-EMF, rigid load.
// Tested by tests/unit/physics_motor.cpp.
#pragma once

#include <cmath>

namespace pb::physics {

struct Rotor {
  double teeth = 50, motor_constant_Vs = 0.1, inertia_kgm2 = 1e-6, viscous_Nms = 0, detent_Nm = 0;
  double friction_Nm = 0, gravity_Nm = 0;
  bool locked = false;
};

/// Speed at which the friction torque has reached 76 % of its value: Coulomb friction smoothed for
/// the solver.
inline constexpr double kFrictionSpeed_rad_s = 0.05;

struct MotorTorque {
  double e_a_V, e_b_V, electric_Nm, detent_Nm, friction_Nm;
};

inline MotorTorque motor_torque(const Rotor& r, double i_a_A, double i_b_A, double w_rad_s,
                                double th_rad) {
  const double s = std::sin(r.teeth * th_rad), c = std::cos(r.teeth * th_rad),
               k = r.motor_constant_Vs;
  return {-k * w_rad_s * s, k * w_rad_s * c, k * (i_b_A * c - i_a_A * s),
          r.detent_Nm * 4.0 * s * c * (c * c - s * s),
          r.friction_Nm * std::tanh(w_rad_s / kFrictionSpeed_rad_s)};
}

}  // namespace pb::physics
