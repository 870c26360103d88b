// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The runs a proof asks the engine for: the move, the hold, and what stands still.
#pragma once

#include "judgement/case.h"
#include "physics/drive_table.h"

namespace pb {

/// How a run is made: chopped drives go by means; where every edge is asked for, what is lost and
/// flows in their window is of edges, and a rotor under way goes by edges throughout.
struct How {
  double tolerance = 1;
  bool every_edge = false;
};

/// The move that is run, of the case's design or of one with other figures.
physics::RunRequest move_request(const Case& c, const Design& d, const How& how);
/// A move of which only how the rotor goes and what flows in the windings is asked for.
physics::RunRequest motion_request(const Case& c, const Design& d, const How& how);
/// As holding_request, on means where that is allowed.
physics::RunRequest holding_as(const Case& c, const How& how);

/// Permanent hold as the program does it: regulated where the brief asks for it.
physics::RunRequest holding_request(const Case& c, double tolerance);

/// A move of the design as it is: latch by latch where it measures its current and that tier knows
/// it, else as the request says.
physics::RunRequest on_latches(const Case& c, physics::RunRequest r);

/// Standing in the hold state with the pins frozen there.
physics::RunRequest standing_request(const Case& c, const physics::PowerUp& power, double hold_s,
                                     double tolerance);

}  // namespace pb
