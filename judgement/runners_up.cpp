// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/runners_up.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <utility>

#include "judgement/rank.h"

namespace pb {
namespace {

/// At one of the two settings that served best. What stays unclear here comes up again where the
/// visit by cost goes by.
bool passes_beside(CoreJudge& judge, const Core& c) {
  constexpr std::size_t kSettings = 2;
  const auto& order = judge.lessons().order(c.space);
  std::string unclear;
  for (std::size_t k = 0; k < std::min(kSettings, order.size()); ++k) {
    const std::size_t setting = order[k];
    if (judge.lessons().fails(c, setting)) continue;
    const SettingTrial t = judge.try_setting(c, setting, Depth::trial);
    if (t.refuted) judge.learn(c, setting, *t.refuted);
    if (!t.passes()) continue;
    judge.prove_cheapest(c, t, kNoCost, unclear);
    return std::isfinite(judge.cost_of_driver(c));
  }
  return false;
}

/// The cheapest few of each role.
void add_beside(CoreJudge& judge, std::size_t space, Pick pick, std::set<Core>& open) {
  constexpr int kChoices = 12;
  const Space& s = judge.spaces()[space];
  for (std::size_t r : s.resistors)
    pick[r] = std::min<std::size_t>(pick[r], s.roles[r].role->optional);
  for (std::size_t r : s.core) {
    if (!makes_a_driver(s.roles[r].role->part_class)) continue;
    int taken = 0;
    for (std::size_t k = 0; k < core_choices(s, r) && taken < kChoices; ++k) {
      Core c{0, space, pick};
      c.pick[r] = k;
      if (k == pick[r] || judge.frontier().is_struck(space, r, k) || judge.lessons().refuted(c))
        continue;
      c.floor = judge.sharp_floor(c);
      open.insert(std::move(c));
      ++taken;
    }
  }
}

void try_neighbours(CoreJudge& judge, const SearchOptions& o) {
  constexpr int kTrials = 24;
  const std::size_t wanted = static_cast<std::size_t>(std::max(o.top, 1));
  std::set<Core> open;
  for (const auto& [space, pick] : judge.account().passed()) add_beside(judge, space, pick, open);
  for (int n = 0; n < kTrials && !open.empty() && !judge.late() && !(o.enough && o.enough());) {
    if (distinct(judge.found).size() >= wanted) return;
    const Core c = open.extract(open.begin()).value();
    if (std::isfinite(judge.cost_of_driver(c)) || judge.lessons().refuted(c)) continue;
    if (judge.refuted_early(c)) continue;
    ++n;
    if (passes_beside(judge, c)) add_beside(judge, c.space, c.pick, open);
  }
}

}  // namespace

void find_runners_up(CoreJudge& judge, const SearchOptions& options) {
  judge.looks_beside = true;
  try_neighbours(judge, options);
  judge.looks_beside = false;
}

}  // namespace pb
