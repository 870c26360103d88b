// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Heat over a duty cycle against the same stages stepped from cold through many cycles.
#include "physics/duty_heat.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb::physics {
namespace {

TEST(DutyHeat, IsWhereManyCyclesEnd) {
  const DutyCycle c{.move_s = 0.7, .hold_s = 0.3, .rest_s = 2.0};
  const DutyPowers p{.move_W = 0.4, .hold_W = 0.7, .rest_W = 0.05};
  // Shorter stages than the package's longest, so that cycles from cold come to rest in the test.
  std::array<ThermalStage, 3> stages = {{{0.2, 0.05}, {0.5, 1.0}, {0.3, 4.0}}};
  std::array<double, 3> at{};
  const double h = 1e-3;
  double t = 0, worst = 0, hottest = 0;
  for (long k = 0; k < 60000; ++k) {  // 20 cycles
    const double in_cycle = t - 3.0 * std::floor(t / 3.0 + 1e-9);
    if (k >= 57000) {
      double rise = 0;
      for (std::size_t i = 0; i < at.size(); ++i) rise += stages[i].share * at[i];
      worst = std::max(worst, std::abs(rise - duty_W(c, p, stages, std::max(in_cycle, 0.0))));
      hottest = std::max(hottest, rise);
    }
    const double power = in_cycle < 0.7 - 1e-9 ? 0.4 : in_cycle < 1.0 - 1e-9 ? 0.7 : 0.05;
    for (std::size_t i = 0; i < at.size(); ++i)
      at[i] = power + (at[i] - power) * std::exp(-h / stages[i].time_s);
    t = static_cast<double>(k + 1) * h;
  }
  EXPECT_LT(worst, 1e-6);
  EXPECT_NEAR(hottest_W(c, p, stages), hottest, 1e-6);
}

TEST(DutyHeat, NoRestIsForEver) {
  const DutyCycle c{.move_s = 1.0};
  EXPECT_NEAR(duty_W(c, {.move_W = 0.5}, kPackage, 0.3), 0.5, 1e-4);  // shares add up to 1
  const DutyCycle quick{.move_s = 1e-9, .rest_s = 1e-9};
  EXPECT_NEAR(duty_W(quick, {.move_W = 0.5, .rest_W = 0.1}, kPackage, 0.0), 0.3, 1e-4);
}

// The published peak of rectangular pulses of period T and duty D from a Foster chain:
// sum R_i (1 - exp(-D T/tau_i))/(1 - exp(-T/tau_i)); here by hand for one stage of 2 s, T 3 s, D
// 1/3: (1 - e^-0.5)/(1 - e^-1.5).
TEST(DutyHeat, PeaksAsPulsesDo) {
  const std::array<ThermalStage, 1> stage = {{{1.0, 2.0}}};
  EXPECT_NEAR(hottest_W({.move_s = 1.0, .rest_s = 2.0}, {.move_W = 1.0}, stage), 0.50648039, 1e-8);
}

// A drive that loses more at rest than moving is hottest when a move begins.
TEST(DutyHeat, IsHottestWhereAPowerEnds) {
  const std::array<ThermalStage, 1> stage = {{{1.0, 2.0}}};
  const DutyCycle c{.move_s = 1.0, .rest_s = 2.0};
  const DutyPowers p{.move_W = 0.2, .rest_W = 1.0};
  EXPECT_DOUBLE_EQ(hottest_W(c, p, stage), duty_W(c, p, stage, 0.0));
  EXPECT_GT(hottest_W(c, p, stage), duty_W(c, p, stage, 1.0));
}

TEST(DutyHeat, MovesLastAsLongAsTheirRampsSay) {
  MotionBrief m;
  m.rate_steps_s = 200, m.move_steps = 400;
  EXPECT_DOUBLE_EQ(move_duration_s(m), 2.0);
  m.start_rate_steps_s = 100, m.ramp_steps_s2 = 1000;
  // 0.1 s and 15 steps each way (100 t + 500 t^2), 370 steps at 200/s between.
  EXPECT_NEAR(move_duration_s(m), 0.2 + 370.0 / 200, 1e-12);
  m.move_steps = 10;  // turns back half way: 5 = 100 t + 500 t^2
  EXPECT_NEAR(move_duration_s(m), 2 * (-100 + std::sqrt(1e4 + 4 * 500 * 5.0)) / 1000, 1e-12);
}

TEST(DutyHeat, AMotorIsHeldBeforeItIsLetGo) {
  MotionBrief m;
  m.rate_steps_s = 10, m.move_steps = 20, m.hold = "off";
  EXPECT_FALSE(cycle_of(m));
  m.rest_s = 5;  // held for three steps' time: docs/drive.md
  EXPECT_DOUBLE_EQ(cycle_of(m)->move_s, 2.0);
  EXPECT_DOUBLE_EQ(cycle_of(m)->hold_s, 0.3);
  EXPECT_DOUBLE_EQ(cycle_of(m)->rest_s, 4.7);
  m.rest_s = 0.2;
  EXPECT_DOUBLE_EQ(cycle_of(m)->hold_s, 0.2);
  m.hold = "on";
  EXPECT_DOUBLE_EQ(cycle_of(m)->hold_s, 0.0);
}

}  // namespace
}  // namespace pb::physics
