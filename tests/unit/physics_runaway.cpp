// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The current from which on a part's own heat finds no balance, against closed forms.
#include <gtest/gtest.h>

#include <cmath>

#include "physics/extraction.h"
#include "physics/heat.h"
#include "tests/unit/judgement_samples.h"

namespace pb::physics {
namespace {

constexpr double kCold_K = 298.15;

// 62.5 K/W at 40 degC, 0.1 ohm at 25 degC that rises by 0.6 % of that for each kelvin: T = (T_a +
// R_th I^2 R (1 - 25 a))/(1 - R_th I^2 R a) has no answer from I = 1/sqrt(R_th R a) = 5.16398 A on.
TEST(Runaway, OfALinearRiseIsWhereTheBalanceHasNoAnswer) {
  const auto ohms = [](double T_K) { return 0.1 * (1.0 + 0.006 * (T_K - kCold_K)); };
  EXPECT_NEAR(runaway_A(62.5, 313.15, ohms, 1e6), 5.16398, 1e-3);
  // Below what melts it the current is less: 800 K balance (800 K - 313.15 K)/(62.5 K/W R(800 K)).
  EXPECT_NEAR(runaway_A(62.5, 313.15, ohms), 4.4068, 0.01);  // in steps of 10 K
}

// R ~ T^2: (T - T_a)/T^2 is greatest at 2 T_a.
TEST(Runaway, OfASquareIsAtTwiceTheAmbient) {
  const auto ohms = [](double T_K) { return 0.2 * std::pow(T_K / 300.0, 2.0); };
  EXPECT_NEAR(runaway_A(100.0, 300.0, ohms), std::sqrt(300.0 / (100.0 * 0.8)), 1e-3);
}

// Just below it, rounds of heat settle; just above, they rise without end.
TEST(Runaway, IsWhereRoundsOfHeatCeaseToSettle) {
  Design d = judgement_samples::full();
  const Part& part = d.parts.at("low_side");
  const double rds_ohm = figure(part, "rds_max"), rth_K_W = 2000.0, ambient_K = 333.0;
  const auto ohms = [&](double T_K) { return on_resistance_ohm(part, 1.0, 1.5, rds_ohm, T_K); };
  EXPECT_NEAR(ohms(kCold_K), rds_ohm, 0.02 * rds_ohm);
  EXPECT_GT(ohms(398.15), 1.3 * rds_ohm);
  const double starts_A = runaway_A(rth_K_W, ambient_K, ohms);
  for (const double share : {0.98, 1.02}) {
    double T_K = ambient_K;
    for (int round = 0; round < 5000 && T_K < kMelted_K; ++round)
      T_K = ambient_K + rth_K_W * square(share * starts_A) * ohms(T_K);
    EXPECT_EQ(T_K < kMelted_K, share < 1.0) << T_K;
  }
}

}  // namespace
}  // namespace pb::physics
