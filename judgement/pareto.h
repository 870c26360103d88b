// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a dearer design buys: cost against heat, room, number of parts and energy, over designs that
// are proven. Tested by tests/unit/judgement_ladder.cpp.
#pragma once

#include <vector>

#include "judgement/proof.h"

namespace pb {

/// Less of each is better.
struct Goals {
  double landed_cost = 0;
  double hottest_degC = 0;   // junction, at the worst corner, moving or holding
  double board_area_m2 = 0;  // routed
  double parts = 0;          // pieces on a board
  double energy_J = 0;       // from the supplies over the move that was run, at typical values
};

Goals goals_of(const Design& design, const Proof& proof, double landed_cost);

/// Indices, in the order given, of those than which no other is as good in everything and better in
/// something. Of equal ones the first.
std::vector<std::size_t> pareto_front(const std::vector<Goals>& all);

}  // namespace pb
