// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How much load torque the rotor carries, and where in rate, inertia, damping and load it comes
// nearest to losing a step.
#pragma once

#include <optional>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "judgement/run_requests.h"

namespace pb {

/// One run of the scan: the brief's figures times these, and what became of it.
struct ScanPoint {
  double rate = 1, inertia = 1, load = 1, damping = 1;
  double lag_step = 0, lost_steps = 0, end_error_step = 0, peak_a_A = 0, peak_b_A = 0;
};

/// A point of the spread and its temperatures, where the rotor is to be tried. None of these is
/// owned.
struct MotionTrial {
  const Case& c;
  const physics::Point& point;
  const physics::Temperatures& temperatures;
  How how;
  const StopToken& stop;
};

/// The design and a point with the load's torques times `factor`.
Design loaded_design(const Case& c, double factor);
physics::Point loaded_point(const Case& c, physics::Point point, double factor);
bool loses_no_step(const physics::RunFigures& f);

/// The load's torques times this, and no step lost.
bool carries(const MotionTrial& t, double factor);
/// Load torque carried without losing a step, over the load's own; found between the margin asked
/// and four times it. `known`: a factor that matters only if this point carries less. One run tells
/// that it does not, and this is given back.
double torque_factor(const MotionTrial& t, std::optional<double> known);
/// Ends of the box around the brief's figures and the neighbours of its worst; where another point
/// has been scanned, the worst found `there` and its neighbours.
std::vector<ScanPoint> scan(const MotionTrial& t, const std::vector<ScanPoint>& there,
                            const ParallelFor& parallel);

}  // namespace pb
