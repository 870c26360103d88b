// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/setting_trial.h"

#include <algorithm>
#include <iterator>

#include "judgement/resistor_picks.h"

namespace pb {

void Hints::remember(const Proof& p) {
  constexpr std::size_t kTightest = 3, kMost = 8;
  std::vector<const Check*> order;
  for (const Check& c : p.verdict.checks)
    if (!c.corner.empty()) order.push_back(&c);
  std::stable_sort(order.begin(), order.end(),
                   [](const Check* a, const Check* b) { return a->margin < b->margin; });
  std::size_t added = 0;
  for (const Check* c : order) {
    if (added == kTightest) break;
    if (std::find(corners_.begin(), corners_.end(), c->corner) != corners_.end()) continue;
    corners_.insert(corners_.begin() + static_cast<std::ptrdiff_t>(added++), c->corner);
  }
  if (corners_.size() > kMost) corners_.resize(kMost);
  if (added > 0) ++lessons_;
}

void Hints::remember(std::size_t setting, const Refuted& why) {
  if (!why.standing && !why.corner.empty()) killers_[setting] = why.corner;
}

Corners Hints::corners(std::size_t setting) const {
  const auto killer = killers_.find(setting);
  if (killer == killers_.end()) return corners_;
  Corners out{killer->second};
  std::ranges::copy_if(corners_, std::back_inserter(out),
                       [&](const auto& corner) { return corner != killer->second; });
  return out;
}

SettingTrial try_setting(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                         const Pick& pick, std::size_t setting, Depth depth, const Corners& corners,
                         const SearchOptions& options) {
  const Design d = design_of(brief, assumed, s, pick, s.settings[setting], Resistors::finest);
  ProofOptions o;
  o.stop = options.stop, o.fail_first = true, o.depth = depth, o.try_first = corners;
  if (depth != Depth::trial) o.parallel = options.parallel;
  const Proof p = prove(d, o);
  SettingTrial t;
  t.setting = setting;
  t.least_rating_W = least_ratings(s, d, p.verdict);
  // A trial does not sharpen what is too close to call: that is left to the proof.
  if (std::any_of(p.verdict.checks.begin(), p.verdict.checks.end(), [&](const Check& k) {
        return depth == Depth::trial ? k.fails_clearly() : !k.passes;
      })) {
    t.refuted = refuted_by(s, d, p);
    if (options.planted.refuted) options.planted.refuted(*t.refuted);
    if (t.refuted->standing)
      leave_out_bystanders(brief, assumed, s, pick, s.settings[setting], options.parallel,
                           *t.refuted);
  }
  if (!t.refuted && !p.verdict.undecided.empty()) t.undecided = p.verdict.undecided.front();
  return t;
}

Proof prove_pick(const Design& design, const Corners& first, const SearchOptions& options) {
  ProofOptions o;
  o.parallel = options.parallel, o.stop = options.stop, o.fail_first = true;
  if (!first.empty()) {
    ProofOptions trial = o;
    trial.depth = Depth::trial, trial.try_first = first;
    Proof p = prove(design, trial);
    if (std::ranges::any_of(p.verdict.checks, &Check::fails_clearly)) return p;
  }
  return prove(design, o);
}

}  // namespace pb
