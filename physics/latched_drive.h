// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A motor behind choppers that measure, latch by latch but not edge by edge: currents and rotor
// over a plan, with what lies across a winding in each mode of its latch from simulated cycles
// (chop_cycle.h), and the latch's own law (devices/chopper.h) between. What an edge's course is
// worth in volt seconds the current gains or loses at the edge's moment. Valid where all is settled
// when the comparator first counts and where edges last short against the cycle; currents through
// diodes do not turn round. Tested by tests/slow/latched_run.cpp against every edge.
#pragma once

#include <functional>
#include <vector>

#include "physics/mean_drive.h"

namespace pb::physics {

/// As mean_motion(), of a plan that measures; the means must be of such a drive. Currents are those
/// of the moment, not means.
MeanMotion latched_motion(const Circuit& motor, const Plan& plan, const Design& design,
                          double logic_V, double supply_V, const PeriodMeans& means,
                          const std::vector<double>& times_s,
                          const std::function<void(const MeanStretch&)>& each);

}  // namespace pb::physics
