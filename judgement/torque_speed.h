// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The torque a design carries over the step rate, from rest and up a ramp, and how far the rotor
// lags on the way: what a torque-speed diagram shows. By simulation at typical values, at the heat
// of the brief's own move. Tested by tests/unit/judgement_torque_speed.cpp.
//
// Pull-in: the greatest friction at the output shaft with which the motor starts from rest at a
// rate, goes on and stops, without any ramp, and loses no step. Pull-out: the same at the end of a
// ramp so gentle that the inertia takes little (kInertiaShare of what the motor holds; of a ramp
// that would be longer than kLongestRamp_steps more, and then ramp_Nm says how much). Both are
// found by halving between nothing and somewhat more than the motor holds, so they are a
// kTorqueHalvings-th power of 1/2 of that too low at most; where a resonance loses steps at one
// load and not at a heavier one, they are one of the ends.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "model/brief.h"
#include "model/design.h"
#include "physics/assembly.h"

namespace pb {

/// What a design does at a rate. Torques at the output shaft, at every fifth rate; not given where
/// none was looked for. Lag and steps lost are of the brief's own load, start and ramp.
struct RatePoint {
  double rate_steps_s = 0, pull_in_Nm = kNotGiven, pull_out_Nm = kNotGiven, ramp_Nm = kNotGiven,
         lag_step = kNotGiven, lost = kNotGiven;
};

/// Rates between which the rotor's greatest lag is above half of a peak's height over its foot.
struct ResonanceBand {
  double from_steps_s = 0, worst_steps_s = 0, to_steps_s = 0;
};
/// The band about the highest lag that has lower ones on both sides; none if no lag stands out.
/// Rates that lose steps bound it. `points` in rising order of rate.
std::optional<ResonanceBand> resonance_band(const std::vector<RatePoint>& points);

struct TorqueSpeed {
  double rate_steps_s = 0, load_Nm = 0;  // the working point; the load without any margin
  double asked_Nm = 0;                   // the load with the margin that the brief asks
  double natural_Hz = kNotGiven;         // by hand
  std::vector<RatePoint> points;         // from a quarter to four times the brief's rate, rising
  std::optional<ResonanceBand> resonance;
};

/// `design` at this dead time and these temperatures, at typical values. None of these is owned.
struct TorqueTrial {
  const Design& design;
  double dead_time_s;
  const physics::Temperatures& temperatures;
  const StopToken& stop;
};

/// What the motor holds with both windings on, at the output shaft: sqrt(2) K I. [N m]
double standing_torque_Nm(const Brief& brief);

inline constexpr double kInertiaShare = 0.03;
inline constexpr double kLongestRamp_steps = 200;
// A rotor that falls out does so within a few swings: common practice, no source.
inline constexpr double kCruise_steps = 24;
inline constexpr int kTorqueHalvings = 7;

/// Whether the design would carry this friction on a move with this start, ramp and length; nothing
/// where its run does not end.
std::optional<bool> carries_on_move(const TorqueTrial& t, const MotionBrief& motion,
                                    double friction_Nm);
/// The move of either curve at a rate.
MotionBrief pull_in_move(const Brief& brief, double rate_steps_s);
MotionBrief pull_out_move(const Brief& brief, double rate_steps_s);
/// What the inertia takes of the motor's torque on the ramp, at the output shaft. [N m]
double ramp_torque_Nm(const Brief& brief, const MotionBrief& motion);
/// The greatest friction that this move carries; not given where a run does not end. [N m]
double carried_torque_Nm(const TorqueTrial& t, const MotionBrief& motion);

/// `share` is told how much is done, 0 to 1.
TorqueSpeed torque_speed(const Design& design, double dead_time_s, const ParallelFor& parallel,
                         const StopToken& stop, const std::function<void(double)>& share = {});

}  // namespace pb
