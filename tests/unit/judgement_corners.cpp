// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Corners of made-up findings, worked by hand.
#include "judgement/corners.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

const CheckRow& at_most() {
  for (const CheckRow& r : check_rows())
    if (r.sense == Sense::max && r.reads == Reads::waveform) return r;
  return check_rows().front();
}

/// Of a limit of 1: the margin is 1 - value.
Found found(double value, std::vector<double> slope, Signs signs) {
  Found f;
  f.row = &at_most();
  f.worst.value = value, f.worst.limit = 1;
  f.slope = std::move(slope), f.signs = std::move(signs);
  return f;
}

TEST(Corners, ThoseWithoutContradictionAreOne) {
  const Findings all{{{"x", "tight"}, found(0.9, {-0.1, 0, 0}, {0, 0, 0})},
                     {{"x", "agrees"}, found(0.5, {-0.1, 0.1, 0}, {0, 0, 0})},
                     {{"x", "differs"}, found(0.1, {0.1, 0, 0.0005}, {0, 0, 0})}};
  const std::vector<Signs> out = distinct_corners(all);
  ASSERT_EQ(out.size(), 2U);
  EXPECT_EQ(out[0], (Signs{1, -1, 0}));  // what lowers the margin of the first two
  EXPECT_EQ(out[1], (Signs{-1, 0, 0}));  // 0.0005 is no effect
}

TEST(Corners, FlipsAreOfTightChecksAndOfWhatActs) {
  const std::vector<physics::Spread> spreads{{"a", 0.9, 1, 1.1, Grade::modelled, ""},
                                             {"b", 0.9, 1, 1, Grade::modelled, ""},
                                             {"c", 1, 1, 1, Grade::modelled, ""}};
  const Findings all{{{"x", "tight"}, found(0.9, {-0.1, -0.1, -0.1}, {1, 0, 0})},
                     {{"x", "loose"}, found(0.5, {-0.1, -0.1, 0}, {1, 1, 0})}};
  EXPECT_EQ(flips(all, spreads, {}), (std::vector<Signs>{{-1, 0, 0}, {1, -1, 0}}));
  EXPECT_EQ(flips(all, spreads, {{-1, 0, 0}}), (std::vector<Signs>{{1, -1, 0}}));
}

TEST(Corners, TiesAreToldByWhatTheyDependOn) {
  const Found a = found(0.5, {0.1, 0}, {1, 0}), b = found(0.5 + 1e-12, {0.2, 0}, {1, 0}),
              c = found(0.6, {0.3, 0}, {1, 0});
  EXPECT_TRUE(tighter(&a, &b));  // the same margin to the last digit: by slope
  EXPECT_FALSE(tighter(&b, &a));
  EXPECT_TRUE(tighter(&c, &a));
}

const std::vector<physics::Spread>& with_supplies() {
  static const std::vector<physics::Spread> spreads{
      {"supply.voltage", 4.75, 5, 5.25, Grade::modelled, ""},
      {"ambient", 273, 298, 323, Grade::modelled, ""},
      {"controller.logic_voltage", 4.75, 5, 5.25, Grade::modelled, ""}};
  return spreads;
}

TEST(Corners, SuppliesAreMovedApartIfBothVary) {
  EXPECT_EQ(rails_apart(with_supplies()), (std::vector<Signs>{{-1, 0, 1}, {1, 0, -1}}));
  std::vector<physics::Spread> exact = with_supplies();
  exact[0].min = exact[0].max = 5;
  EXPECT_TRUE(rails_apart(exact).empty());
}

TEST(Corners, WhatBothSuppliesDoTogetherOverrulesTheirSlopes) {
  const Signs low_high{-1, 0, 1}, high_low{1, 0, -1};
  Found f = found(0.3, {0.0, -0.1, 0.02}, {0, 0, 0});
  note_joint(f, 0.7, low_high, 0.6802);  // what the logic's own slope says, within 1e-3
  EXPECT_TRUE(f.joint.empty());
  note_joint(f, 0.7, low_high, 0.2);
  note_joint(f, 0.7, high_low, 0.4);  // no worse than that
  EXPECT_EQ(f.joint, low_high);
  EXPECT_EQ(distinct_corners({{{"x", "saturates"}, f}}), (std::vector<Signs>{{-1, 1, 1}}));
}

}  // namespace
}  // namespace pb
