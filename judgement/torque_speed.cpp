// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/torque_speed.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numbers>

#include "judgement/evidence.h"
#include "judgement/hand.h"
#include "judgement/motion_scan.h"

namespace pb {
namespace {

// A torque takes a dozen runs, the lag at a rate one: a band is narrower than a curve is bent.
constexpr int kRates = 41, kTorqueEvery = 5;
constexpr double kLowest = 0.25, kHighest = 4.0;  // of the brief's rate
// Detent and the tolerance of the halving: a little more than the motor holds is never carried.
constexpr double kBeyond = 1.1;

double step_rad(const Brief& b) { return 2.0 * std::numbers::pi / b.motor.steps_per_turn; }

double rate_at(const Design& design, int k) {
  return design.brief.motion.rate_steps_s * kLowest *
         std::pow(kHighest / kLowest, static_cast<double>(k) / (kRates - 1));
}

double ramp_steps(const MotionBrief& m) {
  if (!given(m.ramp_steps_s2)) return 0;
  return (square(m.rate_steps_s) - square(m.start_rate_steps_s)) / (2.0 * m.ramp_steps_s2);
}

/// Rotor and rigid load, seen from the rotor.
double inertia_kgm2(const Brief& b) {
  return b.motor.rotor_inertia_kgm2 + b.load.inertia_kgm2 / square(b.load.gear_ratio);
}

double to_output(const Brief& b, double rotor_Nm) {
  return rotor_Nm * b.load.gear_ratio * b.load.gear_efficiency;
}

Design at_rate(const Design& design, double rate_steps_s) {
  Design d = design;
  MotionBrief& m = d.brief.motion;
  if (given(m.start_rate_steps_s))
    m.start_rate_steps_s = std::min(m.start_rate_steps_s, rate_steps_s);
  m.rate_steps_s = rate_steps_s;
  return d;
}

void lag_at(const TorqueTrial& t, RatePoint& out) {
  const Design own = at_rate(t.design, out.rate_steps_s);
  Case c = case_of(own);
  c.dead_time_s = t.dead_time_s;
  const physics::RunFigures f = physics::run(own, c.spreads, physics::typical(c.spreads),
                                             t.temperatures, motion_request(c, own, {}), t.stop);
  if (f.outcome != physics::Outcome::reached_end) return;
  out.lag_step = f.lag_max_step;
  out.lost = f.steps_commanded - f.steps_made;
}

}  // namespace

double standing_torque_Nm(const Brief& b) {
  double current_A = b.supply.voltage_V / b.motor.winding_resistance_ohm;
  if (regulated(b)) current_A = std::min(current_A, regulated_current(b));
  return to_output(b, std::numbers::sqrt2 * motor_constant(b.motor) * current_A);
}

std::optional<bool> carries_on_move(const TorqueTrial& t, const MotionBrief& motion,
                                    double friction_Nm) {
  Design d = t.design;
  d.brief.motion = motion;
  d.brief.load.torque_Nm = friction_Nm;
  d.brief.load.gravity_torque_Nm = 0;
  d.brief.load.end_stop_rad = kNotGiven;
  Case c = case_of(d);
  c.dead_time_s = t.dead_time_s;
  c.steps = static_cast<int>(motion.move_steps);
  const physics::RunFigures f = physics::run(d, c.spreads, physics::typical(c.spreads),
                                             t.temperatures, motion_request(c, d, {}), t.stop);
  if (f.outcome != physics::Outcome::reached_end) return std::nullopt;
  return loses_no_step(f);
}

MotionBrief pull_in_move(const Brief& brief, double rate_steps_s) {
  MotionBrief m = brief.motion;
  m.rate_steps_s = rate_steps_s;
  m.start_rate_steps_s = m.ramp_steps_s2 = kNotGiven;
  m.move_steps = kCruise_steps;
  return m;
}

MotionBrief pull_out_move(const Brief& brief, double rate_steps_s) {
  constexpr double kFromRest_steps_s = 0.1;
  MotionBrief m = brief.motion;
  m.rate_steps_s = rate_steps_s;
  m.start_rate_steps_s = std::min(kFromRest_steps_s, rate_steps_s);
  const double gentle = kInertiaShare * standing_torque_Nm(brief) /
                        to_output(brief, inertia_kgm2(brief) * step_rad(brief));
  m.ramp_steps_s2 = std::max(gentle, square(rate_steps_s) / (2.0 * kLongestRamp_steps));
  m.move_steps = 2.0 * std::ceil(ramp_steps(m)) + kCruise_steps;
  return m;
}

double ramp_torque_Nm(const Brief& brief, const MotionBrief& motion) {
  if (!given(motion.ramp_steps_s2)) return 0;
  return to_output(brief, inertia_kgm2(brief) * step_rad(brief) * motion.ramp_steps_s2);
}

double carried_torque_Nm(const TorqueTrial& t, const MotionBrief& motion) {
  double carried = 0, lost = kBeyond * standing_torque_Nm(t.design.brief);
  const std::optional<bool> unloaded = carries_on_move(t, motion, 0);
  if (!unloaded) return kNotGiven;
  if (!*unloaded) return 0;
  for (int k = 0; k < kTorqueHalvings; ++k) {
    const double middle = 0.5 * (carried + lost);
    const std::optional<bool> carries = carries_on_move(t, motion, middle);
    if (!carries) return kNotGiven;
    (*carries ? carried : lost) = middle;
  }
  return carried;
}

std::optional<ResonanceBand> resonance_band(const std::vector<RatePoint>& points) {
  const int n = static_cast<int>(points.size());
  const auto lag = [&](int k) { return points[static_cast<std::size_t>(k)].lag_step; };
  const auto rate = [&](int k) { return points[static_cast<std::size_t>(k)].rate_steps_s; };
  const auto known = [&](int k) {
    return k >= 0 && k < n && std::isfinite(lag(k)) &&
           points[static_cast<std::size_t>(k)].lost == 0;
  };
  int worst = -1;
  for (int k = 1; k + 1 < n; ++k)
    if (known(k - 1) && known(k) && known(k + 1) && lag(k) >= lag(k - 1) && lag(k) >= lag(k + 1) &&
        (worst < 0 || lag(k) > lag(worst)))
      worst = k;
  if (worst < 0) return std::nullopt;
  const auto valley = [&](int way) {
    double least = lag(worst);
    for (int k = worst; known(k) && lag(k) <= lag(worst); k += way) least = std::min(least, lag(k));
    return least;
  };
  const double foot = std::max(valley(-1), valley(1)), half = 0.5 * (foot + lag(worst));
  constexpr double kStandsOut = 1.1;  // below it is the unevenness of any move
  if (lag(worst) < kStandsOut * foot) return std::nullopt;
  int from = worst, to = worst;
  while (known(from - 1) && lag(from - 1) >= half) --from;
  while (known(to + 1) && lag(to + 1) >= half) ++to;
  return ResonanceBand{rate(from), rate(worst), rate(to)};
}

TorqueSpeed torque_speed(const Design& design, double dead_time_s, const ParallelFor& parallel,
                         const StopToken& stop, const std::function<void(double)>& share) {
  Case c = case_of(design);
  c.dead_time_s = dead_time_s;
  EvidenceWanted wanted;
  wanted.windows = false;
  const physics::Point typical = physics::typical(c.spreads);
  const Evidence heated = gather(c, typical, wanted, stop);
  const bool warm = trouble_of(heated).empty();
  const TorqueTrial trial{design, dead_time_s, heated.move.figures.temperatures, stop};
  const Brief& b = design.brief;
  TorqueSpeed out;
  out.rate_steps_s = b.motion.rate_steps_s;
  out.load_Nm = b.load.torque_Nm + std::abs(b.load.gravity_torque_Nm);
  out.asked_Nm = (1.0 + b.rules.torque_margin) * out.load_Nm;
  out.natural_Hz = checks::Paper(c, typical).natural_Hz();
  out.points.resize(kRates);
  for (int k = 0; k < kRates; ++k)
    out.points[static_cast<std::size_t>(k)].rate_steps_s = rate_at(design, k);
  if (!warm) return out;  // no temperatures to try anything at
  // The torques first: they take longest.
  constexpr std::size_t kTorques = (kRates - 1) / kTorqueEvery + 1, kJobs = 2 * kTorques + kRates;
  std::atomic<int> done{0};
  parallel(kJobs, [&](std::size_t job) {
    if (stop.stop_requested()) return;
    if (job >= 2 * kTorques) {
      lag_at(trial, out.points[job - 2 * kTorques]);
    } else {
      RatePoint& p = out.points[kTorqueEvery * (job / 2)];
      if (job % 2 == 0) {
        const MotionBrief m = pull_out_move(b, p.rate_steps_s);
        p.pull_out_Nm = carried_torque_Nm(trial, m), p.ramp_Nm = ramp_torque_Nm(b, m);
      } else {
        p.pull_in_Nm = carried_torque_Nm(trial, pull_in_move(b, p.rate_steps_s));
      }
    }
    if (share) share(static_cast<double>(++done) / kJobs);
  });
  // What starts at a rate is carried at it, whatever the ramp's inertia took of the other try.
  for (RatePoint& p : out.points)
    if (given(p.pull_out_Nm)) p.pull_out_Nm = std::max(p.pull_out_Nm, p.pull_in_Nm);
  out.resonance = resonance_band(out.points);
  return out;
}

}  // namespace pb
