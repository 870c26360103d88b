// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopped motor without its every period: currents and rotor over a plan, on what a period means
// (period_means.h). Valid where the rotor, too, is slow against the chopping. Tested by
// tests/slow/chopped_run.cpp.
#pragma once

#include <cmath>
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
  double pulses_A2s = 0;  // out of what lies across the rail, while it is lifted
};

/// The rail of a motor on means. A supply that takes nothing back lets what a winding returns lift
/// it, until windings have drawn that again.
struct MeanRail {
  double supply_V = 0;
  double capacitance_F = HUGE_VAL;  // of all that lies across it
  double most_lift_V = HUGE_VAL;    // to where a clamp begins, or to twice the supply
  /// Resistances of capacitors, and what share of the rail's current they bear.
  struct Bulk {
    std::size_t resistor;
    double share;
  };
  std::vector<Bulk> bulk;
};
/// `sinks`: the supply takes back what comes.
MeanRail mean_rail(const Circuit& circuit, double supply_V, bool sinks);

/// The motor over a plan, on the means: states at the ends of the plan's states and at the times
/// asked for (rising), and the moments of most current in either winding. `each` sees every stretch
/// from t = 0 on; one ends with every state and at every time asked for. May be empty.
struct MeanMotion {
  std::vector<MotorState> ends, asked;
  MotorState most[2];
  double rms_A = 0;  // of both windings, from t = 0 on
};
MeanMotion mean_motion(const Circuit& motor, const Plan& plan, const DriveTable& table,
                       const PeriodMeans& means, const MeanRail& rail,
                       const std::vector<double>& times_s,
                       const std::function<void(const MeanStretch&)>& each);

/// What the current of a winding driven with this share does about its mean over a period far below
/// L/R, a triangle: from valley to peak, and, along the drive, so long after the first one began.
/// [A]
double ripple_A(const Circuit& motor, const DriveTable& table, double supply_V, std::size_t winding,
                double duty);
double above_mean_A(const Circuit& motor, const DriveTable& table, double supply_V,
                    std::size_t winding, double duty, double since_s);

/// The windings' rms current over such a motion if switches dropped nothing: what a period means is
/// then its duty's share of the supply. [A]
double ideal_rms_A(const Circuit& motor, const Plan& plan, const DriveTable& table,
                   double supply_V);

}  // namespace pb::physics
