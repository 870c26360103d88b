// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/duty_heat.h"

#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "physics/drive_table.h"

namespace pb::physics {

double move_duration_s(const MotionBrief& m) {
  const double low =
      given(m.start_rate_steps_s) ? std::min(m.start_rate_steps_s, m.rate_steps_s) : m.rate_steps_s;
  if (!given(m.ramp_steps_s2) || low >= m.rate_steps_s) return m.move_steps / m.rate_steps_s;
  const double both_ramps = (square(m.rate_steps_s) - square(low)) / m.ramp_steps_s2;
  if (both_ramps <= m.move_steps)
    return 2 * (m.rate_steps_s - low) / m.ramp_steps_s2 +
           (m.move_steps - both_ramps) / m.rate_steps_s;
  const double top = std::sqrt(square(low) + m.move_steps * m.ramp_steps_s2);
  return 2 * (top - low) / m.ramp_steps_s2;
}

std::optional<DutyCycle> cycle_of(const MotionBrief& m) {
  if (!(m.rest_s > 0) || !(m.move_steps > 0)) return std::nullopt;
  const double hold_s = m.hold == "off" ? std::min(hold_before_release(m), m.rest_s) : 0.0;
  return DutyCycle{.move_s = move_duration_s(m), .hold_s = hold_s, .rest_s = m.rest_s - hold_s};
}

namespace {

double stage_W(const DutyCycle& c, const DutyPowers& p, double time_s, double t_s) {
  const std::array<double, 3> lasts_s = {c.move_s, c.hold_s, c.rest_s},
                              power_W = {p.move_W, p.hold_W, p.rest_W};
  const double closed = -std::expm1(-c.whole_s() / time_s);
  double from_none_W = 0, mean_W = 0;  // after a cycle that began with nothing; over all of it
  for (std::size_t k = 0; k < lasts_s.size(); ++k) {
    from_none_W = power_W[k] + (from_none_W - power_W[k]) * std::exp(-lasts_s[k] / time_s);
    mean_W += power_W[k] * lasts_s[k] / c.whole_s();
  }
  constexpr double kShort = 1e-9;  // of such a cycle only the mean is left
  double at_W = closed > kShort ? from_none_W / closed : mean_W;
  for (std::size_t k = 0; k < lasts_s.size() && t_s > 0; ++k) {
    at_W = power_W[k] + (at_W - power_W[k]) * std::exp(-std::min(t_s, lasts_s[k]) / time_s);
    t_s -= lasts_s[k];
  }
  return at_W;
}

}  // namespace

double duty_W(const DutyCycle& c, const DutyPowers& p, std::span<const ThermalStage> stages,
              double t_s) {
  double sum = 0;
  for (const ThermalStage& s : stages) sum += s.share * stage_W(c, p, s.time_s, t_s);
  return sum;
}

double hottest_W(const DutyCycle& c, const DutyPowers& p, std::span<const ThermalStage> stages) {
  double most = 0;
  for (const double t_s : ends_s(c)) most = std::max(most, duty_W(c, p, stages, t_s));
  return most;
}

}  // namespace pb::physics
