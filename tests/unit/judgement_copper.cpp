// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The copper table against closed forms and published tables.
#include "judgement/copper.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "physics/copper.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

CopperTable table_of(const Design& d) {
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  return copper_table(c);
}

TEST(CopperTable, AsksForTheWidthOfIpc2221) {
  const Design d = judgement_samples::sound();
  const CopperTable t = table_of(d);
  ASSERT_EQ(t.trouble, "");
  ASSERT_FALSE(t.nets.empty());
  const double foil_m = d.brief.build.copper_thickness_m, rise_K = d.brief.rules.trace_rise_K;
  for (const NetCopper& n : t.nets) {
    // I = k dT^0.44 A^0.725 holds for the width asked; inner over outer is 2^(1/0.725).
    const double mil2 = n.outer_m * foil_m / 6.4516e-10;
    EXPECT_NEAR(0.048 * std::pow(rise_K, 0.44) * std::pow(mil2, 0.725), n.through.rms_A,
                1e-9 + 1e-9 * n.through.rms_A)
        << n.net;
    if (n.outer_m > 0) {
      EXPECT_NEAR(n.inner_m / n.outer_m, 2.601440, 1e-5) << n.net;
    }
    EXPECT_GE(n.drawn_m, std::max(n.outer_m, 0.2e-3) * (1 - 1e-9)) << n.net;
    EXPECT_LE(n.through.rms_A, n.through.peak_A * (1 + 1e-6) + 1e-12) << n.net;
    // Vias of 0.3 mm and 25 um carry 0.9512 A each at 10 K, as tabled.
    if (rise_K == 10.0) {
      EXPECT_EQ(n.vias, std::max(1, int(std::ceil(n.through.rms_A / 0.9512))));
    }
  }
}

TEST(CopperTable, HoldsTheCurrentOfOhmsLawWhereMostFlows) {
  const Design d = judgement_samples::sound();
  const CopperTable t = table_of(d);
  const auto& b = d.brief;
  const double highest_V = b.supply.voltage_V * (1 + b.supply.tolerance),
               coldest_ohm = b.motor.winding_resistance_ohm * (1 - b.motor.resistance_tolerance) *
                             (1 + 0.00393 * (b.ambient.min_K - 298.15) / (1 + 0.00393 * 5));
  for (const auto& node : d.wiring.winding_a) {
    const auto n = std::find_if(t.nets.begin(), t.nets.end(),
                                [&](const NetCopper& x) { return x.net == node; });
    ASSERT_NE(n, t.nets.end());
    const double most_A = highest_V / coldest_ohm;  // V/R without any switch
    EXPECT_LT(n->through.rms_A, most_A * 1.001) << node;
    EXPECT_GT(n->through.rms_A, 0.5 * most_A) << node;
    EXPECT_GE(n->apart_V, 0.8 * highest_V) << node;
  }
}

TEST(CopperTable, ChoosesWireByItsRating) {
  const CopperTable t = table_of(judgement_samples::sound());
  ASSERT_EQ(t.leads.size(), 6u);  // supply: two, motor: four
  for (const LeadCopper& l : t.leads) {
    EXPECT_GE(l.rated_A, l.flow.rms_A) << l.name;
    EXPECT_GT(l.gauge, 0) << l.name;
    EXPECT_NEAR(l.contact_A, 2 * l.flow.rms_A, 1e-12) << l.name;  // ECSS-Q-ST-30-11C: half
    EXPECT_LT(l.rise_K, 35) << l.name;                            // 105 degC less 70 degC
    EXPECT_GE(l.rise_K, 0) << l.name;
  }
}

TEST(CopperTable, ReadsPublishedThermalResistances) {
  // Application note AN-994-1 table 1, greatest values: 342.6 and 230.0 K/W at one square inch.
  EXPECT_EQ(copper_area_for("SOT-23", 350).area_m2, 0);
  EXPECT_NEAR(copper_area_for("SOT-23", 230.0).area_m2, 645.16e-6, 1e-9);
  EXPECT_FALSE(copper_area_for("SOT-23", 200).reachable);
  EXPECT_NEAR(copper_area_for("SOT-223", 81.2).area_m2, 300e-6, 1e-9);
  const double between = copper_area_for("DPAK", 50).area_m2;
  EXPECT_GT(between, 0);
  EXPECT_LT(between, 645.16e-6);
  EXPECT_FALSE(given(copper_area_for("ODD-7", 50).area_m2));
  // SOD-123: 340 K/W on the reference pad, nothing about more copper.
  EXPECT_EQ(copper_area_for("SOD-123", 350).area_m2, 0);
  EXPECT_FALSE(given(copper_area_for("SOD-123", 300).area_m2));
  EXPECT_EQ(copper_area_for("SOD-123", 300).footprint_K_W, 340);
  EXPECT_NEAR(copper_area_for("SOT-323", 460).area_m2, 50e-6, 1e-9);
}

TEST(CopperTable, AsksForNoMoreCopperThanTheProofNeeds) {
  Design d = judgement_samples::sound();
  for (auto& [role, part] : d.parts)
    if (part.part_class.ends_with("-mosfet")) {
      part.package = "SOT-323";
      judgement_samples::of(part, "rth_ja") = 440;
    }
  const auto bare = on_bare_footprints(d);
  ASSERT_TRUE(bare);
  CopperTable t = table_of(d);
  std::string one;
  for (const JunctionCopper& j : t.junctions) {
    if (j.package != "SOT-323") continue;
    one = j.ref;
    EXPECT_EQ(figure(bare->parts.at(find_place(d.wiring, j.ref)->role), "rth_ja"), 500);
    EXPECT_NEAR(j.area_m2, 75e-6, 1e-9);
  }
  ASSERT_NE(one, "");
  Check fails;
  fails.id = "switch_junction", fails.passes = false, fails.subject = one;
  const auto sufficing = [&](const Verdict& v) {
    CopperTable now = t;
    spare_copper(now, v);
    return std::count_if(now.junctions.begin(), now.junctions.end(),
                         [](const JunctionCopper& j) { return j.footprint_suffices; });
  };
  Verdict v;
  const auto all = sufficing(v);
  EXPECT_GT(all, 1);
  v.checks = {fails};
  EXPECT_EQ(sufficing(v), all - 1);
  v.checks[0].subject = "rotor";  // what the whole board brings about
  EXPECT_EQ(sufficing(v), 0);
  v.checks.clear();
  v.undecided = {"no convergence"};
  EXPECT_EQ(sufficing(v), 0);
  // Parts that rest on no less than the bare footprint change nothing.
  for (auto& [role, part] : d.parts) {
    const int at = figure_index(*find_part_class(part.part_class), "rth_ja");
    if (at >= 0) part.figures[static_cast<std::size_t>(at)] = 700;
  }
  EXPECT_FALSE(on_bare_footprints(d));
}

}  // namespace
}  // namespace pb
