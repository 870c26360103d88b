// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Pull-in and pull-out against closed forms: what holds at standstill, what impedance and back-EMF
// leave at speed, and what an inertia does to the start.
#include "judgement/torque_speed.h"

#include <gtest/gtest.h>

#include <cmath>
#include <utility>

#include "base/math.h"
#include "judgement/case.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

struct Tried {
  explicit Tried(Design design) : d(std::move(design)) { dead_time_s = dead_time_of(case_of(d)); }
  double pull_in_Nm(double rate) const {
    return carried_torque_Nm(trial(), pull_in_move(d.brief, rate));
  }
  double pull_out_Nm(double rate) const {
    return carried_torque_Nm(trial(), pull_out_move(d.brief, rate));
  }
  TorqueTrial trial() const { return {d, dead_time_s, temperatures, stop}; }

  Design d;
  double dead_time_s = 0;
  physics::Temperatures temperatures;
  StopToken stop;
};

/// Two phases on, without detent.
Design two_phase() {
  Design d = judgement_samples::sound();
  d.settings.sequence = "two-phase";
  d.brief.motor.detent_torque_Nm = 0;
  return d;
}

/// K V1/Z - K^2 w R/Z^2 of sinusoids of the square wave's fundamental. Source: P. Acarnley,
/// Stepping Motors, 4th ed. 2002, ch. 5.
double by_sinusoids_Nm(const Brief& b, double rate) {
  const MotorBrief& m = b.motor;
  const double k = motor_constant(m), r = m.winding_resistance_ohm,
               w = 2.0 * kPi * rate / m.steps_per_turn,
               x = 0.5 * kPi * rate * m.winding_inductance_H, z2 = r * r + x * x;
  return k * 4.0 / kPi * b.supply.voltage_V / std::sqrt(z2) - k * k * w * r / z2;
}

// As slow as can be, the load must not exceed the torque half-way between two equilibria, sqrt(2) K
// I cos(pi/4) = K I; a rotor with a swing carries up to the mean over the step, 4/pi K I.
TEST(TorqueSpeed, PullOutOfASlowDriveLiesBetweenTheLeastAndTheMeanOfTheStandingTorque) {
  const Tried t(two_phase());
  const MotorBrief& m = t.d.brief.motor;
  const double one_Nm = motor_constant(m) * t.d.brief.supply.voltage_V / m.winding_resistance_ohm;
  EXPECT_NEAR(standing_torque_Nm(t.d.brief), std::sqrt(2.0) * one_Nm, 1e-12);
  constexpr double kSwitches = 0.03;  // of the supply, lost in them
  const double out_Nm = t.pull_out_Nm(10);
  EXPECT_GT(out_Nm, (1 - kSwitches) * one_Nm);
  EXPECT_LT(out_Nm, 4.0 / kPi * one_Nm);
}

// Driven by a square wave and swinging, it carries a little less than sinusoids would; the shape
// over the rate is theirs.
TEST(TorqueSpeed, PullOutFallsWithTheRateAsTheClosedFormDoes) {
  const Tried t(two_phase());
  double before_Nm = HUGE_VAL;
  for (const double rate : {100.0, 200.0, 300.0, 400.0}) {
    const double form_Nm = by_sinusoids_Nm(t.d.brief, rate), out_Nm = t.pull_out_Nm(rate);
    EXPECT_LT(out_Nm, before_Nm) << rate;
    EXPECT_LT(out_Nm, form_Nm) << rate;
    EXPECT_GT(out_Nm, 0.85 * form_Nm) << rate;
    before_Nm = out_Nm;
  }
}

TEST(TorqueSpeed, PullInIsNoMoreThanPullOutAndFallsWithInertia) {
  const Tried light(two_phase());
  Design d = two_phase();
  d.brief.load.inertia_kgm2 *= 4.0;
  const Tried heavy(std::move(d));
  double before_Nm = HUGE_VAL;
  for (const double rate : {100.0, 300.0, 400.0}) {
    const double in_Nm = light.pull_in_Nm(rate);
    EXPECT_LE(in_Nm, light.pull_out_Nm(rate)) << rate;
    EXPECT_LT(in_Nm, before_Nm) << rate;
    before_Nm = in_Nm;
  }
  EXPECT_LT(heavy.pull_in_Nm(300), 0.8 * light.pull_in_Nm(300));
  // Up a ramp the inertia does not matter but for its share of the torque.
  EXPECT_NEAR(heavy.pull_out_Nm(300), light.pull_out_Nm(300),
              2.0 * kInertiaShare * standing_torque_Nm(light.d.brief));
}

// J alpha of a ramp, by hand.
TEST(TorqueSpeed, TheRampOfAPullOutTakesItsShareOfWhatTheMotorHolds) {
  Brief b = two_phase().brief;
  b.load.gear_ratio = 3, b.load.gear_efficiency = 0.9;
  EXPECT_NEAR(ramp_torque_Nm(b, pull_out_move(b, 100)), kInertiaShare * standing_torque_Nm(b),
              1e-9);
  // (2e-6 + 9e-6/3^2) kg m2 at 1000 steps/s2 of 2 pi/200, times 3 x 0.9.
  Brief own = b;
  own.motor.rotor_inertia_kgm2 = 2e-6, own.load.inertia_kgm2 = 9e-6, own.motor.steps_per_turn = 200;
  MotionBrief ramp = own.motion;
  ramp.ramp_steps_s2 = 1000;
  EXPECT_NEAR(ramp_torque_Nm(own, ramp), 254.469e-6, 1e-9);
  b.motion.start_rate_steps_s = 50,
  b.motion.ramp_steps_s2 = 1000;  // a pull-in has none all the same
  EXPECT_EQ(ramp_torque_Nm(b, pull_in_move(b, 100)), 0.0);
  EXPECT_FALSE(given(pull_in_move(b, 100).start_rate_steps_s));
  const MotionBrief fast = pull_out_move(b, 20000);  // no longer than it may be
  EXPECT_NEAR(fast.ramp_steps_s2, 20000.0 * 20000.0 / (2.0 * kLongestRamp_steps), 1.0);
}

TEST(TorqueSpeed, TheBandIsAboutThePeakThatStandsOut) {
  const auto band_of = [](const std::vector<double>& lags) {
    std::vector<RatePoint> points;
    points.reserve(lags.size());
    for (const double lag : lags)
      points.push_back({.rate_steps_s = 100.0 + 10.0 * static_cast<double>(points.size()),
                        .lag_step = lag,
                        .lost = lag > 2 ? 4.0 : 0.0});
    return resonance_band(points);
  };
  const auto band = band_of({0.5, 0.55, 1.2, 1.5, 1.1, 0.6, 0.4, 0.9});
  ASSERT_TRUE(band);
  EXPECT_EQ(band->from_steps_s, 120);
  EXPECT_EQ(band->worst_steps_s, 130);
  EXPECT_EQ(band->to_steps_s, 140);
  EXPECT_FALSE(band_of({0.5, 0.6, 0.7, 0.8}));       // rises to the end
  EXPECT_FALSE(band_of({0.5, 0.52, 0.5, 0.51}));     // stands out in nothing
  EXPECT_FALSE(band_of({0.5, 1.0, 3.0, 1.0, 0.5}));  // where steps are lost is another mark
}

}  // namespace
}  // namespace pb
