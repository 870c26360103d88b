// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A run with somebody looking on: probes that the figures of a run have no place for. Tested by
// tests/unit/physics_net_current.cpp.
#pragma once

#include <functional>
#include <vector>

#include "physics/run.h"
#include "physics/system.h"

namespace pb::physics {

/// Sees every accepted step, and a resting state once; readings are in the system.
using Watch = std::function<void(const System& system, double t_s, const std::vector<double>& x)>;

/// As run() and stand() of physics/run.h.
RunFigures watched_run(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                       const Temperatures& temperatures, const RunRequest& request,
                       const Watch& watch, const StopToken& stop = {});
RunFigures watched_stand(const Design& design, const std::vector<Spread>& spreads,
                         const Point& point, const Temperatures& temperatures,
                         const RunRequest& request, const Watch& watch);

/// Between which times a run of this plan takes its means.
struct MeanSpan {
  double from_s = 0, to_s = 0;
};
MeanSpan means_of(const Plan& plan);

}  // namespace pb::physics
