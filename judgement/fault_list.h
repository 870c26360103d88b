// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The single faults of a design and the situations it may get into, as changes of its circuit and
// the runs that show what becomes of them. Tested by tests/unit/judgement_faults.cpp.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "judgement/evidence.h"

namespace pb {

/// What one that harms nothing amounts to.
enum class Unharmed { as_it_moves, works_on, stops };

struct Situation {
  std::string part, fault;
  std::function<void(physics::Circuit&)> inject;  // may be empty
  Unharmed unharmed = Unharmed::as_it_moves;
  /// A defect of board, motor or leads that is there at power-on: the production test may see it.
  bool defect = false;
  /// The rotor is turned from outside: what it delivers is not the supply's.
  bool driven_by_hand = false;
  std::vector<physics::RunRequest> moving;    // runs through time
  std::vector<physics::RunRequest> standing;  // resting states, with heat for ever
  /// States the program may come to stand in: where power is looked for that a fault can draw.
  std::vector<physics::RunRequest> held;
};

std::vector<Situation> situations_of(const Case& c);

/// Standing in each state of the drive; then, where the wiring has them, braked and off.
std::vector<physics::RunRequest> states_held(const Case& c);
/// The same where a program hangs in them: a chip that measures goes on chopping, at the greatest
/// current of the move; then the plan does not stand still.
std::vector<physics::RunRequest> states_frozen(const Case& c);
/// Steps of a move by every edge where a chopper measures: two electrical cycles, for its currents
/// settle within a step, and each takes hundreds of cycles of its own.
inline constexpr int kMeasuredSteps = 8;
/// The same request; of a hold that is chopped only its first millisecond.
physics::RunRequest briefly(physics::RunRequest r);
/// Whether the design's chip measures and chops, whatever becomes of the program; timers of the
/// controller that chop are part of what hangs.
bool chops_by_itself(const Design& d);
/// Standing with the pins as in reset.
physics::RunRequest held_in_reset(const Case& c);
/// Speed of a rotor turned by hand. Common practice, no source.
inline constexpr double kByHand_rev_s = 5.0;

}  // namespace pb
