// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two transistors in one package: priced as one part, proven as two that heat each other.
#include "judgement/pairs.h"
#include "physics/board_heat.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "judgement/cost.h"
#include "model/pair.h"
#include "physics/run.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

using judgement_samples::of;

Design all_n() {
  return judgement_samples::sound({"motion.move=8 step", "controller.pin_source_current=0.05 A",
                                   "controller.pin_sink_current=0.05 A",
                                   "controller.total_current=0.3 A"});
}

/// Two of the design's low sides in one package.
Part pair_of_low_sides(const Design& d) {
  const Part& low = d.parts.at("low_side");
  Part out = low;
  out.number = "PAIR", out.part_class = "n-mosfet-pair", out.package = "SOT-23-6";
  out.price_breaks = {{1, 0.1}};
  out.figures.assign(find_part_class(out.part_class)->figures.size(), kNotGiven);
  for (const Figure& f : find_part_class(low.part_class)->figures)
    of(out, std::string(f.name)) = figure(low, f.name);
  return out;
}

TEST(Pair, HalvesAreSinglePartsOfTheirClass) {
  const Design d = all_n();
  Part pair = pair_of_low_sides(d);
  const Part& low = d.parts.at("low_side");
  for (const std::size_t k : {0U, 1U}) {
    const Part half = half_of(pair, k);
    EXPECT_EQ(half.part_class, "n-mosfet");
    EXPECT_EQ(half.package, "SOT-23-6");
    EXPECT_EQ(figure(half, "rds_max"), figure(low, "rds_max"));
  }
  EXPECT_DOUBLE_EQ(mutual_K_W(pair), kMutualShare * figure(low, "rth_ja"));
  of(pair, "second_rds_max") = 0.9, of(pair, "rth_mutual") = 100;
  EXPECT_EQ(figure(half_of(pair, 0), "rds_max"), figure(low, "rds_max"));
  EXPECT_EQ(figure(half_of(pair, 1), "rds_max"), 0.9);
  EXPECT_EQ(mutual_K_W(pair), 100);
  of(pair, "rth_mutual") = 10 * figure(low, "rth_ja");
  EXPECT_EQ(mutual_K_W(pair), figure(low, "rth_ja"));
}

TEST(Pair, StandsWhereTwoOfItsClassesDo) {
  // Two N on top of each other are a leg, and so are two beside each other a side.
  const std::vector<PairPlan> plans = pair_plans(all_n());
  ASSERT_EQ(plans.size(), 3U);
  for (const PairPlan& p : plans) EXPECT_EQ(p.pair_class, "n-mosfet-pair");
  EXPECT_EQ(plans[0].roles, (std::vector<std::string>{"high_side", "low_side"}));
  EXPECT_EQ(plans[0].places.size(), 4U);
  EXPECT_EQ(plans[1].roles, std::vector<std::string>{"high_side"});
  EXPECT_EQ(plans[2].roles, std::vector<std::string>{"low_side"});
  EXPECT_EQ(plans[2].places.size(), 2U);
  // Three legs cannot be paired side by side, nor bipolar ones at all.
  EXPECT_TRUE(pair_plans(judgement_samples::followers()).empty());
  for (const Template& t : test::all_templates()) {
    const Design d = test::design_of(t, false);
    for (const PairPlan& p : pair_plans(d)) {
      if (p.roles.size() == 2 &&
          d.parts.at(p.roles[0]).part_class != d.parts.at(p.roles[1]).part_class) {
        EXPECT_EQ(p.pair_class, "np-mosfet-pair") << t.title;
      }
      if (t.legs.size() == 3) {
        EXPECT_EQ(p.roles.size(), 2U) << t.title;
      }
    }
  }
}

// By hand. 1,000 boards, 1 % lost, four single parts a board at 0.05 or two pairs at 0.08; a line
// set up at 20, an SMD piece placed at 0.01, board at 100 a square metre, no test, no bad joint.
//   singles: 4,040 pieces at 0.05         = 202.00   0.20200 a board
//            placed 4 x 0.01                         0.04000
//            courtyards 4 x 3.5 x 3.8 mm2 = 53.2, routed twice that: 106.4e-6 m2 x 100 = 0.01064
//   pairs:   2,020 pieces at 0.08         = 161.60   0.16160
//            placed 2 x 0.01                         0.02000
//            courtyards 2 x 3.5 x 3.8 mm2: 53.2e-6 m2 x 100 = 0.00532
// One line set up either way. The difference: 0.04040 + 0.02000 + 0.00532 = 0.06572.
TEST(Pair, IsPricedAsOnePart) {
  Design d = all_n();
  BuildBrief& b = d.brief.build;
  b.quantity = 1000, b.attrition = 0.01, b.setup_per_line = 20, b.placement_smd = 0.01;
  b.board_cost_area_1_m2 = 100, b.test_time_s = 0, b.one_off = 0, b.joint_defects = 0;
  Part& low = d.parts.at("low_side");
  low.package = "SOT-23", low.price_breaks = {{1, 0.05}}, low.minimum = low.multiple = 1;
  d.parts.at("high_side").number = "another";  // no order in common
  Part pair = pair_of_low_sides(d);
  pair.price_breaks = {{1, 0.08}};
  const PairPlan plan = pair_plans(d)[2];
  const double before = landed_cost(d.brief, cost_lines(d)).total;
  const double after = landed_cost(d.brief, lines_with_pair(d, plan, pair)).total;
  EXPECT_NEAR(before - after, 0.06572, 1e-9);
}

// T_1 = T_a + R P_1 + M P_2 of losses read off the run.
TEST(Pair, HalvesHeatEachOther) {
  Design d = all_n();
  d.brief.build.board_area_m2 = physics::kCoupon_m2;
  Part pair = pair_of_low_sides(d);
  of(pair, "rth_mutual") = 150;
  const PairPlan plan = pair_plans(d)[2];
  const Design paired = with_pair(d, plan, pair);
  ASSERT_EQ(paired.shared.size(), 2U);
  physics::RunFigures f;
  const auto& [one, other] = plan.places[0];
  f.parts[one].loss_W = 0.1, f.parts[other].loss_W = 0.02;
  const physics::Temperatures t = physics::heated(paired, 300, f);
  const double r = figure(d.parts.at("low_side"), "rth_ja");
  EXPECT_NEAR(t.junction_K.at(one), 300 + 0.1 * r + 0.02 * 150, 1e-9);
  EXPECT_NEAR(t.junction_K.at(other), 300 + 0.02 * r + 0.1 * 150, 1e-9);
  EXPECT_NEAR(t.junction_K.at(plan.places[1][0]), t.board_K, 1e-9);
}

TEST(Pair, ASoundOnePassesAndAWeakOneFailsByName) {
  const Design d = all_n();
  Proof proof;
  proof.verdict.passes = true;
  Part good = pair_of_low_sides(d), weak = good, dear = good;
  of(weak, "drain_pulsed") = 0.01, weak.number = "WEAK", weak.price_breaks = {{1, 0.01}};
  of(good, "rth_mutual") = 1, good.price_breaks = {{1, 0.02}};
  dear.number = "DEAR", dear.price_breaks = {{1, 100}};
  Part obsolete = good, uneven = good, foreign = good;
  obsolete.number = "OLD", obsolete.lifecycle = "obsolete";
  uneven.number = "UNEVEN", of(uneven, "second_rds_max") = 2 * figure(good, "rds_max");
  foreign.number = "FOREIGN", foreign.currency = "QQQ";
  const PairPlan plan = pair_plans(d)[2];
  const auto tried = [&](const Effort& effort) {
    return pair_trials(d, proof, plan, {dear, good, weak, obsolete, uneven, foreign}, effort);
  };
  const std::vector<PairTrial> trials = tried({});
  ASSERT_EQ(trials.size(), 2U);  // the cheapest that passes ends it
  EXPECT_EQ(trials[0].pair.number, "WEAK");
  EXPECT_TRUE(trials[0].proven);
  EXPECT_FALSE(trials[0].passes);
  EXPECT_NE(trials[0].fails, "");
  EXPECT_EQ(trials[1].pair.number, "PAIR");
  EXPECT_TRUE(trials[1].passes) << trials[1].fails;
  EXPECT_TRUE(trials[1].proven);
  EXPECT_GT(trials[1].saves, 0);
  EXPECT_EQ(cheapest_saving(trials), &trials[1]);
  std::vector<PairTrial> worse = trials;
  worse[1].proven = false;
  EXPECT_EQ(cheapest_saving(worse), nullptr);
  Effort quick;
  quick.trials_only = [] { return true; };
  const std::vector<PairTrial> quickly = tried(quick);
  ASSERT_EQ(quickly.size(), 2U);
  EXPECT_TRUE(quickly[0].proven);  // a corner is enough to fail
  EXPECT_TRUE(quickly[1].passes);
  EXPECT_FALSE(quickly[1].proven);
  Effort none;
  none.out_of_time = [] { return true; };
  const std::vector<PairTrial> priced = tried(none);
  ASSERT_EQ(priced.size(), 1U);
  EXPECT_FALSE(priced[0].tried);
  EXPECT_GT(priced[0].saves, 0);
}

}  // namespace
}  // namespace pb
