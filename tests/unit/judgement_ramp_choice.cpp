// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A ramp is chosen where one is needed, within what torque and inertia allow by hand, and carries
// the margin on a driver that loses volts.
#include "judgement/ramp_choice.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/math.h"
#include "judgement/case.h"
#include "judgement/torque_speed.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

/// More inertia than the motor can throw to this rate at once.
Design heavy() {
  Design d = judgement_samples::sound();
  d.settings.sequence = d.brief.motion.sequence = "two-phase";
  d.brief.motion.start_rate_steps_s = d.brief.motion.ramp_steps_s2 = kNotGiven;
  d.brief.motion.rate_steps_s = 200;
  d.brief.motion.move_steps = 400;
  d.brief.load.inertia_kgm2 = 2e-5;
  return d;
}

TEST(RampChoice, NoneWhereTheBriefGivesOneOrTheMotorStartsAsItIs) {
  Brief b = heavy().brief;
  EXPECT_TRUE(choose_ramp(b));
  b.motion.start_rate_steps_s = 50, b.motion.ramp_steps_s2 = 100;
  EXPECT_FALSE(choose_ramp(b));
  Brief slow = heavy().brief;
  slow.motion.rate_steps_s = 5;
  EXPECT_FALSE(choose_ramp(slow));
  Brief stuck = heavy().brief;  // no ramp helps where the motor does not hold the load
  stuck.load.torque_Nm = 2.0 * standing_torque_Nm(stuck);
  EXPECT_FALSE(choose_ramp(stuck));
}

// Newton's law is the outside here: on a ramp J alpha cannot exceed what the motor's mean torque
// leaves over the load with its margin; nor can a start get more energy than the torque that holds
// gives over the two steps that the rotor may lag.
TEST(RampChoice, StaysWithinTorqueOverInertia) {
  const Brief b = heavy().brief;
  const auto ramp = choose_ramp(b);
  ASSERT_TRUE(ramp);
  const double step_rad = 2.0 * kPi / b.motor.steps_per_turn;
  const double J = b.motor.rotor_inertia_kgm2 + b.load.inertia_kgm2;
  const double holds_Nm = standing_torque_Nm(b);
  const double load_Nm = (1.0 + b.rules.torque_margin) * b.load.torque_Nm;
  EXPECT_LT(J * ramp->ramp_steps_s2 * step_rad, holds_Nm - load_Nm);
  const double start_rad_s = ramp->start_rate_steps_s * step_rad;
  EXPECT_LT(0.5 * J * square(start_rad_s), (holds_Nm - load_Nm) * 2.0 * step_rad);
  EXPECT_LT(ramp->start_rate_steps_s, b.motion.rate_steps_s);
}

TEST(RampChoice, CarriesTheMarginOnARealDriverThatDoesNotStartWithoutIt) {
  Design d = heavy();
  const auto ramp = choose_ramp(d.brief);
  ASSERT_TRUE(ramp);
  const physics::Temperatures temperatures;
  const StopToken stop;
  const TorqueTrial trial{d, dead_time_of(case_of(d)), temperatures, stop};
  const double asked_Nm = (1.0 + d.brief.rules.torque_margin) * d.brief.load.torque_Nm;
  MotionBrief m = pull_in_move(d.brief, d.brief.motion.rate_steps_s);
  EXPECT_EQ(carries_on_move(trial, m, asked_Nm), false);
  m.start_rate_steps_s = ramp->start_rate_steps_s, m.ramp_steps_s2 = ramp->ramp_steps_s2;
  m.move_steps = d.brief.motion.move_steps;
  EXPECT_EQ(carries_on_move(trial, m, asked_Nm), true);
}

TEST(RampChoice, MoreInertiaMeansASlowerStartAndAGentlerRamp) {
  Brief b = heavy().brief;
  const auto light = choose_ramp(b);
  b.load.inertia_kgm2 *= 3.0;
  const auto heavier = choose_ramp(b);
  ASSERT_TRUE(light && heavier);
  EXPECT_LT(heavier->start_rate_steps_s, light->start_rate_steps_s);
  EXPECT_LT(heavier->ramp_steps_s2, light->ramp_steps_s2);
}

}  // namespace
}  // namespace pb
