// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where heating is taken to end before it is known: a good guess saves a round of runs, a bad one
// costs one.
#pragma once

#include "judgement/case.h"

namespace pb {

struct HeatGuess {
  physics::Temperatures move, hold;
};
/// From where move and hold ended at nominal, by what is known of resistances.
HeatGuess likely_heat(const Case& c, const physics::Point& p, const physics::RunFigures& move,
                      const physics::RunFigures& hold);
/// From what holds the rotor at rest, for both: a drive that moves it is not much cooler. A
/// regulated drive is, and starts at ambient.
HeatGuess heat_at_rest(const Case& c, const physics::Point& p);
/// Temperatures of a nominal run, moved with the ambient.
physics::Temperatures shifted(const Case& c, const physics::Point& p,
                              const physics::RunFigures& nominal);

}  // namespace pb
