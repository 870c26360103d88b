// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A run of a chopped drive on means over its periods (mean_drive.h): where the motor is, what flows
// and what every part loses comes from them. Simulated edge by edge are only a few periods: at each
// winding's greatest current, about the ends of its drive in either direction, the way from the
// hold to rest, and of a hold the last tenth. Tested by tests/slow/chopped_run.cpp against
// run() of every edge.
#pragma once

#include "physics/run.h"

namespace pb::physics {

/// Whether a design's chopping has means worth the name. Not where every period returns current to
/// the supply: one that cannot take it lets the rail float, which no single period settles.
bool has_means(const Design& design);

/// As run(), with request.on_means given; request.alter is not used, request.record only where the
/// window goes by edges. Extremes are those of the periods simulated; the ledger is theirs.
RunFigures run_chopped(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                       const Temperatures& temperatures, const RunRequest& request,
                       const StopToken& stop = {});

}  // namespace pb::physics
