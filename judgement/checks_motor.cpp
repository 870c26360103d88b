// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Windings and rotor.
#include "judgement/checks_parts.h"

#include <algorithm>
#include <cmath>

namespace pb::checks {
namespace {

// Beyond two steps of lag the torque of the state that is on pulls the wrong way: Acarnley,
// Stepping Motors, ch. 4.
constexpr double kPullOutLag_step = 2.0;

}  // namespace

Rows winding_rms(const Case& c, const Point& p, const Evidence& e) {
  const double rated = c.design.brief.motor.rated_current_A;
  if (!given(rated)) return {};
  // A voltage drive at its highest supply and coldest winding exceeds the rated current by their
  // tolerances; what it does to the motor is judged by winding_temperature.
  const double limit = 1.5 * rated;
  return {{"a",
           std::max(e.move.figures.winding_a.rms_A, e.hold.figures.winding_a.rms_A),
           limit,
           Grade::assumed,
           {"V/R", current_by_hand(c, p)}},
          {"b",
           std::max(e.move.figures.winding_b.rms_A, e.hold.figures.winding_b.rms_A),
           limit,
           Grade::assumed,
           {"V/R", current_by_hand(c, p)}}};
}

Rows winding_peak(const Case& c, const Point& p, const Evidence& e) {
  const MotorBrief& m = c.design.brief.motor;
  const double limit = given(m.saturation_current_A) ? m.saturation_current_A
                       : given(m.rated_current_A)    ? 2.0 * m.rated_current_A
                                                     : 0.0;
  if (limit <= 0) return {};
  return {
      {"a", e.move.figures.winding_a.peak_A, limit, Grade::assumed, {"V/R", current_by_hand(c, p)}},
      {"b",
       e.move.figures.winding_b.peak_A,
       limit,
       Grade::assumed,
       {"V/R", current_by_hand(c, p)}}};
}

Rows winding_temperature(const Case& c, const Point&, const Evidence& e) {
  const bool holds = c.design.brief.motion.hold == "on";
  const double move_K = e.move.runaway ? kRunaway_K : e.move.figures.temperatures.winding_K;
  const double hold_K = !holds           ? 0.0
                        : e.hold.runaway ? kRunaway_K
                                         : e.hold.figures.temperatures.winding_K;
  return {{"windings", kelvin_to_celsius(std::max(move_K, hold_K)),
           kelvin_to_celsius(c.design.brief.motor.max_winding_temperature_K), Grade::modelled}};
}

Rows torque_margin(const Case& c, const Point&, const Evidence& e) {
  if (e.torque_factor <= 0 && !e.has_windows) return {};
  if (c.design.brief.load.torque_Nm <= 0 && c.design.brief.load.gravity_torque_Nm == 0) return {};
  if (e.scan_lag_step.empty() && e.torque_factor == 0) return {};
  return {{"rotor", e.torque_factor - 1.0, c.design.brief.rules.torque_margin, Grade::modelled}};
}

Rows start_rate_check(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", e.move.figures.lag_max_step, kPullOutLag_step, Grade::modelled}};
}

Rows resonance(const Case&, const Point&, const Evidence& e) {
  if (e.scan_lag_step.empty()) return {};
  return {{"rotor", *std::max_element(e.scan_lag_step.begin(), e.scan_lag_step.end()),
           kPullOutLag_step, Grade::modelled}};
}

Rows lost_steps(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.steps_commanded - e.move.figures.steps_made) * 1.0, 0.5,
           Grade::modelled}};
}

Rows end_position(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.end_error_step), 0.5, Grade::modelled}};
}

Rows rest_position(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.settle_error_step), 1.5, Grade::modelled}};
}

}  // namespace pb::checks
