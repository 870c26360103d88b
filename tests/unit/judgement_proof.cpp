// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the proof adds to its checks: numbers too near a limit, and what a number hangs on.
#include "judgement/proof.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

const Check& row(const Verdict& v, const std::string& id) {
  const auto at =
      std::find_if(v.checks.begin(), v.checks.end(), [&](const Check& c) { return c.id == id; });
  EXPECT_NE(at, v.checks.end()) << id;
  return *at;
}

// The limit of supply_mean is the brief's current_limit, which is no part of the circuit: it can be
// put as near to the value as one likes without moving the value.
Verdict with_limit(double limit_A) {
  Design d = judgement_samples::sound();
  d.brief.supply.current_limit_A = limit_A;
  return prove(d, {}).verdict;
}

TEST(Proof, RunsAgainAtATenthOfTheTolerancesNearALimitAndFailsWhatIsStillTooNear) {
  const Check easy = row(with_limit(10.0), "supply_mean");
  EXPECT_TRUE(easy.passes);
  EXPECT_NEAR(easy.allowance, 1e-3 * easy.value, 1e-12);

  // Ask for the sharp value first: 0.05 % off the limit is within the usual allowance.
  const Check near = row(with_limit(easy.value * 1.0005), "supply_mean");
  EXPECT_NEAR(near.allowance, 1e-4 * near.value, 1e-9) << "the corner was run again";
  EXPECT_NEAR(near.value, easy.value, 1e-3 * easy.value);

  const double sharp = near.passes ? near.value : near.value / (1.0 + 1e-4);
  const Check too_near = row(with_limit(sharp * 1.00002), "supply_mean");
  EXPECT_FALSE(too_near.passes) << "below its limit, but by less than the numerics are good for";
  EXPECT_LT(too_near.margin, 0.0);
  EXPECT_NE(too_near.help.find("too close"), std::string::npos);

  const Check clear = row(with_limit(sharp * 1.0008), "supply_mean");
  EXPECT_TRUE(clear.passes) << "outside a tenth of the allowance";
}

TEST(Proof, NamesTheStrongestInputsAndGivesFiguresNoAllowance) {
  const Verdict v = with_limit(10.0);
  const Check& mean = row(v, "supply_mean");
  // I = V/R: ten per cent on the resistance outweighs five on the supply; signs by Ohm's law.
  ASSERT_GE(mean.inputs.size(), 2u);
  EXPECT_LE(mean.inputs.size(), 3u);
  EXPECT_EQ(mean.inputs[0].figure, "motor.winding_resistance");
  EXPECT_EQ(mean.inputs[0].end, "max");
  EXPECT_GT(mean.inputs[0].margin_change, 0);
  EXPECT_EQ(mean.inputs[1].figure, "supply.voltage");
  EXPECT_LT(mean.inputs[1].margin_change, 0);
  const Check& pins = row(v, "pins");
  EXPECT_EQ(pins.value, pins.limit) << "all eight pins used";
  EXPECT_EQ(pins.allowance, 0.0);
  EXPECT_TRUE(pins.passes);
}

}  // namespace
}  // namespace pb
