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

}  // namespace
}  // namespace pb
