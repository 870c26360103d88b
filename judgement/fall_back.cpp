// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/fall_back.h"

#include <algorithm>
#include <string>
#include <vector>

namespace pb {
namespace {

/// The cheapest choice of one role that still passes a trial with the rest as it is.
bool cheapen(CoreJudge& judge, Core& c, std::size_t role, std::size_t setting,
             const ParallelFor& parallel) {
  constexpr std::size_t kAtOnce = 2;  // the first that passes is taken: more would be for nothing
  for (std::size_t at = 0; at < c.pick[role] && !judge.late(); at += kAtOnce) {
    const std::size_t count = std::min(kAtOnce, c.pick[role] - at);
    std::vector<Core> tries(count, c);
    std::vector<SettingTrial> trials(count);
    for (std::size_t k = 0; k < count; ++k) tries[k].pick[role] = at + k;
    const auto known = [&](std::size_t k) {
      return judge.lessons().fails(tries[k], setting) != nullptr;
    };
    parallel(count, [&](std::size_t k) {
      if (!known(k)) trials[k] = judge.try_setting(tries[k], setting, Depth::trial);
    });
    for (std::size_t k = 0; k < count; ++k) {
      if (known(k)) continue;
      if (trials[k].passes()) {
        c.pick = tries[k].pick;
        return true;
      }
      if (trials[k].refuted) judge.learn(tries[k], setting, *trials[k].refuted);
    }
  }
  return false;
}

void come_down(CoreJudge& judge, Core c, const ParallelFor& parallel) {
  const Space& s = judge.space_of(c);
  c.floor = bound(s, c.pick);
  const std::vector<SettingTrial> trials = judge.try_settings(c, {});
  for (const SettingTrial& t : trials)
    if (t.refuted) judge.learn(c, t.setting, *t.refuted);
  if (trials.empty() || !trials.back().passes()) return;
  const std::size_t setting = trials.back().setting;
  for (bool better = true; better && !judge.late();) {
    better = false;
    for (std::size_t r : s.core) better = cheapen(judge, c, r, setting, parallel) || better;
  }
  c.floor = bound(s, c.pick);
  std::string unclear;  // the visit by cost comes by here again, and says so then
  judge.prove_cheapest(c, judge.try_setting(c, setting, Depth::trial), kNoCost, unclear);
}

}  // namespace

void fall_back(CoreJudge& judge, const Brief& brief, std::size_t space,
               const ParallelFor& parallel) {
  constexpr int kRounds =
      4;  // a trial is kinder than the proof; what that found is known next time
  const Space& s = judge.spaces()[space];
  if (!s.usable) return;
  for (int round = 0; round < kRounds; ++round)
    for (bool with_optional : {false, true})
      if (judge.found.empty() && !judge.late())
        come_down(judge, {0, space, generous(brief, s, with_optional)}, parallel);
}

}  // namespace pb
