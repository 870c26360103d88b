// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two transistors in one package in place of two single ones: of a leg, or of the same side of the
// two legs of a winding. The design is proven anew with the figures of the halves, which heat each
// other (model/pair.h), and priced as any other: one part to place, one footprint, one price.
// Tested by tests/unit/judgement_pairs.cpp.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "judgement/alternatives.h"
#include "judgement/cost.h"

namespace pb {

/// Where packages of one class could stand: one each for two places of the design.
struct PairPlan {
  std::string pair_class;
  std::vector<std::string> roles;                  // whose parts they take the place of
  std::vector<std::array<std::string, 2>> places;  // refs, first half first
};

/// All places of the roles or none: a role has one part.
std::vector<PairPlan> pair_plans(const Design& design);

/// The design with a pair put in. Its parts still are those of single places: the halves.
Design with_pair(const Design& design, const PairPlan& plan, const Part& pair);
/// What is bought for it; `design` and `pair` must outlive the lines.
std::vector<CostLine> lines_with_pair(const Design& design, const PairPlan& plan, const Part& pair);

struct PairTrial : TrialOutcome {
  PairPlan plan{};
  Part pair{};
  double landed_cost = 0;
  double saves = 0;  // of the landed cost; below nothing where it costs more
};

/// The two cheapest pairs of a plan, or the cheapest if that passes or if there is no time; only
/// priced then. Without rows that cannot be bought or that a screen turns away.
std::vector<PairTrial> pair_trials(const Design& design, const Proof& proof, const PairPlan& plan,
                                   const std::vector<Part>& catalogue, const Effort& effort);

}  // namespace pb
