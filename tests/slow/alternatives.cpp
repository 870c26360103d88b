// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Second sources: a twin passes because the design does, a weak one fails by name, and what is not
// the same footprint and class is not tried.
#include "judgement/alternatives.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "judgement/cost.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

TEST(Alternatives, ATwinPassesAndAWeakOneFailsByName) {
  const Design d = judgement_samples::sound(
      {"motion.move=8 step", "controller.pin_source_current=0.05 A",
       "controller.pin_sink_current=0.05 A", "controller.total_current=0.3 A"});
  const Part& low = d.parts.at("low_side");
  Part twin = low, weak = low, other = low, foreign = low;
  twin.number = "TWIN", weak.number = "WEAK", other.number = "OTHER", foreign.number = "FOREIGN";
  judgement_samples::of(weak, "vds_max") = 1.5;  // below any supply here
  other.package = "DPAK", foreign.currency = "QQQ";
  Proof proof;
  proof.verdict.passes = true;
  AlternativesOptions o;
  o.most = 2, o.most_values = 0;
  Part third = twin;
  third.number = "THIRD";
  for (PriceBreak& p : third.price_breaks) p.unit_price *= 2;  // dearest: the one left
  const Alternatives a = alternatives_of(d, proof, {third, twin, weak, other, foreign, low}, o);
  ASSERT_EQ(a.parts.size(), 2u);
  EXPECT_EQ(a.left, 1);
  const auto find = [&](const std::string& number) {
    return std::find_if(a.parts.begin(), a.parts.end(),
                        [&](const Trial& t) { return t.part.number == number; });
  };
  ASSERT_NE(find("TWIN"), a.parts.end());
  ASSERT_NE(find("WEAK"), a.parts.end());
  EXPECT_TRUE(find("TWIN")->passes) << find("TWIN")->fails;
  EXPECT_EQ(find("TWIN")->replaces, low.number);
  EXPECT_FALSE(find("WEAK")->passes);
  EXPECT_NE(find("WEAK")->fails, "");
}

TEST(Alternatives, EffortGoesWhereThereIsNoSecondSource) {
  Design d = judgement_samples::sound({"motion.move=8 step", "controller.pin_source_current=0.05 A",
                                       "controller.pin_sink_current=0.05 A",
                                       "controller.total_current=0.3 A"});
  d.parts["high_side"].number = "HIGH";
  const Part& low = d.parts.at("low_side");
  const Part& high = d.parts.at("high_side");
  Part weak = low, weaker = low, good = high, better = high;
  weak.number = "WEAK", weaker.number = "WEAKER", good.number = "GOOD", better.number = "BETTER";
  good.package = better.package = d.parts["high_side"].package = "SMA";  // no twin of the low side
  for (Part* p : {&weak, &weaker}) judgement_samples::of(*p, "vds_max") = 1.5;
  Proof proof;
  proof.verdict.passes = true;
  AlternativesOptions o;
  o.most = 3, o.most_values = 0;
  const Alternatives a = alternatives_of(d, proof, {weak, weaker, good, better}, o);
  ASSERT_EQ(a.parts.size(), 3u);
  EXPECT_EQ(a.left, 1);
  // The high side has one after its first trial; the third goes to the low side again.
  const auto low_sides = std::count_if(a.parts.begin(), a.parts.end(),
                                       [&](const Trial& t) { return t.replaces == low.number; });
  EXPECT_EQ(low_sides, 2);
  EXPECT_EQ(a.parts.back().replaces, low.number);
}

// By hand. 1,000 boards with eight resistors of each of two values of one row, nothing lost, set up
// at 20 a line. 8,000 pieces at 0.002 are 16, 10,000 at 0.001 are 10: two reels cost 20, or 0.020 a
// board, and 0.040 to set up. Of one value 16,000 at 0.001 are 16: 0.016, and 0.020. Saved: 0.024.
TEST(Alternatives, OneValueSavesAReel) {
  Design d = judgement_samples::sound({"motion.move=8 step", "controller.pin_source_current=0.05 A",
                                       "controller.pin_sink_current=0.05 A",
                                       "controller.total_current=0.3 A"});
  BuildBrief& b = d.brief.build;
  b.quantity = 1000, b.attrition = 0, b.setup_per_line = 20, b.joint_defects = 0;
  Part& gate = d.parts.at("gate_resistor");
  gate.minimum = gate.multiple = 1, gate.price_breaks = {{1, 0.002}, {10000, 0.001}};
  d.parts.at("pull_down") = gate;
  d.settings.value["gate_resistor"] = 1e3, d.settings.value["pull_down"] = 10e3;
  Proof proof;
  proof.verdict.passes = true;
  AlternativesOptions o;
  o.most = 0, o.most_values = 2;
  const Alternatives a = alternatives_of(d, proof, {}, o);
  ASSERT_EQ(a.values.size(), 2U);
  for (const Trial& t : a.values) {
    EXPECT_TRUE(t.tried);
    EXPECT_NEAR(t.saves, 0.024, 1e-9);
    EXPECT_NEAR(t.landed_cost, landed_cost(d.brief, cost_lines(d)).total - 0.024, 1e-9);
    EXPECT_TRUE(t.passes || !t.fails.empty());
  }
  for (const Trial& t : shared_values(d, 2)) {
    EXPECT_FALSE(t.tried);
    EXPECT_NEAR(t.saves, 0.024, 1e-9);
  }
}

}  // namespace
}  // namespace pb
