// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Which resistors a core that works with the finest may be built with.
#pragma once

#include <utility>
#include <vector>

#include "judgement/space.h"
#include "model/verdict.h"

namespace pb {

struct ResistorPicks {
  std::vector<std::pair<double, Pick>> by_cost;  // landed, below what was asked
  bool all = true;                               // none was cut off
};

/// By landed cost: one row in several roles shares its set-up and its break, so the floor's order
/// is not that of the cost. Without kinds rated below `least_W` of their role, if that is given.
ResistorPicks resistor_picks(const Brief& brief, const Space& s, const Pick& core, double below,
                             const std::vector<double>& least_W, Buyer& buyer);

/// By role: a resistor of a lesser rating fails, whatever the other resistors [W]. The finest
/// resistors have the least tolerance, so that every other row has their worst point and worse ones
/// too: what they must bear is the least that any must.
std::vector<double> least_ratings(const Space& s, const Design& finest, const Verdict& verdict);

}  // namespace pb
