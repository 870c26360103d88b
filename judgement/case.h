// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design about to be proven: what stays the same over all runs of its proof, and the move that is
// run.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "model/design.h"
#include "physics/drive_table.h"
#include "physics/run.h"

namespace pb {

/// What stays the same over a proof.
struct Case {
  const Design& design;
  std::vector<physics::Spread> spreads;
  double dead_time_s = 0;
  int steps = 16;                                   // of the move that is run
  std::string hold_flow;                            // the state a frozen program stands in
  physics::DriveEdit drive_edit{};                  // see ProofOptions
  std::shared_ptr<physics::PeriodStore> periods{};  // of a chopped drive: see RunRequest
};

/// What goes on between the brief's moves: `held` at that point and then, unless the brief holds
/// on, let go. Null where it never rests.
std::shared_ptr<const physics::Rest> rest_of(const Case& c, const physics::Point& point,
                                             const physics::HeatedRun& held);

/// The state in which a program of this sequence freezes: with both windings on, if it has one.
std::string hold_flow_of(const std::string& sequence);
/// Without the dead time, which standing still does not need.
Case case_of(const Design& design);
/// The settings' dead time, else the computed one; NaN if a switch never turns off.
double dead_time_of(const Case& c);
/// The drive code's tables as they are run: for the case's design, or for one with other figures.
physics::DriveTable table_of(const Case& c, const Design& d);
/// A shorter move than the brief's, to the same end.
physics::Plan planned(const Case& c, const Design& d, const physics::DriveTable& table);
/// The move that is run: what the drive code does with the design's tables.
physics::Plan move_plan(const Case& c);

}  // namespace pb
