// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/chips.h"

#include <algorithm>
#include <utility>

#include "base/text.h"

namespace pb {

bool is_bought(const Template& t) {
  return std::any_of(t.roles.begin(), t.roles.end(), [](const Role& r) {
    const PartClass* c = find_part_class(r.part_class);
    return c && is_bought_driver(*c);
  });
}

namespace {

ChipOffer offer_of(const Ranked& r) {
  ChipOffer out{"", r.design.wiring.title, r.cost.total, true, "", r.design, r.proof};
  for (const auto& [role, part] : r.design.parts)
    if (is_bought_driver(*find_part_class(part.part_class))) out.number = part.number;
  return out;
}

}  // namespace

void add_chips(SearchResult& whole, SearchResult chips) {
  for (const Ranked& r : chips.designs) whole.chips.push_back(offer_of(r));
  for (const NearMiss& m : chips.near_misses)
    if (std::none_of(whole.chips.begin(), whole.chips.end(),
                     [&](const ChipOffer& o) { return o.kind == m.template_title; }))
      whole.chips.push_back({m.part,
                             m.template_title,
                             m.floor,
                             false,
                             m.check_id + " of " + m.subject + ": " + significant(m.value, 3) +
                                 " against " + significant(m.limit, 3) + " " + m.unit,
                             {},
                             {}});
  whole.space.merge(chips.space);
  for (const auto& [id, n] : chips.rejected) whole.rejected[id] += n;
  for (const std::string& u : chips.undecided) whole.undecided.push_back("chips: " + u);
  whole.cancelled = whole.cancelled || chips.cancelled;
  std::stable_sort(
      whole.chips.begin(), whole.chips.end(), [](const ChipOffer& a, const ChipOffer& b) {
        return std::pair(!a.passes, a.landed_cost) < std::pair(!b.passes, b.landed_cost);
      });
}

bool chip_wins(const SearchResult& r) {
  return !r.chips.empty() && r.chips.front().passes &&
         (r.designs.empty() || r.chips.front().landed_cost < r.designs.front().cost.total);
}

}  // namespace pb
