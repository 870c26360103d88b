// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One cycle of a chopper that measures, at held currents: driven for a given time, then the decay
// of its law, edge by edge. Of the winding looked at it also tells what lies across it in each of
// the latch's modes, from which latched_drive.h makes its way through a move. Tested by
// tests/slow/latched_run.cpp.
#pragma once

#include <array>

#include "physics/devices/chopper.h"
#include "physics/period_means.h"

namespace pb::physics {

/// Both windings chopped with this on-time at their held currents; a winding of duty 1 is driven
/// throughout, one of sign '0' is not driven. After a cycle or two to settle in. An empty one if it
/// does not end. Choppers of a frequency lie as it says. Those of an off-time do the same at once,
/// if they are `in_step`, else so far apart that what one asks of the rail and what the other does
/// are uncorrelated, as two that know nothing of each other are on average.
SimulatedPeriod simulated_cycle(const PeriodAt& at, const std::array<HeldDrive, 2>& held,
                                double on_s, bool in_step, std::size_t measured);

/// How long a cycle with this on-time lasts. [s]
double cycle_s(const Chopper& law, double on_s);
/// Mean over such a cycle of what a winding draws from the rail, over its current.
double drawn_share(const Chopper& law, double on_s);

/// The law of the choppers of a design that measures, of winding a, and two on-times between which
/// most cycles lie that hold `held_A`: 0.6 and 1.6 times what V, I R and a decay at the same
/// current make of it (mean voltage of an inductor in the steady state is zero).
struct CycleLaw {
  Chopper law;
  std::array<double, 2> on_s{};
};
CycleLaw cycle_law(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                   const Temperatures& temperatures, double dead_time_s, double held_A);

}  // namespace pb::physics
