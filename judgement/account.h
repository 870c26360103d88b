// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where every candidate of a search went: each is counted once, as screened, grouped, beyond the
// cost, failed, passed or undecided. Tested by tests/slow/search_soundness.cpp.
#pragma once

#include <limits>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "judgement/frontier.h"
#include "judgement/search.h"

namespace pb {

class Account {
 public:
  /// Counts in the spaces themselves, which must outlive it.
  explicit Account(std::vector<Space>& spaces) : spaces_(spaces), singly_(spaces.size()) {}

  /// Candidates that agree with a pick so far and have not been counted one by one.
  Natural new_below(std::size_t space, const Pick& pick, std::size_t depth) const;
  bool has_passed(std::size_t space, const Pick& pick) const {
    return passed_.contains({space, pick});
  }
  bool has_failed(std::size_t space, const Pick& pick) const {
    return singly_[space].contains(pick);
  }
  const std::set<std::pair<std::size_t, Pick>>& passed() const { return passed_; }
  long undecided() const { return static_cast<long>(unclear_.size()); }

  void fail(std::size_t space, const std::string& check, const Natural& candidates);
  /// One pick, by its own proof; at one setting, so that it may still pass at another.
  void fail_alone(std::size_t space, const Pick& pick, const std::string& check);
  void pass(std::size_t space, const Pick& pick);
  void leave_undecided(const Core& c, const Natural& candidates, const std::string& why);
  /// From this floor on nobody looked any more.
  void leave_from(double floor) { left_from_ = std::min(left_from_, floor); }

  /// What nobody visited costs at least as much as the winner, or is undecided.
  void close(double winner, SearchResult& out);

 private:
  std::vector<Space>& spaces_;
  std::vector<std::map<Pick, std::string>> singly_;  // by space: counted one by one, their check
  std::set<std::pair<std::size_t, Pick>> passed_;    // by space
  std::map<std::string, Natural> rejected_;          // by check
  std::vector<std::pair<double, std::string>> unclear_;  // floor, why
  double left_from_ = std::numeric_limits<double>::infinity();
};

}  // namespace pb
