// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a board costs over the number of boards made, beside boards with driver chips. Every line is
// one board with its own parts, priced anew at each quantity: breaks, set-up and one-off work move.
// The search is not repeated, so at another quantity another design may be cheaper still. Tested by
// tests/unit/judgement_ladder.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/cost.h"
#include "judgement/search.h"

namespace pb {

/// 100 to 1,000,000 boards, three a decade.
std::vector<double> ladder_quantities();

struct LadderLine {
  std::string name, kind;  // the wiring's title, or a chip's number; the wiring with package
  bool bought = false, passes = true;
  std::string why;          // what it fails on
  std::vector<Cost> costs;  // one a quantity
};

/// Boards from which on, up to the end of the ladder, a driver of single parts costs less than one
/// bought; not given where it never does.
struct BreakEven {
  std::string against;  // name of the bought line
  double with_one_off = kNotGiven, without_one_off = kNotGiven;
};

struct PriceLadder {
  std::vector<double> quantities;
  std::vector<LadderLine> lines;  // the winner first, if one passes; then those bought
  std::vector<BreakEven> break_even;
};

LadderLine ladder_line(const Design& design, const std::vector<double>& quantities);

/// Of two designs with the same brief but for the quantity.
BreakEven break_even(const Design& own, const Design& bought);

/// A board with a driver chip, proven or not.
struct ChipBoard {
  Design design;
  bool passes = false;
  std::string why;
};

/// At least `wanted` kinds of chip where the catalogue has them, a kind being a wiring and the
/// chip's package: what the search proved, then others in the same surroundings, cheapest first,
/// each judged by a proof. Kinds of which none passes come with what their cheapest fails on.
std::vector<ChipBoard> chip_kinds(const SearchResult& result, const std::vector<Part>& parts,
                                  std::size_t wanted, const ParallelFor& parallel,
                                  const StopToken& stop);

/// `winner` may be null: no driver of single parts passes.
PriceLadder price_ladder(const Design* winner, const std::vector<ChipBoard>& chips);

}  // namespace pb
