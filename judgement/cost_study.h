// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What is asked of a finished search about money: its price at other quantities and beside chips,
// what the cost hangs on, what a dearer design buys, what two transistors in one package would
// save, and what would make a cheaper one pass.
#pragma once

#include <functional>
#include <vector>

#include "judgement/ladder.h"
#include "judgement/pairs.h"
#include "judgement/pareto.h"
#include "judgement/saves.h"
#include "judgement/tornado.h"

namespace pb {

/// A proven design that none other beats in everything.
struct ParetoPoint {
  const Design* design = nullptr;  // of the search's result
  Goals goals;
};

struct CostStudy {
  PriceLadder ladder;
  std::vector<TornadoBar> tornado;  // of the winner, or of the chip where no design passes
  std::vector<ParetoPoint> pareto;  // rising cost
  std::vector<Save> saves;          // one a near miss of the result
  std::vector<PairTrial> pairs;     // in the winner
  std::vector<Trial> values;        // of the winner's resistors that could be one
};

/// `effort` is asked for when the prices are done with: for pairs, shared values and saves.
/// `result` must outlive the study.
CostStudy cost_study(const SearchResult& result, const std::vector<Part>& parts,
                     const ParallelFor& parallel, const StopToken& stop,
                     const std::function<Effort()>& effort);

}  // namespace pb
