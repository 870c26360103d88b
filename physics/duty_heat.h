// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Temperatures over a duty cycle that repeats for ever: a move that heats with one power, a hold
// that may follow it with another, a rest with a third, through first-order stages (physics/heat.h
// for a small package). In each a stage follows its exponential, x -> P + (x - P) e, so the cycle
// is closed in one step: with e_k = exp(-t_k/tau),
//   x0 = (P_1 (1 - e_1) e_2 e_3 + P_2 (1 - e_2) e_3 + P_3 (1 - e_3)) / (1 - e_1 e_2 e_3).
// Valid: powers that do not depend on the temperature within the cycle; what a step or an edge adds
// to them is RunFigures' surge. Tested by tests/unit/physics_duty.cpp, judgement_rests.cpp.
#pragma once

#include <array>
#include <map>
#include <optional>
#include <span>
#include <string>

#include "model/brief.h"
#include "physics/board_heat.h"
#include "physics/heat.h"

namespace pb::physics {

/// How long each part of a cycle lasts, in its order.
struct DutyCycle {
  double move_s = 0, hold_s = 0, rest_s = 0;
  double whole_s() const { return move_s + hold_s + rest_s; }
};
struct DutyPowers {
  double move_W = 0, hold_W = 0, rest_W = 0;
};

/// How long a move takes: from the start rate up its ramp, along, and back; at one rate without a
/// ramp.
double move_duration_s(const MotionBrief& motion);

/// Of the moves and rests that a brief speaks of; nothing where it never rests. Only a motor that
/// is let go has a hold of its own, before that (drive_table.h).
std::optional<DutyCycle> cycle_of(const MotionBrief& motion);

/// What stages, with shares that make one, hold `t_s` after the begin of a move: the rise over
/// ambient per K/W of R_th. [W] 0 <= t_s <= whole_s().
double duty_W(const DutyCycle& cycle, const DutyPowers& powers,
              std::span<const ThermalStage> stages, double t_s);
/// The most that they hold: where a power ends.
double hottest_W(const DutyCycle& cycle, const DutyPowers& powers,
                 std::span<const ThermalStage> stages);
inline std::array<double, 3> ends_s(const DutyCycle& c) {
  return {0.0, c.move_s, c.move_s + c.hold_s};
}

/// Of the windings of a small motor with its frame; a quarter of their rise is over the frame, and
/// quick. From memory. [s]
inline constexpr double kMotor_s = 600.0, kCopper_s = 30.0;
inline constexpr std::array<ThermalStage, 1> kBoardStage = {{{1.0, kBoard_s}}};
inline constexpr std::array<ThermalStage, 2> kMotorStages = {{{0.25, kCopper_s}, {0.75, kMotor_s}}};

/// Mean losses of a run: by part, of all on the board, of the windings. [W]
struct Losses {
  std::map<std::string, double> part_W;
  double board_W = 0, windings_W = 0;

  double part(const std::string& ref) const {
    const auto p = part_W.find(ref);
    return p == part_W.end() ? 0.0 : p->second;
  }
};

/// What a drive does between its moves, over and over.
struct Rest {
  DutyCycle cycle;
  Losses held, resting;  // resting: let go, or held on
  bool let_go = false;
  /// Of a drive whose windings take V/R: the windings as hot as they were when held was found.
  /// Copper that is colder takes more current.
  double held_winding_K = kNotGiven;
};

}  // namespace pb::physics
