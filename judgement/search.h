// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The search for the cheapest design that passes. Candidates are visited by rising floor cost;
// every one whose floor is below the winner's landed cost is screened out or proven not to pass, or
// else "nothing cheaper" is not claimed.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "judgement/cost.h"
#include "judgement/proof.h"

namespace pb {

struct SearchOptions {
  int top = 5;
  ParallelFor parallel = serial();
  StopToken stop;
  double budget_s = 1e9;  // wall time is the caller's to watch: see out_of_time
  std::function<bool()> out_of_time;
  /// Candidates finished, floor cost now being visited.
  std::function<void(long done, double floor)> progress;
};

struct Ranked {
  Design design;
  Proof proof;
  Cost cost;
  double floor = 0;
  bool reproved = true;
};

/// What became of the candidates of one template; the numbers add up to total.
struct SpaceCount {
  double total = 0, screened = 0, grouped = 0, beyond_cost = 0, failed = 0, passed = 0,
         undecided = 0;
};

/// Per template: the cheapest candidate that failed, and why.
struct NearMiss {
  std::string template_title, check_id, subject;
  double value = 0, limit = 0, floor = 0;
  std::string unit;
};

struct SearchResult {
  std::vector<Ranked> designs;  // cheapest first
  bool nothing_cheaper = false, cancelled = false;
  std::string claim;
  std::vector<std::string> undecided;
  std::map<std::string, SpaceCount> space;  // template id
  std::map<std::string, double> rejected;   // check id -> candidates
  std::vector<NearMiss> near_misses;
  /// The brief asks what no driver can give: which key makes it so.
  std::string impossible_key, impossible_why;
};

SearchResult search(const Brief& brief, const std::vector<Assumed>& assumed,
                    const std::vector<Template>& templates, const std::vector<Part>& parts,
                    const SearchOptions& options);

}  // namespace pb
