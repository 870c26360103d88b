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

/// A supply that acts on its limit, as a share of what the motor draws at rest.
Verdict limited_to(double share, const std::string& behaviour) {
  Design d = judgement_samples::sound();
  const MotorBrief& m = d.brief.motor;
  d.brief.supply.current_limit_A =
      share * 2.0 * d.brief.supply.voltage_V / m.winding_resistance_ohm;
  d.brief.supply.limit_behaviour = behaviour;
  return prove(d, {}).verdict;
}

// Two windings on a supply of constant current I stand at I R/2: the rail gives way, most where the
// resistance is least.
TEST(Proof, SaysThatASupplyIsTooWeak) {
  const Verdict weak = limited_to(0.5, "constant-current"),
                ample = limited_to(3.0, "constant-current"), plain = limited_to(3.0, "checked");
  const Check& dip = row(weak, "rail_dip");
  EXPECT_FALSE(dip.passes);
  EXPECT_EQ(dip.corner.at("motor.winding_resistance"), "min");
  const Design d = judgement_samples::sound();
  EXPECT_NEAR(dip.nominal, 0.5 * d.brief.supply.voltage_V, 0.2 * d.brief.supply.voltage_V);
  EXPECT_LE(row(weak, "supply_peak").value,
            1.0 * d.brief.supply.voltage_V / d.brief.motor.winding_resistance_ohm * 1.1);
  EXPECT_TRUE(row(ample, "rail_dip").passes);
  EXPECT_NEAR(row(ample, "rail_dip").value, row(plain, "rail_dip").value,
              0.01 * row(plain, "rail_dip").value);
}

TEST(Proof, SaysThatASupplyShutsOff) {
  Design d = judgement_samples::sound();
  d.brief.supply.current_limit_A = d.brief.supply.voltage_V / d.brief.motor.winding_resistance_ohm;
  d.brief.supply.limit_behaviour = "hiccup";
  d.brief.supply.hiccup_on_s = 2e-3, d.brief.supply.hiccup_off_s = 20e-3;
  const Verdict v = prove(d, {}).verdict;
  EXPECT_FALSE(row(v, "rail_dip").passes);
  EXPECT_FALSE(row(v, "lost_steps").passes);
}

}  // namespace
}  // namespace pb
