// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What is asked of a finished search about money: its price at other quantities and beside chips,
// what the cost hangs on, what a dearer design buys, and what would make a cheaper one pass.
#pragma once

#include <functional>
#include <vector>

#include "judgement/ladder.h"
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
};

struct StudyOptions {
  ParallelFor parallel = serial();
  StopToken stop;
  std::function<bool()> out_of_time;  // for the saves, which may take long; may be empty
};

/// `result` must outlive the study.
CostStudy cost_study(const SearchResult& result, const std::vector<Part>& parts,
                     const StudyOptions& options);

}  // namespace pb
