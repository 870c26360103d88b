// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where a chopped drive's heat ends when it holds for ever, from a few of its periods: what stand()
// of physics/run.h is to a drive that is not chopped. Both windings at the mean current their duty
// makes flow, one period simulated at a time, until current and temperatures follow from it. The
// hold of every edge it is held against: tests/slow/chopped_hold.cpp.
#pragma once

#include "physics/drive_table.h"
#include "physics/run.h"

namespace pb::physics {

/// Losses of parts and windings and the temperatures they lead to; nothing else is in the figures.
/// `table`: of a hold that drives both windings alike, else, or where a period does not end, the
/// result is neither consistent nor a runaway.
HeatedRun hold_chopped(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                       const DriveTable& table, const StopToken& stop = {});

}  // namespace pb::physics
