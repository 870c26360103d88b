// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Second sources: a twin passes because the design does, a weak one fails by name, and what is not
// the same footprint and class is not tried.
#include "judgement/alternatives.h"

#include <gtest/gtest.h>

#include <algorithm>

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

}  // namespace
}  // namespace pb
