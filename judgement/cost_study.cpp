// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/cost_study.h"

#include <algorithm>
#include <iterator>

namespace pb {
namespace {

constexpr std::size_t kChipKinds = 4;

/// Of all that is proven: the ranked, those proven on the way, the chips.
std::vector<ParetoPoint> front_of(const SearchResult& result) {
  std::vector<ParetoPoint> all;
  for (const std::vector<Ranked>* list : {&result.designs, &result.further})
    for (const Ranked& r : *list)
      all.push_back({&r.design, goals_of(r.design, r.proof, r.cost.total)});
  for (const ChipOffer& c : result.chips)
    if (c.passes) all.push_back({&c.design, goals_of(c.design, c.proof, c.landed_cost)});
  std::stable_sort(all.begin(), all.end(), [](const ParetoPoint& a, const ParetoPoint& b) {
    return a.goals.landed_cost < b.goals.landed_cost;
  });
  std::vector<Goals> goals;
  goals.reserve(all.size());
  for (const ParetoPoint& p : all) goals.push_back(p.goals);
  std::vector<ParetoPoint> out;
  for (std::size_t k : pareto_front(goals)) out.push_back(all[k]);
  return out;
}

/// What is proven anew, each in its own time: of the winner, if there is one, and the near misses.
void prove_changes(const Ranked* winner, const std::vector<NearMiss>& misses,
                   const std::vector<Part>& parts, const Effort& effort, CostStudy& out) {
  constexpr int kValues = 2;
  Effort own = effort;
  own.parallel = serial();
  std::vector<std::function<void()>> jobs;
  std::vector<PairPlan> plans;
  if (winner)
    plans = pair_plans(winner->design), out.values = shared_values(winner->design, kValues);
  std::vector<std::vector<PairTrial>> pairs(plans.size());
  jobs.reserve(plans.size() + out.values.size() + misses.size());
  for (std::size_t k = 0; k < plans.size(); ++k)
    jobs.emplace_back(
        [&, k] { pairs[k] = pair_trials(winner->design, winner->proof, plans[k], parts, own); });
  for (Trial& t : out.values)
    jobs.emplace_back([&] { try_it(t, winner->design, winner->proof, own); });
  out.saves.resize(misses.size());
  for (std::size_t k = 0; k < misses.size(); ++k)
    jobs.emplace_back([&, k] { out.saves[k] = smallest_save(misses[k], own); });
  effort.parallel(jobs.size(), [&](std::size_t k) { jobs[k](); });
  for (std::vector<PairTrial>& p : pairs) std::ranges::move(p, std::back_inserter(out.pairs));
}

}  // namespace

CostStudy cost_study(const SearchResult& result, const std::vector<Part>& parts,
                     const ParallelFor& parallel, const StopToken& stop,
                     const std::function<Effort()>& effort) {
  CostStudy out;
  const std::vector<ChipBoard> chips = chip_kinds(result, parts, kChipKinds, parallel, stop);
  const Ranked* winner = result.designs.empty() ? nullptr : &result.designs.front();
  const Design* best = winner ? &winner->design : nullptr;
  out.ladder = price_ladder(best, chips);
  const Design* built = best ? best : chips.empty() ? nullptr : &chips.front().design;
  if (built) out.tornado = tornado(built->brief, cost_lines(*built));
  out.pareto = front_of(result);
  prove_changes(winner, result.near_misses, parts, effort(), out);
  return out;
}

}  // namespace pb
