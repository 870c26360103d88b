// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Landed cost: a board worked by hand to the last digit, rules of buying, and the lower bound.
#include "judgement/cost.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "base/random.h"
#include "judgement/package.h"

namespace pb {
namespace {

Part part(std::string number, std::string package, std::vector<PriceBreak> breaks) {
  Part p;
  p.number = std::move(number);
  p.part_class = "resistor";
  p.package = std::move(package);
  p.price_breaks = std::move(breaks);
  return p;
}

Brief brief_for_hand_work() {
  Brief b;
  b.build.quantity = 1000;
  b.build.currency = "USD";
  b.build.attrition = 0.02;
  b.build.placement_smd = 0.006;
  b.build.placement_tht = 0.05;
  b.build.setup_per_line = 5;
  b.build.board_cost_area_1_m2 = 150;
  b.build.test_time_s = 5;
  b.build.test_rate_1_s = 0.008;
  b.build.one_off = 3000;
  b.build.joint_defects = 30e-6;
  return b;
}

// 1000 boards, 2 % attrition. Eight switches in two roles of one number, one electrolytic, leads.
//   switch: need 8 · 1000 · 1.02 = 8160. At 0.05 (from 1000): 8160 · 0.05 = 408.00.
//           At 0.03 (from 10000): 10000 · 0.03 = 300.00, so 10000 are bought.
//           parts 8 · 0.03 = 0.24; attrition 300/1000 − 0.24 = 0.06
//   capacitor: need 1020, sold by 50: 1050 · 0.10 = 105.00.
//           parts 0.10; attrition 0.105 − 0.10 = 0.005
//   placement: 8 · 0.006 + 1 · 0.05 = 0.098
//   setup: two part numbers · 5 / 1000 = 0.010
//   area: courtyards 8 · 3.5 · 3.8 + 6.9 · 6.9 = 106.4 + 47.61 = 154.01 mm2; twice that, plus 100
//   mm2 of
//           copper: 408.02 mm2 · 150 /m2 = 0.061203
//   test: 5 · 0.008 = 0.04          one-off: 3000/1000 = 3
//   board thrown away: 0.34 + 0.065 + 0.098 + 0.061203 + 0.04 = 0.604203
//   joints: 8 · 3 + 2 = 26; Y = 0.99 · (1 − 30e-6)^26 = 0.99 · 0.99922029245 = 0.98922808952
//   scrap: 0.604203 · (1/Y − 1) = 0.604203 · 0.01088920807 = 0.006579292
TEST(Cost, MatchesTheBoardWorkedByHand) {
  const Brief b = brief_for_hand_work();
  const Part q = part("q", "SOT-23", {{1, 0.2}, {1000, 0.05}, {10000, 0.03}});
  Part c = part("c", "RADIAL-6.3", {{1, 0.10}});
  c.multiple = 50;
  const Cost cost =
      landed_cost(b, {{&q, 4}, {&c, 1}, {&q, 4}}, {.extra_copper_m2 = 100e-6, .unit_yield = 0.99});
  EXPECT_NEAR(cost.parts, 0.34, 1e-12);
  EXPECT_NEAR(cost.attrition, 0.065, 1e-12);
  EXPECT_NEAR(cost.placement, 0.098, 1e-12);
  EXPECT_NEAR(cost.setup, 0.010, 1e-12);
  EXPECT_NEAR(cost.area, 0.061203, 1e-12);
  EXPECT_NEAR(cost.test, 0.04, 1e-12);
  EXPECT_NEAR(cost.one_off, 3.0, 1e-12);
  EXPECT_NEAR(cost.scrap, 0.006579292, 1e-9);
  EXPECT_NEAR(cost.total, 0.34 + 0.065 + 0.098 + 0.010 + 0.061203 + 0.04 + 3.0 + 0.006579292, 1e-9);
}

TEST(Cost, BuysTheCheapestWay) {
  const Part p = part("p", "0603", {{1, 1.0}, {10, 0.5}, {100, 0.4}});
  EXPECT_EQ(cheapest_purchase(p, 4).quantity, 4);    // 4.00 against 10 for 5.00
  EXPECT_EQ(cheapest_purchase(p, 6).quantity, 10);   // 6.00 against 10 for 5.00
  EXPECT_EQ(cheapest_purchase(p, 79).quantity, 79);  // 39.50 against 100 for 40.00
  EXPECT_EQ(cheapest_purchase(p, 81).quantity, 100);
  EXPECT_EQ(cheapest_purchase(p, 81).money(), 40.0);
  EXPECT_EQ(cheapest_purchase(part("p", "0603", {{100, 0.4}}), 1).quantity, 100);
  Part reel = part("p", "0603", {{1, 0.01}});
  reel.minimum = 500;
  reel.multiple = 200;
  EXPECT_EQ(cheapest_purchase(reel, 1).quantity, 600);  // the minimum, in whole multiples
  EXPECT_EQ(cheapest_purchase(reel, 601).quantity, 800);
}

TEST(Cost, OneNumberInTwoLinesIsOneOrder) {
  const Brief b = brief_for_hand_work();
  const Part p = part("p", "0603", {{1, 0.1}, {3000, 0.05}});
  const Part twin = p;  // another object, the same number
  const Cost split = landed_cost(b, {{&p, 2}, {&twin, 3}}), whole = landed_cost(b, {{&p, 5}});
  EXPECT_EQ(split.total, whole.total);
  EXPECT_EQ(split.setup, 0.005);
}

// By hand: 4.7k and 10k are two orders of 2040 pieces at 0.1 each, 204 a reel, and 3000 at 0.09
// would be 270: 0.4 a board, two set-ups of 5. Of one value it is one order of 4080 at 0.09.
TEST(Cost, AnotherValueIsAnotherReel) {
  const Brief b = brief_for_hand_work();
  const Part r = part("r", "0603", {{1, 0.1}, {3000, 0.09}});
  const Cost apart = landed_cost(b, {{&r, 2, 1}, {&r, 2, 2}});
  EXPECT_NEAR(apart.parts, 0.4, 1e-12);
  EXPECT_NEAR(apart.setup, 0.010, 1e-12);
  const Cost alike = landed_cost(b, {{&r, 2, 1}, {&r, 2, 1}});
  EXPECT_NEAR(alike.parts, 0.36, 1e-12);
  EXPECT_NEAR(alike.setup, 0.005, 1e-12);
}

TEST(Cost, SaysWhatCannotBePriced) {
  const Brief b = brief_for_hand_work();
  Part p = part("p", "0603", {});
  p.currency = "EUR";
  p.package = "box";
  const Problems found = cost_faults(b, {{&p, 1}});
  ASSERT_EQ(found.size(), 3u);
  EXPECT_EQ(to_line(found[0]), "p: expected a price, found none");
  EXPECT_EQ(to_line(found[1]), "p: expected a price in USD, found EUR (no rates are applied)");
  EXPECT_EQ(to_line(found[2]), "p: expected a package of the table, found \"box\"");
}

TEST(Cost, PackagesAreNamedOnceAndHaveASize) {
  std::set<std::string_view> names;
  for (const Package& p : packages()) {
    EXPECT_TRUE(names.insert(p.name).second) << p.name;
    EXPECT_GE(p.joints, 2) << p.name;
    EXPECT_GT(courtyard_m2(p), 1e-6) << p.name;  // 1 mm2
    EXPECT_LT(courtyard_m2(p), 200e-6) << p.name;
  }
}

/// Parts, lines and a build drawn at random, with odd break tables.
struct RandomBoard {
  Brief brief = brief_for_hand_work();
  std::vector<Part> parts;
  std::vector<CostLine> lines;
  CostExtras extras;

  explicit RandomBoard(std::uint64_t unit) {
    const Draws d(7, unit);
    const auto pick = [&](const char* what, int i, double low, double high) {
      return d.uniform(what + std::to_string(i), low, high);
    };
    brief.build.quantity = std::floor(std::pow(10, pick("quantity", 0, 0, 6)));
    brief.build.attrition = pick("attrition", 0, 0, 0.3);
    brief.build.joint_defects = pick("defects", 0, 0, 0.002);
    extras = {pick("copper", 0, 0, 1e-3), pick("yield", 0, 0.5, 1)};
    for (int i = 0; i < 8; ++i) {
      const auto package = packages()[static_cast<std::size_t>(
          pick("package", i, 0, 1) * static_cast<double>(packages().size()))];
      Part p = part("p" + std::to_string(static_cast<int>(pick("number", i, 0, 6))),
                    std::string(package.name), {});
      double quantity = std::floor(pick("first", i, 1, 20));
      for (int k = 0; k < 4; ++k) {
        p.price_breaks.push_back(
            {quantity, pick("price", 10 * i + k, 0.001, 1)});  // not always falling
        quantity = std::floor(quantity * pick("step", 10 * i + k, 1.5, 20)) + 1;
      }
      p.minimum = std::floor(pick("minimum", i, 1, 300));
      p.multiple = std::floor(pick("multiple", i, 1, 120));
      // The same number is the same part.
      for (const Part& old : parts)
        if (old.number == p.number) p = old;
      parts.push_back(p);
    }
    for (int i = 0; i < 8; ++i)
      lines.push_back(
          {&parts[static_cast<std::size_t>(i)], static_cast<int>(pick("count", i, 0, 12))});
  }
  RandomBoard(const RandomBoard&) = delete;
};

TEST(Cost, FloorIsNeverAboveTheCost) {
  for (std::uint64_t unit = 0; unit < 3000; ++unit) {
    const RandomBoard b(unit);
    const double landed = landed_cost(b.brief, b.lines, b.extras).total;
    EXPECT_LE(floor_cost(b.brief, b.lines), landed) << unit;
    // Nor is the floor of a board not yet complete, which is what lets a search leave early.
    for (std::size_t n = 0; n < b.lines.size(); ++n)
      EXPECT_LE(floor_cost(b.brief, {b.lines.begin(), b.lines.begin() + static_cast<long>(n)}),
                landed)
          << unit << ' ' << n;
  }
}

TEST(Cost, SumOfSharesIsNeverAboveTheCost) {
  for (std::uint64_t unit = 0; unit < 3000; ++unit) {
    const RandomBoard b(unit);
    std::set<std::string> different;
    double shares = 0;
    for (const CostLine& line : b.lines) {
      shares += floor_share(b.brief, line);
      if (line.count > 0) different.insert(line.part->number);
    }
    const double sum = floor_base(b.brief, static_cast<int>(different.size())) + shares;
    EXPECT_LE(sum, floor_cost(b.brief, b.lines) * (1 + 1e-11)) << unit;
    EXPECT_LE(sum, landed_cost(b.brief, b.lines, b.extras).total) << unit;
  }
}

// Why the sum is needed: putting the dearer of two parts into a second role lowers floor_cost, as
// it saves a set-up. The sum rises.
TEST(Cost, ADearerPartNeverLowersTheSum) {
  Brief b = brief_for_hand_work();
  b.build.quantity = 10;
  const Part cheap = part("cheap", "0603", {{1, 0.10}}), dear = part("dear", "0603", {{1, 0.11}});
  EXPECT_LT(floor_cost(b, {{&dear, 1}, {&dear, 1}}), floor_cost(b, {{&cheap, 1}, {&dear, 1}}));
  EXPECT_LT(floor_share(b, {&cheap, 1}), floor_share(b, {&dear, 1}));
}

TEST(Cost, FloorIsTheCostWhereNothingIsLost) {
  Brief b = brief_for_hand_work();
  b.build.attrition = 0;
  const Part p = part("p", "0603", {{1, 0.1}});
  const double landed = landed_cost(b, {{&p, 3}}).total;
  EXPECT_NEAR(floor_cost(b, {{&p, 3}}), landed, 1e-9);
}

TEST(Cost, ItemsAreNotNegativeAndSumUp) {
  for (std::uint64_t unit = 0; unit < 500; ++unit) {
    const RandomBoard b(unit);
    const Cost c = landed_cost(b.brief, b.lines, b.extras);
    double sum = 0;
    for (const double item :
         {c.parts, c.attrition, c.placement, c.setup, c.area, c.test, c.one_off, c.scrap}) {
      EXPECT_GE(item, -1e-12) << unit;
      sum += item;
    }
    EXPECT_NEAR(sum, c.total, 1e-9 * c.total);
  }
}

}  // namespace
}  // namespace pb
