// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Temperatures over a duty cycle that repeats for ever: a move that heats with one power, a rest
// that heats with another, through first-order stages (physics/heat.h for a small package). Between
// the two each stage follows its exponential, so the cycle is closed in one step:
//   x0 = (P_r (1 - b) + b P_m (1 - a)) / (1 - a b),  a = exp(-t_m/tau), b = exp(-t_r/tau).
// Valid: powers that do not depend on the temperature within the cycle; what a step or an edge adds
// to them is RunFigures' surge. Tested by tests/unit/physics_duty.cpp.
#pragma once

#include <cmath>
#include <span>

#include "model/brief.h"
#include "physics/heat.h"

namespace pb::physics {

struct DutyCycle {
  double move_s = 0, rest_s = 0;
  double move_W = 0, rest_W = 0;
};

/// How long a move takes: from the start rate up its ramp, along, and back; at one rate without a
/// ramp.
inline double move_duration_s(const MotionBrief& m) {
  const double low =
      given(m.start_rate_steps_s) ? std::min(m.start_rate_steps_s, m.rate_steps_s) : m.rate_steps_s;
  if (!given(m.ramp_steps_s2) || low >= m.rate_steps_s) return m.move_steps / m.rate_steps_s;
  const double both_ramps = (m.rate_steps_s * m.rate_steps_s - low * low) / m.ramp_steps_s2;
  if (both_ramps <= m.move_steps)
    return 2 * (m.rate_steps_s - low) / m.ramp_steps_s2 +
           (m.move_steps - both_ramps) / m.rate_steps_s;
  const double top = std::sqrt(low * low + m.move_steps * m.ramp_steps_s2);
  return 2 * (top - low) / m.ramp_steps_s2;
}

/// What the stage of time constant `time_s` holds `t_s` after the begin of a move, in W: its rise
/// over ambient is that times its share of R_th. 0 <= t_s <= move_s + rest_s.
inline double stage_W(const DutyCycle& c, double time_s, double t_s) {
  const double a = std::exp(-c.move_s / time_s), b = std::exp(-c.rest_s / time_s);
  const double closed = 1.0 - a * b;
  // Over a cycle much shorter than the stage its power is the mean.
  const double mean = (c.move_W * c.move_s + c.rest_W * c.rest_s) / (c.move_s + c.rest_s);
  const double begin = closed > 0 ? (c.rest_W * (1 - b) + b * c.move_W * (1 - a)) / closed : mean;
  if (t_s <= c.move_s) return c.move_W + (begin - c.move_W) * std::exp(-t_s / time_s);
  const double top = c.move_W + (begin - c.move_W) * a;
  return c.rest_W + (top - c.rest_W) * std::exp(-(t_s - c.move_s) / time_s);
}

/// The same of stages with shares that make one: the rise over ambient per K/W of R_th.
inline double duty_W(const DutyCycle& c, std::span<const ThermalStage> stages, double t_s) {
  double sum = 0;
  for (const ThermalStage& s : stages) sum += s.share * stage_W(c, s.time_s, t_s);
  return sum;
}

}  // namespace pb::physics
