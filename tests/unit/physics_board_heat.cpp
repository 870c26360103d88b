// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Heat that parts share through their board.
#include "physics/board_heat.h"

#include <gtest/gtest.h>

#include "physics/duty_heat.h"
#include "physics/run.h"
#include "tests/slow/small_design.h"

namespace pb::physics {
namespace {

// 1/(2 * 10 W/(m2 K) * 87.1 cm2) and of 20 cm2, by hand.
TEST(BoardHeat, ABoardGivesOffFromBothFaces) {
  EXPECT_NEAR(board_K_W(kCoupon_m2), 5.741, 0.001);
  EXPECT_NEAR(board_K_W(2e-3), 25.0, 1e-12);
  EXPECT_NEAR(kBoard_s, 162.8, 0.1);
}

/// A design whose every part loses `each_W`.
struct Warm {
  Design d = test::small_design(test::shipped().front());
  RunFigures f;
  explicit Warm(double each_W, double area_m2) {
    d.brief.build.board_area_m2 = area_m2;
    for (const Place& p : d.wiring.places) f.parts[p.ref].loss_W = each_W;
  }
};

TEST(BoardHeat, WhatTheFacesGiveOffIsWhatThePartsLose) {
  const Warm w(0.05, 1.5e-3);
  const Temperatures t = heated(w.d, 300, w.f);
  EXPECT_NEAR((t.board_K - 300) * 2 * kFromFaces_W_m2K * 1.5e-3, board_loss_W(w.d, w.f), 1e-12);
}

TEST(BoardHeat, ASmallerBoardIsHotterByTheSameForAll) {
  const Warm w(0.05, 2e-3), half(0.05, 1e-3);
  const Temperatures a = heated(w.d, 300, w.f), b = heated(half.d, 300, half.f);
  const double by_K = (board_K_W(1e-3) - board_K_W(2e-3)) * board_loss_W(w.d, w.f);
  ASSERT_FALSE(a.junction_K.empty());
  EXPECT_GT(by_K, 10);
  for (const auto& [ref, T_K] : a.junction_K)
    EXPECT_NEAR(b.junction_K.at(ref) - T_K, by_K, 1e-9) << ref;
}

// A run in which a part's loss is what makes it hot: the temperatures it ends with are those of
// its own losses.
TEST(BoardHeat, ARunSettlesWhereItsLossesPutIt) {
  Design d = test::small_design(test::shipped().front());
  d.brief.build.board_area_m2 = 5e-4;
  const auto spreads = spreads_of(d);
  RunRequest r;
  r.plan = plan_hold(d, standing_table(d, flows_of(d.settings.sequence).front(), 0), 0.1);
  r.settled_K = 1e-3;
  const HeatedRun run = stand_heated(d, spreads, typical(spreads), r);
  ASSERT_TRUE(run.consistent);
  const Temperatures again = heated(d, value_of(spreads, typical(spreads), "ambient"), run.figures);
  EXPECT_GT(again.board_K, value_of(spreads, typical(spreads), "ambient") + 1);
  EXPECT_NEAR(run.figures.temperatures.board_K, again.board_K, 1e-3);
  for (const auto& [ref, T_K] : again.junction_K)
    EXPECT_NEAR(run.figures.temperatures.junction_K.at(ref), T_K, 1e-2) << ref;
}

}  // namespace
}  // namespace pb::physics
