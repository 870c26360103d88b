// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopped motor without its every period: currents and rotor over a plan, on what a period means
// (period_means.h). Valid where the rotor, too, is slow against the chopping. Tested by
// tests/slow/chopped_run.cpp.
#pragma once

#include <functional>
#include <vector>

#include "physics/held_state.h"
#include "physics/period_means.h"
#include "physics/plan.h"

namespace pb::physics {

/// What a stretch of the motion was made of.
struct MeanStretch {
  double from_s = 0, to_s = 0;
  std::vector<double> shares;  // [s] of each point of the means
  double i2_A2s[2] = {0, 0}, shaft_J = 0;
};

/// The motor over a plan, on the means: states at the ends of the plan's states and at the times
/// asked for (rising), and the moments of most current in either winding. `each` sees every stretch
/// from t = 0 on; one ends with every state and at every time asked for. May be empty.
struct MeanMotion {
  std::vector<MotorState> ends, asked;
  MotorState most[2];
  double rms_A = 0;  // of both windings, from t = 0 on
};
MeanMotion mean_motion(const Circuit& motor, const Plan& plan, const DriveTable& table,
                       const PeriodMeans& means, double supply_V,
                       const std::vector<double>& times_s,
                       const std::function<void(const MeanStretch&)>& each);

/// The windings' rms current over such a motion if switches dropped nothing: what a period means is
/// then its duty's share of the supply. [A]
double ideal_rms_A(const Circuit& motor, const Plan& plan, const DriveTable& table,
                   double supply_V);

}  // namespace pb::physics
