// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Floors that a search goes by are never above what is paid: every pick of small catalogues,
// against its landed cost.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "judgement/space.h"
#include "tests/slow/small_world.h"

namespace pb::test {
namespace {

/// Every choice of every role.
std::vector<Pick> all_picks(const Space& s) {
  std::vector<Pick> out{{}};
  for (const RoleChoices& r : s.roles) {
    std::vector<Pick> more;
    for (const Pick& p : out)
      for (std::size_t k = 0; k < r.list.size(); ++k) {
        more.push_back(p);
        more.back().push_back(k);
      }
    out = std::move(more);
  }
  return out;
}

/// With the cheapest resistors, or none where there are none: what stands for it in a frontier.
Pick core_of(const Space& s, Pick p) {
  for (std::size_t r : s.resistors) p[r] = std::min<std::size_t>(p[r], s.roles[r].role->optional);
  return p;
}

/// All its resistors as those of one role: nothing that it could share an order with.
Template with_one_resistor_role(Template t) {
  const auto is_resistor = [](const Role& r) { return r.part_class == "resistor"; };
  const auto first = std::ranges::find_if(t.roles, is_resistor);
  if (first == t.roles.end()) return t;
  for (Place& p : t.places)
    if (is_resistor(*find_role(t, p.role))) p.role = first->name;
  const std::string kept = first->name;
  std::erase_if(t.roles, [&](const Role& r) { return is_resistor(r) && r.name != kept; });
  return t;
}

TEST(SearchBounds, AreNeverAboveTheLandedCost) {
  int alone = 0, sharing = 0, apart = 0;
  for (std::uint64_t seed = 0; seed < 12; ++seed) {
    WorldSize size;
    size.templates = 2, size.chips = 1, size.switches = 2, size.others = 1;
    size.resistors = 2, size.resistor_roles = 3, size.values = 2;
    World w = small_world(seed, size);
    if (seed % 3 == 0)
      for (Template& t : w.templates) t = with_one_resistor_role(std::move(t));
    const Shelf shelf = shelf_of(w.brief, w.parts);
    Buyer buyer(w.brief);
    for (const Template& t : w.templates) {
      const Space s = space_of(w.brief, t, shelf, buyer);
      if (!s.usable) continue;
      alone += s.resistors.size() == 1;
      for (const Pick& p : all_picks(s)) {
        const double cost = cost_of(w.brief, s, p, buyer);
        if (!std::isfinite(cost)) continue;
        const Pick core = core_of(s, p);
        EXPECT_LE(bound(s, core), cost * (1 + kSame)) << t.title;
        EXPECT_LE(sharp_bound(w.brief, s, core, buyer), cost * (1 + kSame)) << t.title;
        EXPECT_LE(sharp_bound(w.brief, s, p, buyer), cost * (1 + kSame)) << t.title;
        const Bought b = bought(s, p, buyer);
        for (const CostLine& l : b.lines)
          for (const CostLine& o : b.lines)
            if (&l < &o && l.part == o.part) ++(l.reel == o.reel ? sharing : apart);
      }
    }
  }
  // Otherwise it would have shown nothing.
  EXPECT_GT(alone, 0);
  EXPECT_GT(sharing, 0);
  EXPECT_GT(apart, 0);
}

}  // namespace
}  // namespace pb::test
