// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A ramp for a brief that gives none and asks for a rate its motor does not reach from rest. Found
// by simulating motor and load alone, on a driver without loss, before any driver is known; what is
// found is proven with every driver as a given ramp would be. Tested by
// tests/unit/judgement_ramp_choice.cpp.
//
// Motor: physics/devices/motor.h, stepped by physics/motor_step.h; load rigid, at the ends of its
// tolerances and of the proof's scan that are hardest to move, its torques times 1 + the margin
// asked, supply, winding and torque constant at their weakest, the winding as hot as V/R in both
// makes it (never above its limit). A state's windings have the whole supply across them, or none
// while their current is above a regulated drive's; one that is off is emptied into the supply. A
// step counts as kept while the rotor lags by no more than two, and ends within half a step, as
// Acarnley, Stepping Motors, 4th ed. 2002, ch. 4. Left out: backlash, end stop, iron loss, the
// driver's drops; for those, and for what the proof scans about the brief, there are kStartReserve
// and kRampReserve.
#pragma once

#include <optional>

#include "model/brief.h"

namespace pb {

struct RampChoice {
  double start_rate_steps_s = 0, ramp_steps_s2 = 0;
};

/// Shares of the greatest start rate and of the steepest ramp that lose no step: common practice,
/// no source.
inline constexpr double kStartReserve = 0.7, kRampReserve = 0.5;

/// Nothing where the brief gives a start rate or a ramp, where the motor starts at the rate asked,
/// and where no ramp gets it there.
std::optional<RampChoice> choose_ramp(const Brief& brief);

}  // namespace pb
