// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The sketch of every shipped wiring: nothing overlaps, everything is there, loops are small.
#include "judgement/placement.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "judgement/package.h"
#include "tests/unit/delivery_samples.h"

namespace pb {
namespace {

bool overlap(const PlacedBox& a, const PlacedBox& b) {
  return a.x_mm < b.x_mm + b.width_mm && b.x_mm < a.x_mm + a.width_mm &&
         a.y_mm < b.y_mm + b.height_mm && b.y_mm < a.y_mm + a.height_mm;
}

TEST(Placement, OfEveryWiringOverlapsNowhere) {
  for (const Template& t : test::all_templates()) {
    const Design d = test::design_of(t, true);
    const Placement p = placement_of(d, {{kRail, 1.0}});
    ASSERT_EQ(p.trouble, "") << t.id;
    std::size_t placed = 0;
    for (const Place& place : t.places) placed += d.parts.contains(place.role) ? 1 : 0;
    EXPECT_EQ(p.boxes.size(), placed + 3) << t.id;
    for (std::size_t a = 0; a < p.boxes.size(); ++a) {
      const PlacedBox& box = p.boxes[a];
      EXPECT_TRUE(box.x_mm >= 0 && box.y_mm >= 0 && box.x_mm + box.width_mm <= p.width_mm + 1e-9 &&
                  box.y_mm + box.height_mm <= p.height_mm + 1e-9)
          << t.id << " " << box.ref << " is on the board";
      for (std::size_t b = a + 1; b < p.boxes.size(); ++b)
        EXPECT_FALSE(overlap(box, p.boxes[b])) << t.id << " " << box.ref << " " << p.boxes[b].ref;
      const Place* place = find_place(t, box.ref);
      if (!place) continue;
      const Package& k = *find_package(d.parts.at(place->role).package);
      EXPECT_DOUBLE_EQ(box.width_mm, box.turned ? k.length_mm : k.width_mm);
      EXPECT_DOUBLE_EQ(box.height_mm, box.turned ? k.width_mm : k.length_mm);
    }
  }
}

TEST(Placement, KeepsLoopsSmall) {
  for (const Template& t : test::all_templates()) {
    const Design d = test::design_of(t, true);
    const Placement p = placement_of(d, {{kRail, 1.0}});
    ASSERT_GE(p.loops.size(), t.legs.empty() ? 1u : t.legs.size()) << t.id;
    double area_mm2 = 0, least_mm2 = 0;
    for (const CurrentLoop& l : p.loops) {
      area_mm2 += l.area_mm2, least_mm2 += l.least_mm2;
      EXPECT_GE(l.area_mm2, l.least_mm2 * (1 - 1e-9)) << t.id << " " << l.name;
      for (const std::string& ref : l.refs)  // every part of a loop lies within its outline
        for (const PlacedBox& b : p.boxes)
          if (b.ref == ref) {
            const auto [left, right] =
                std::minmax_element(l.hull.begin(), l.hull.end(),
                                    [](const auto& x, const auto& y) { return x.x_mm < y.x_mm; });
            EXPECT_GE(b.x_mm, left->x_mm - 1e-9) << t.id << " " << ref;
            EXPECT_LE(b.x_mm + b.width_mm, right->x_mm + 1e-9) << t.id << " " << ref;
          }
    }
    // Parts side by side with a track between them make a hull of about half as much again as
    // their courtyards; all legs share the nearest capacitor, so not every one gets that.
    EXPECT_LT(area_mm2, 2.2 * least_mm2) << t.id;
  }
}

TEST(Placement, IsTheSameEveryTimeAndSaysWhatItDoesNotKnow) {
  const Template t = test::all_templates().front();
  Design d = test::design_of(t, true);
  const Placement a = placement_of(d, {}), b = placement_of(d, {});
  ASSERT_EQ(a.boxes.size(), b.boxes.size());
  for (std::size_t k = 0; k < a.boxes.size(); ++k) {
    EXPECT_EQ(a.boxes[k].x_mm, b.boxes[k].x_mm);
    EXPECT_EQ(a.boxes[k].y_mm, b.boxes[k].y_mm);
  }
  d.parts.begin()->second.package = "ODD-7";
  EXPECT_NE(placement_of(d, {}).trouble.find("ODD-7"), std::string::npos);
}

}  // namespace
}  // namespace pb
