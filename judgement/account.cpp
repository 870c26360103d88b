// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/account.h"

#include <algorithm>

#include "base/text.h"

namespace pb {

Natural Account::new_below(std::size_t space, const Pick& pick, std::size_t depth) const {
  const Space& s = spaces_[space];
  Natural out = rows_below(s, pick, depth);
  for (const auto& [known, check] : singly_[space])
    if (agree(s, pick, known, depth)) out -= rows_of(s, known);
  for (const auto& [of, known] : passed_)
    if (of == space && agree(s, pick, known, depth)) out -= rows_of(s, known);
  return out;
}

void Account::fail(std::size_t space, const std::string& check, const Natural& candidates) {
  spaces_[space].count.failed += candidates;
  rejected_[check] += candidates;
}

void Account::fail_alone(std::size_t space, const Pick& pick, const std::string& check) {
  if (singly_[space].insert({pick, check}).second)
    fail(space, check, rows_of(spaces_[space], pick));
}

void Account::pass(std::size_t space, const Pick& pick) {
  Space& s = spaces_[space];
  const Natural rows = rows_of(s, pick);
  if (const auto failed = singly_[space].find(pick); failed != singly_[space].end()) {
    s.count.failed -= rows;  // at another setting
    rejected_[failed->second] -= rows;
    singly_[space].erase(failed);
  }
  passed_.insert({space, pick});
  s.count.passed += 1;
  s.count.grouped += rows - 1;
}

void Account::leave_undecided(const Core& c, const Natural& candidates, const std::string& why) {
  spaces_[c.space].count.undecided += candidates;
  unclear_.emplace_back(c.floor, why);
}

void Account::close(double winner, SearchResult& out) {
  for (Space& s : spaces_) {
    SpaceCount& n = s.count;
    const Natural rest = n.total - n.screened - n.grouped - n.failed - n.passed - n.undecided;
    if (left_from_ < winner)  // of what nobody visited in time, nobody knows what it costs
      n.undecided += rest;
    else
      n.beyond_cost = rest;
    out.space[s.wiring->id] = n;
  }
  out.rejected = std::move(rejected_);
  const auto open = std::ranges::find_if(
      unclear_, [&](const auto& floor_and_why) { return floor_and_why.first < winner; });
  if (open != unclear_.end()) out.undecided.push_back(open->second);
  if (left_from_ < winner)
    out.undecided.push_back("candidates with a floor cost from " + significant(left_from_, 4) +
                            " on were not visited: out of time");
}

}  // namespace pb
