// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/cost_study.h"

#include <algorithm>

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

}  // namespace

CostStudy cost_study(const SearchResult& result, const std::vector<Part>& parts,
                     const StudyOptions& o) {
  CostStudy out;
  const std::vector<ChipBoard> chips = chip_kinds(result, parts, kChipKinds, o.parallel, o.stop);
  const Design* winner = result.designs.empty() ? nullptr : &result.designs.front().design;
  out.ladder = price_ladder(winner, chips);
  const Design* built = winner ? winner : chips.empty() ? nullptr : &chips.front().design;
  if (built) out.tornado = tornado(built->brief, cost_lines(*built));
  out.pareto = front_of(result);
  SavesOptions saves;
  saves.parallel = o.parallel, saves.stop = o.stop, saves.out_of_time = o.out_of_time;
  out.saves = smallest_saves(result.near_misses, saves);
  return out;
}

}  // namespace pb
