// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Runs of several units of one design, up to kLanes of them: in lockstep where they can be, one by
// one where not. Which of the two depends on the units alone. Tested by tests/slow/yield.cpp.
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "physics/lanes.h"
#include "physics/run.h"

namespace pb::physics {

/// As run() of each; `at` one a unit, and `rests` if there are any, which then stand for the
/// request's. With motion_only without extremes of what flows and stands.
std::vector<RunFigures> run_units(const Design& design, const std::vector<Spread>& spreads,
                                  std::span<const Point> points, std::span<const Temperatures> at,
                                  const RunRequest& request, const StopToken& stop,
                                  std::span<const std::shared_ptr<const Rest>> rests = {});

/// As run_heated() of each; `start` one a unit, and `rests` if there are any.
std::vector<HeatedRun> run_units_heated(const Design& design, const std::vector<Spread>& spreads,
                                        std::span<const Point> points, const RunRequest& request,
                                        const StopToken& stop, std::span<const Temperatures> start,
                                        std::span<const std::shared_ptr<const Rest>> rests = {});

}  // namespace pb::physics
