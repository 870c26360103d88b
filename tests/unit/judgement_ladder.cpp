// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What is said about a cost once it is known: other quantities, what it hangs on, what a dearer
// design buys. A rung of the ladder is worked by hand.
#include "judgement/ladder.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/random.h"
#include "judgement/pareto.h"
#include "judgement/tornado.h"
#include "tests/unit/delivery_samples.h"

namespace pb {
namespace {

/// A board of one role of single parts, or of one chip: prices are all that matters here.
Design board(const std::string& part_class, const std::string& package, int places,
             std::vector<PriceBreak> breaks) {
  Design d;
  d.wiring.title = "board of " + part_class;
  d.wiring.roles = {{"role", part_class, "", false, {}}};
  for (int k = 0; k < places; ++k) {
    Place p;
    p.ref = "X" + std::to_string(k + 1);
    p.role = "role";
    d.wiring.places.push_back(p);
  }
  Part p;
  p.number = "the " + part_class;
  p.part_class = part_class;
  p.package = package;
  p.price_breaks = std::move(breaks);
  d.parts["role"] = p;
  BuildBrief& b = d.brief.build;
  b.quantity = 1000, b.currency = p.currency;
  b.attrition = 0.02, b.placement_smd = 0.006, b.placement_tht = 0.05, b.setup_per_line = 5;
  b.board_cost_area_1_m2 = 150, b.test_time_s = 5, b.test_rate_1_s = 0.008, b.one_off = 3000;
  b.joint_defects = 30e-6;
  return d;
}

Design own() { return board("n-mosfet", "SOT-23", 8, {{1, 0.2}, {1000, 0.05}, {10000, 0.03}}); }
Design bought() { return board("dual-bridge-chip", "TSSOP-16", 1, {{1, 1.2}, {1000, 0.6}}); }

// 10,000 boards of eight switches, worked by hand:
//   need 8 · 10,000 · 1.02 = 81,600 at 0.03: 2,448.00
//   parts 8 · 0.03 = 0.24; attrition 0.2448 − 0.24 = 0.0048; placement 8 · 0.006 = 0.048
//   set-up 5/10,000 = 0.0005; area 2 · 8 · 3.5 · 3.8 mm2 = 212.8 mm2 · 150 /m2 = 0.03192
//   test 5 · 0.008 = 0.04; one-off 3000/10,000 = 0.3
//   thrown away with a bad board: 0.24 + 0.0048 + 0.048 + 0.03192 + 0.04 = 0.36472
//   24 joints: Y = (1 − 30e-6)^24 = 1 − 7.2e-4 + 276 · 9e-10 = 0.99928025
//   scrap 0.36472 · (1/Y − 1) = 0.36472 · 0.00072027 = 0.00026270
//   total 0.24 + 0.0048 + 0.048 + 0.0005 + 0.03192 + 0.04 + 0.3 + 0.0002627 = 0.6654827
TEST(Ladder, ARungIsTheBoardWorkedByHand) {
  const LadderLine line = ladder_line(own(), {100, 10000});
  EXPECT_NEAR(line.costs[1].total, 0.6654827, 1e-7);
  // At 100 boards 816 pieces are needed: 1000 at 0.05 (50.00) cost less than 816 at 0.2 (163.20).
  EXPECT_NEAR(line.costs[0].parts, 8 * 0.05, 1e-12);
  EXPECT_NEAR(line.costs[0].attrition, 50.0 / 100 - 8 * 0.05, 1e-12);
  EXPECT_NEAR(line.costs[0].one_off, 30, 1e-12);
  EXPECT_FALSE(line.bought);
}

TEST(Ladder, GoesFromAHundredToAMillion) {
  const std::vector<double> q = ladder_quantities();
  EXPECT_EQ(q.front(), 100);
  EXPECT_EQ(q.back(), 1e6);
  EXPECT_EQ(q.size(), 13u);
  for (std::size_t k = 1; k < q.size(); ++k) EXPECT_GT(q[k], q[k - 1]);
}

TEST(Ladder, ABoughtBoardCarriesNoOneOffWork) {
  const LadderLine line = ladder_line(bought(), ladder_quantities());
  EXPECT_TRUE(line.bought);
  EXPECT_EQ(line.name, "the dual-bridge-chip");
  for (const Cost& c : line.costs) EXPECT_EQ(c.one_off, 0);
}

TEST(Ladder, BreaksEvenWhereTheCostsCross) {
  const Design a = own(), b = bought();
  const BreakEven e = break_even(a, b);
  ASSERT_TRUE(given(e.with_one_off));
  const auto difference = [&](double quantity, bool one_off) {
    Design x = a, y = b;
    x.brief.build.quantity = y.brief.build.quantity = quantity;
    const Cost cx = landed_cost(x.brief, cost_lines(x)), cy = landed_cost(y.brief, cost_lines(y));
    return cx.total - (one_off ? 0 : cx.one_off) - (cy.total - (one_off ? 0 : cy.one_off));
  };
  EXPECT_LT(difference(e.with_one_off, true), 0);
  EXPECT_GE(difference(e.with_one_off - 1, true), 0);
  for (double q = e.with_one_off; q < 1e6; q *= 1.3)
    EXPECT_LT(difference(std::round(q), true), 0) << q;
  EXPECT_EQ(e.without_one_off, 100);  // 0.4 of parts against 0.6: from the first rung on
  EXPECT_LT(e.without_one_off, e.with_one_off);
  // A chip as cheap as one switch is never beaten.
  const BreakEven never = break_even(a, board("dual-bridge-chip", "TSSOP-16", 1, {{1, 0.02}}));
  EXPECT_FALSE(given(never.with_one_off));
  EXPECT_FALSE(given(never.without_one_off));
}

TEST(Tornado, MovesOneInputAtATime) {
  const Design d = own();
  const double cost = landed_cost(d.brief, cost_lines(d)).total;
  const std::vector<TornadoBar> bars = tornado(d.brief, cost_lines(d));
  ASSERT_GE(bars.size(), 9u);
  double before = INFINITY;
  for (const TornadoBar& b : bars) {
    const double swing = std::abs(b.cost_high - b.cost_low);
    EXPECT_LE(swing, before) << b.input;
    before = swing;
    EXPECT_LE(std::min(b.cost_low, b.cost_high), cost + 1e-12) << b.input;
    EXPECT_GE(std::max(b.cost_low, b.cost_high), cost - 1e-12) << b.input;
  }
  // 3000 over 1000 boards: halved and doubled.
  const auto one_off = std::find_if(bars.begin(), bars.end(),
                                    [](const TornadoBar& b) { return b.input == "one-off work"; });
  ASSERT_NE(one_off, bars.end());
  EXPECT_NEAR(one_off->cost_low, cost - 1.5, 1e-12);
  EXPECT_NEAR(one_off->cost_high, cost + 3, 1e-12);
}

TEST(Tornado, LeavesOutWhatChangesNothing) {
  const Design d = bought();  // no one-off work
  for (const TornadoBar& b : tornado(d.brief, cost_lines(d))) EXPECT_NE(b.input, "one-off work");
}

TEST(Pareto, KeepsWhatNothingBeats) {
  const Goals best{1, 350, 1e-4, 20, 1};
  Goals hotter = best, cooler = best, equal = best;
  hotter.landed_cost = 2, hotter.hottest_degC = 360;
  cooler.landed_cost = 2, cooler.hottest_degC = 340;
  EXPECT_EQ(pareto_front({best, hotter, cooler, equal}), (std::vector<std::size_t>{0, 2}));
  EXPECT_TRUE(pareto_front({}).empty());
}

TEST(Pareto, AgreesWithTheDefinitionOnRandomPoints) {
  std::vector<Goals> all;
  for (std::uint64_t k = 0; k < 60; ++k) {
    const Draws d(5, k);
    const auto step = [&](const char* name) { return std::floor(d.uniform(name, 0, 4)); };
    all.push_back({step("cost"), step("heat"), step("area"), step("parts"), step("energy")});
  }
  const auto as_good = [](const Goals& a, const Goals& b) {
    return a.landed_cost <= b.landed_cost && a.hottest_degC <= b.hottest_degC &&
           a.board_area_m2 <= b.board_area_m2 && a.parts <= b.parts && a.energy_J <= b.energy_J;
  };
  const std::vector<std::size_t> front = pareto_front(all);
  for (std::size_t k = 0; k < all.size(); ++k) {
    const bool in = std::find(front.begin(), front.end(), k) != front.end();
    bool covered = false;  // by another of the front
    for (std::size_t f : front) covered = covered || (f != k && as_good(all[f], all[k]));
    EXPECT_NE(in, covered) << k;
  }
}

TEST(Cost, BoardAreaIsTheRoutedShareOfCourtyards) {
  const Design d = own();
  EXPECT_NEAR(board_area_m2(cost_lines(d)), 2 * 8 * 3.5e-3 * 3.8e-3, 1e-12);
}

}  // namespace
}  // namespace pb
