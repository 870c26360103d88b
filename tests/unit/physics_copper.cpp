// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Copper and wire against their tables.
#include "physics/copper.h"

#include <gtest/gtest.h>

#include "physics/wire.h"

namespace pb::physics {
namespace {

constexpr double kFoil_m = 35e-6;

TEST(Copper, CarriesWhatTheFitOfIpc2221Says) {
  struct Row {
    double width_mm, outer10_A, inner10_A, outer20_A;
  };
  constexpr Row kRows[] = {// IPC-2221A 6.2 as fitted in published texts; worked independently
                           {0.254, 0.8855, 0.4427, 1.2013},
                           {0.5, 1.4469, 0.7234, 1.9629},
                           {1.0, 2.3916, 1.1958, 3.2444},
                           {2.0, 3.9530, 1.9765, 5.3627}};
  for (const Row& r : kRows) {
    const double area = r.width_mm * 1e-3 * kFoil_m;
    EXPECT_NEAR(trace_current_A(area, 10, kOuterTrace), r.outer10_A, 1e-4);
    EXPECT_NEAR(trace_current_A(area, 10, kInnerTrace), r.inner10_A, 1e-4);
    EXPECT_NEAR(trace_current_A(area, 20, kOuterTrace), r.outer20_A, 1e-4);
    EXPECT_NEAR(trace_area_m2(r.outer10_A, 10, kOuterTrace) / area, 1.0, 2e-4);
  }
  EXPECT_NEAR(trace_area_m2(5, 10, kInnerTrace) / kFoil_m * 1e3, 7.1943, 1e-4);
  EXPECT_NEAR(trace_current_A(via_area_m2(0.3e-3, 25e-6), 10, kInnerTrace), 0.9512, 1e-4);
}

TEST(Copper, KnowsTheEndOfTheCharts) {
  EXPECT_TRUE(in_chart_range(34, 10, 9e-3, kFoil_m, kOuterTrace));
  EXPECT_FALSE(in_chart_range(34, 10, 9e-3, kFoil_m, kInnerTrace));
  EXPECT_FALSE(in_chart_range(1, 5, 1e-3, kFoil_m, kOuterTrace));
  EXPECT_FALSE(in_chart_range(1, 10, 11e-3, kFoil_m, kOuterTrace));
  EXPECT_FALSE(in_chart_range(1, 10, 1e-3, 140e-6, kOuterTrace));
}

TEST(Copper, MeetsTheFitToIpc2152AndTheFusingLaw) {
  // Brooks and Adam's coefficients, worked independently: 1 A in 1 mm of 35 um.
  EXPECT_NEAR(outer_rise_2152_K(1, 1e-3, kFoil_m), 2.2875, 2e-4);
  EXPECT_NEAR(outer_rise_2152_K(2.9569, 1e-3, kFoil_m), 20.0, 2e-3);
  // Onderdonk as Stauffacher printed it: 1 mm of 35 um at 25 degC, 10.1052 A for a second.
  EXPECT_NEAR(melts_within_s(1e-3 * kFoil_m, 10.1052, 25), 1.0, 1e-4);
  EXPECT_NEAR(melts_within_s(1e-3 * kFoil_m, 101.052, 25), 0.01, 1e-6);
}

TEST(Wire, HasTheSizesOfTheTable) {
  struct Row {
    double gauge, diameter_mm, area_mm2, ohm_per_km;
  };
  constexpr Row kRows[] = {// ASTM B258 and IEC 60028, 20 degC, as tabled
                           {10, 2.5882, 5.26115, 3.277},   {16, 1.2908, 1.30870, 13.174},
                           {20, 0.8118, 0.51762, 33.309},  {24, 0.5106, 0.20473, 84.215},
                           {28, 0.3211, 0.08098, 212.921}, {36, 0.1270, 0.01267, 1361.05}};
  for (const Row& r : kRows) {
    EXPECT_NEAR(awg_diameter_m(r.gauge) * 1e3, r.diameter_mm, 6e-5);
    EXPECT_NEAR(awg_area_m2(r.gauge) * 1e6, r.area_mm2, 6e-6);
    EXPECT_NEAR(copper_ohm_per_m(awg_area_m2(r.gauge), 293.15) * 1e3 / r.ohm_per_km, 1.0, 5e-5);
  }
}

TEST(Wire, LosesHeatAsATextbooksPipeDoes) {
  // F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, example 9.4 (from memory): a
  // pipe of 0.1 m at 165 degC in air of 23 degC has Nu = 23.3 and h = 7.29 W/(m2 K).
  EXPECT_NEAR(cylinder_film_W_m2K(0.1, 438.0, 296.0), 7.29, 0.03 * 7.29);
  // Steady: what heats it is what it gives away.
  const double T_K = wire_temperature_K(24, 3.0, 298.15), d = awg_diameter_m(24);
  const double in_W_m = 9.0 * copper_ohm_per_m(awg_area_m2(24), T_K),
               out_W_m = std::numbers::pi * d *
                         (cylinder_film_W_m2K(d, T_K, 298.15) * (T_K - 298.15) +
                          radiated_W_m2(T_K, 298.15));
  EXPECT_NEAR(out_W_m / in_W_m, 1.0, 1e-6);
  EXPECT_GT(wire_temperature_K(28, 3.0, 298.15), T_K);
  // MIL-STD-975M lets a single AWG 24 with insulation for 200 degC carry 3.3 A; alone in still air
  // of 70 degC it must then be warm and below that.
  const double at_limit_K = wire_temperature_K(24, 3.3, 343.15);
  EXPECT_GT(at_limit_K, 353.15);
  EXPECT_LT(at_limit_K, 473.15);
}

TEST(Copper, KeepsTheDistanceOfTheTable) {
  EXPECT_DOUBLE_EQ(clearance_for(12).bare_m, 0.1e-3);  // IPC-2221A table 6-1, from memory
  EXPECT_DOUBLE_EQ(clearance_for(31).coated_m, 0.13e-3);
  EXPECT_DOUBLE_EQ(clearance_for(31).bare_m, 0.6e-3);
}

}  // namespace
}  // namespace pb::physics
