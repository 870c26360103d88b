// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/near_edges.h"

#include <algorithm>
#include <map>

namespace pb::physics {

Plan still(const Plan& plan) {
  Plan out;
  out.states = {plan.states.front()};
  out.tick_s = plan.tick_s, out.settle_s = plan.settle_s;
  out.rotor_locked = plan.rotor_locked;
  out.measured = plan.measured, out.dead_s = plan.dead_s;
  return out;
}

Plan within(const Plan& plan, const std::vector<Span>& spans) {
  Plan out = still(plan);
  if (plan.measured)  // choppers go by states and references, of which there are few
    out.states = plan.states, out.moving_states = plan.moving_states,
    out.references = plan.references;
  std::vector<std::size_t> kept;
  for (const Span& span : spans) {
    std::map<int, std::size_t> last;  // by pin
    for (std::size_t k = 0; k < plan.writes.size(); ++k) {
      const double t = static_cast<double>(plan.writes[k].tick) * plan.tick_s;
      if (t > span.to_s) break;
      if (t < span.from_s)
        last[plan.writes[k].pin] = k;
      else
        kept.push_back(k);
    }
    for (const auto& [pin, k] : last) kept.push_back(k);
  }
  std::sort(kept.begin(), kept.end());
  kept.erase(std::unique(kept.begin(), kept.end()), kept.end());
  for (const std::size_t k : kept) out.writes.push_back(plan.writes[k]);
  return out;
}

}  // namespace pb::physics
