// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// When the switches of a chopper that measures are looked at. Tested by
// tests/slow/measured_run.cpp.
#pragma once

#include <algorithm>
#include <string>

#include "physics/chopping.h"
#include "physics/decay.h"
#include "physics/observer.h"
#include "physics/plan.h"

namespace pb::physics {

/// Switches as they stand where a winding is let go, or driven again: a stretch that lasts at least
/// half as long as the longest of its kind so far; in shorter ones a gate need not arrive.
class StretchJudge {
 public:
  StretchJudge(const Design& d, const Plan& plan, Observer& watch)
      : d_(d), plan_(plan), watch_(watch) {}

  void judge(const Chopping::Stretch& s, const std::vector<double>& x) {
    const bool driven = s.mode == ChopperLatch::Mode::driven;
    if (s.from_s < 0 || (s.chopper->bridge >= 0 && !driven)) return;  // a chip's decay is its own
    const auto w = static_cast<std::size_t>(s.chopper->winding);
    double& longest_s = longest_s_[w][static_cast<std::size_t>(s.mode)];
    longest_s = std::max(longest_s, s.to_s - s.from_s);
    if (s.to_s - s.from_s < 0.5 * longest_s) return;
    const auto after = std::upper_bound(plan_.states.begin(), plan_.states.end(), s.from_s,
                                        [](double t, const PlannedState& p) { return t < p.t_s; });
    if (after == plan_.states.begin()) return;
    // A chip's latch does not know when its winding is asked for something else.
    if (after != plan_.states.end() && after->t_s <= s.to_s && s.chopper->bridge >= 0) return;
    std::string flow = (after - 1)->flow;
    if (!driven)
      flow = relaxed_flow(flow, s.mode == ChopperLatch::Mode::fast ? "fast" : d_.settings.decay);
    PlannedState meant;
    if (!find_state(d_.wiring, flow, meant)) return;
    Look look{s.to_s, {}, {}};
    for (const std::string& ref : switches_of(d_.wiring, s.chopper->winding)) {
      const bool on = std::find(meant.on.begin(), meant.on.end(), ref) != meant.on.end();
      (on ? look.on : look.off).push_back(ref);
    }
    watch_.settled(look, x);
  }

 private:
  const Design& d_;
  const Plan& plan_;
  Observer& watch_;
  double longest_s_[2][4] = {};
};

}  // namespace pb::physics
