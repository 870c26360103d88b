// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Windings and rotor.
#include "judgement/checks_parts.h"

#include <algorithm>
#include <cmath>

#include "physics/assembly.h"
#include "physics/heat.h"

namespace pb::checks {
namespace {

// Beyond two steps of lag the torque of the state that is on pulls the wrong way: Acarnley,
// Stepping Motors, ch. 4.
constexpr double kPullOutLag_step = 2.0;

/// Greatest of one figure over the scan; the starting value where there was none.
template <class F>
double most_of(const Evidence& e, double from, F figure) {
  for (const ScanPoint& s : e.scan) from = std::max(from, figure(s));
  return from;
}

/// The same over the points at the brief's own rate: what changes with the rate is another drive.
template <class F>
double most_at_rate(const Evidence& e, double from, F figure) {
  for (const ScanPoint& s : e.scan)
    if (s.rate == 1.0) from = std::max(from, figure(s));
  return from;
}

/// Then what is carried is pull-in, and below the pull-out that the twin speaks of.
bool starts_at_the_rate(const MotionBrief& m) { return start_rate(m) >= m.rate_steps_s; }

}  // namespace

Rows winding_rms(const Case& c, const Point& p, const Evidence& e) {
  const double rated = c.design.brief.motor.rated_current_A;
  if (!given(rated)) return {};
  // A voltage drive at its highest supply and coldest winding exceeds the rated current by their
  // tolerances; what it does to the motor is judged by winding_temperature.
  const double limit = 1.5 * rated;
  const Hand hand{"V/(R + R_on)", Paper(c, p).winding_A()};
  const RunFigures &move = e.move.figures, &hold = e.hold.figures;
  return {{"a", std::max(move.winding_a.rms_A, hold.winding_a.rms_A), limit, Grade::assumed, hand},
          {"b", std::max(move.winding_b.rms_A, hold.winding_b.rms_A), limit, Grade::assumed, hand}};
}

Rows winding_peak(const Case& c, const Point& p, const Evidence& e) {
  const MotorBrief& m = c.design.brief.motor;
  const double limit = given(m.saturation_current_A) ? m.saturation_current_A
                       : given(m.rated_current_A)    ? 2.0 * m.rated_current_A
                                                     : 0.0;
  if (limit <= 0) return {};
  const Hand hand{"V/(R + R_on); back-EMF that aids adds to it", Paper(c, p).winding_A()};
  return {{"a",
           most_at_rate(e, e.move.figures.winding_a.peak_A,
                        [](const ScanPoint& s) { return s.peak_a_A; }),
           limit, Grade::assumed, hand},
          {"b",
           most_at_rate(e, e.move.figures.winding_b.peak_A,
                        [](const ScanPoint& s) { return s.peak_b_A; }),
           limit, Grade::assumed, hand}};
}

Rows winding_temperature(const Case& c, const Point& p, const Evidence& e) {
  const bool holds = c.design.brief.motion.hold != "off";
  const double move_K = e.move.runaway ? kRunaway_K : e.move.figures.temperatures.winding_K;
  const double hold_K = !holds           ? 0.0
                        : e.hold.runaway ? kRunaway_K
                                         : e.hold.figures.temperatures.winding_K;
  const Paper paper(c, p);
  const double on_W =
      paper.windings() * square(paper.winding_A()) * paper.value("motor.winding_resistance");
  const double loss_W = holds ? on_W : paper.lasting_W(kMotorStages, on_W, on_W);
  const double rth_K_W = c.design.brief.motor.thermal_resistance_K_W,
               cold_ohm = paper.windings() * paper.value("motor.winding_resistance"),
               starts_A = runaway_A(rth_K_W, paper.value("ambient"),
                                    [&](double T_K) { return cold_ohm * copper_ratio(T_K); });
  return {{"windings",
           kelvin_to_celsius(std::max(move_K, hold_K)),
           kelvin_to_celsius(c.design.brief.motor.max_winding_temperature_K),
           Grade::modelled,
           {!holds && cycle_of(c.design.brief.motion) ? "T_a + R_th n I^2 R, over moves and rests"
                                                      : "T_a + R_th n I^2 R",
            kelvin_to_celsius(paper.value("ambient") + rth_K_W * loss_W)},
           {{"runaway_A", starts_A}}}};
}

Rows torque_margin(const Case& c, const Point& p, const Evidence& e) {
  if (!e.torque_factor) return {};
  if (c.design.brief.load.torque_Nm <= 0 && c.design.brief.load.gravity_torque_Nm == 0) return {};
  const Paper paper(c, p);
  Hand hand;
  if (paper.load_Nm() > 0)
    hand = {"pull-out: (K V1/Z - K^2 w R/Z^2)/T_load - 1, V1 = 4 V/pi",
            paper.pull_out_Nm() / paper.load_Nm() - 1.0};
  return {{"rotor",
           *e.torque_factor - 1.0,
           c.design.brief.rules.torque_margin,
           Grade::modelled,
           std::move(hand),
           {{"started_without_ramp_1", starts_at_the_rate(c.design.brief.motion) ? 1.0 : 0.0}}}};
}

Rows start_rate_check(const Case& c, const Point& p, const Evidence& e) {
  return {{"rotor",
           e.move.figures.lag_max_step,
           kPullOutLag_step,
           Grade::modelled,
           {"at rest: asin(T/T_h) 2/pi", Paper(c, p).static_lag_step()}}};
}

Rows resonance(const Case& c, const Point& p, const Evidence& e) {
  if (e.scan.empty()) return {};
  const ScanPoint worst = *std::max_element(
      e.scan.begin(), e.scan.end(),
      [](const ScanPoint& a, const ScanPoint& b) { return a.lag_step < b.lag_step; });
  return {{"rotor",
           worst.lag_step,
           kPullOutLag_step,
           Grade::modelled,
           {},
           {{"natural_frequency_by_hand_Hz", Paper(c, p).natural_Hz()},
            {"rate_factor_1", worst.rate},
            {"inertia_factor_1", worst.inertia},
            {"load_factor_1", worst.load},
            {"damping_factor_1", worst.damping}}}};
}

Rows lost_steps(const Case&, const Point&, const Evidence& e) {
  const double moved = std::abs(e.move.figures.steps_commanded - e.move.figures.steps_made);
  return {{"rotor", most_of(e, moved, [](const ScanPoint& s) { return s.lost_steps; }), 0.5,
           Grade::modelled}};
}

Rows end_position(const Case& c, const Point& p, const Evidence& e) {
  const double own = std::abs(e.move.figures.end_error_step);
  return {{"rotor",
           most_of(e, own, [](const ScanPoint& s) { return s.end_error_step; }),
           0.5,
           Grade::modelled,
           {"asin(T/T_h) 2/pi", Paper(c, p).static_lag_step()}}};
}

Rows rest_position(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.settle_error_step), 1.5, Grade::modelled}};
}

}  // namespace pb::checks
