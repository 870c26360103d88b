// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Why not cheaper, and what would have to be different: for the cheapest candidate of a template
// that failed, the smallest single change of the brief, or of one figure of one part, with which it
// would pass. Found by judging the candidate anew under each change of a table, smallest first;
// changes of two things at once are not tried. Tested by tests/slow/saves.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/effort.h"
#include "judgement/search.h"

namespace pb {

/// One thing that is different.
struct Change {
  std::string key;   // of the brief; or role and figure: "high_side.rds_gate"
  std::string text;  // "logic voltage 5 V instead of 3.3 V"
  double from = 0, to = 0;
  /// How much is asked: of a ratio its logarithm; of a tolerance four times the difference; of a
  /// temperature the difference over 50 K; a part of its own costs a tenth more. A convention, to
  /// put changes of different kinds in one order.
  double size = 0;
  Design design;  // the near miss with it
};

/// Every change of the table that makes sense for this candidate, smallest first. `subject` and
/// `check` are of the failed check: which part's figures matter.
std::vector<Change> changes_of(const Design& design, const std::string& check,
                               const std::string& subject);

struct Save {
  std::string template_title;
  bool found = false, proven = false;  // proven: by the whole proof, not by trial alone
  Change change;                       // if found
  int tried = 0;
};

/// On one thread. What there is no time for stays unknown: tried = 0.
Save smallest_save(const NearMiss& miss, const Effort& effort);

}  // namespace pb
