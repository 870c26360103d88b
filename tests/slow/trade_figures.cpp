// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What people in the trade see on the bench, held against what is simulated.
#include <gtest/gtest.h>

#include "judgement/evidence.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

physics::RunFigures move(const char* sequence) {
  Design d = judgement_samples::sound({"motor.winding_resistance=29 ohm"});
  d.settings.sequence = sequence;
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  physics::RunRequest r;
  r.plan = move_plan(c);
  return physics::run(d, c.spreads, physics::typical(c.spreads), {}, r, {});
}

// A small geared 5 V motor, 25 to 33 ohm a winding, averages about 200 mA from its supply and peaks
// at 300 to 400 mA at start and at steps: common practice, no source.
TEST(TradeFigures, SupplyCurrentOfASmallGearedMotor) {
  const physics::RunFigures one = move("one-phase"), two = move("two-phase");
  EXPECT_LT(one.supply_mean_A, 0.2);
  EXPECT_GT(two.supply_mean_A, 0.2);
  EXPECT_GT(two.supply_peak_A, 0.3);
  EXPECT_LT(two.supply_peak_A, 0.4);
}

}  // namespace
}  // namespace pb
