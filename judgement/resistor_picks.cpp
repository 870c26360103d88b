// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/resistor_picks.h"

#include <algorithm>

namespace pb {

ResistorPicks resistor_picks(const Brief& brief, const Space& s, const Pick& core, double below,
                             const std::vector<double>& least_W, Buyer& buyer) {
  constexpr std::size_t kMost = 1000;
  ResistorPicks out;
  const double without = core_cost(brief, s, core, buyer);
  std::vector<Pick> picks{core};
  for (std::size_t r : s.resistors) {
    std::vector<Pick> more;
    const bool left_out = !s.roles[r].list[core[r]].kind;
    for (std::size_t k = core[r]; k < (left_out ? 1 : s.roles[r].list.size()); ++k) {
      if (!left_out && !least_W.empty() &&
          figure(*s.roles[r].list[k].part(), "power_max") < least_W[r])
        continue;
      for (const Pick& p : picks) {
        Pick next = p;
        next[r] = k;
        if (without + resistors_add(brief, s, next) >= below) continue;
        if (more.size() < kMost)
          more.push_back(std::move(next));
        else
          out.all = false;
      }
    }
    picks = std::move(more);
  }
  for (Pick& p : picks)
    if (const double cost = cost_of(brief, s, p, buyer); cost < below)
      out.by_cost.emplace_back(cost, std::move(p));
  std::stable_sort(out.by_cost.begin(), out.by_cost.end());
  return out;
}

std::vector<double> least_ratings(const Space& s, const Design& finest, const Verdict& verdict) {
  constexpr double kClear = 0.99;  // a run's accuracy, and some
  std::vector<double> out(s.roles.size(), 0.0);
  for (const Check& k : verdict.checks) {
    if (k.id != "resistor_power") continue;
    const auto place = std::find_if(s.wiring->places.begin(), s.wiring->places.end(),
                                    [&](const Place& p) { return p.ref == k.subject; });
    for (std::size_t r : s.resistors)
      if (place != s.wiring->places.end() && s.roles[r].role->name == place->role)
        out[r] = std::max(
            out[r], kClear * k.value / k.limit * figure(finest.parts.at(place->role), "power_max"));
  }
  return out;
}

}  // namespace pb
