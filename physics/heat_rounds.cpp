// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/heat_rounds.h"

#include <algorithm>
#include <cmath>

#include "physics/heat.h"

namespace pb::physics {

HeatRounds::HeatRounds(const Design& design, double ambient_K, double settled_K, const Rest* rest,
                       const Temperatures* start)
    : design_(design), ambient_K_(ambient_K), settled_K_(settled_K), rest_(rest) {
  at_.winding_K = ambient_K;
  if (start) at_ = *start;
}

void HeatRounds::take(RunFigures figures) {
  constexpr int kRounds = 12;
  constexpr double kSteepest = 0.9;  // a line steeper than that says little of where they meet
  out_.figures = std::move(figures);
  if (out_.figures.outcome != Outcome::reached_end) {
    over_ = true;
    return;
  }
  const Temperatures next = heated(design_, ambient_K_, out_.figures, rest_);
  double moved = std::abs(next.winding_K - at_.winding_K), hottest = next.winding_K;
  for (const auto& [ref, T_K] : next.junction_K) {
    const auto before = at_.junction_K.find(ref);
    moved = std::max(
        moved, std::abs(T_K - (before == at_.junction_K.end() ? ambient_K_ : before->second)));
    hottest = std::max(hottest, T_K);
  }
  const double asked_K = at_.winding_K;
  at_ = next;
  if (hottest > kMelted_K) {
    out_.runaway = true;
    return finish();
  }
  if (moved < settled_K_) {
    out_.consistent = true;
    return finish();
  }
  // Where the windings' temperature would meet itself.
  const double slope = (next.winding_K - followed_K_) / (asked_K - asked_K_);
  asked_K_ = asked_K, followed_K_ = next.winding_K;
  if (std::abs(slope) < kSteepest)
    at_.winding_K = asked_K + (next.winding_K - asked_K) / (1.0 - slope);
  if (++rounds_ == kRounds) {
    out_.runaway = true;  // twelve rounds of a contraction below one half leave nothing to settle
    finish();
  }
}

void HeatRounds::finish() {
  out_.figures.temperatures = at_;
  over_ = true;
}

}  // namespace pb::physics
