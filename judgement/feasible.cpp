// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/feasible.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/math.h"

namespace pb {

std::optional<Impossible> impossible(const Brief& brief) {
  const MotorBrief& m = brief.motor;
  const LoadBrief& l = brief.load;
  constexpr double kStatesACycle = 4;
  const double w = brief.motion.rate_steps_s * 2.0 * kPi / m.steps_per_turn;
  const double v1 = 4.0 / kPi * brief.supply.voltage_V * (1.0 + brief.supply.tolerance);
  const double r = m.winding_resistance_ohm * (1.0 - m.resistance_tolerance);
  const double x = 2.0 * kPi / kStatesACycle * brief.motion.rate_steps_s * m.winding_inductance_H *
                   (1.0 - m.inductance_tolerance);
  const double z = std::hypot(r, x);
  const double load =
      (l.torque_Nm / l.gear_efficiency + std::abs(l.gravity_torque_Nm)) / l.gear_ratio;
  // Greatest at one K: the ends of its tolerance and its middle tell enough.
  double most = -std::numeric_limits<double>::infinity();
  for (double scale : {1.0 - m.torque_tolerance, 1.0, 1.0 + m.torque_tolerance}) {
    const double k = motor_constant(m) * scale;
    most = std::max(most, k * v1 / z - k * k * w * r / (z * z));
  }
  if (most > load) return std::nullopt;
  return Impossible{
      "motion.rate",
      "at this rate the winding's impedance and back-EMF leave less torque than the load asks, "
      "even from a driver without loss"};
}

}  // namespace pb
