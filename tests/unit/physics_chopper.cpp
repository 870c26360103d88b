// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopper that measures, against closed forms of a series R and L (any textbook of circuits):
// driven, i goes to V/R_1 with tau_1 = L/R_1; shorted, to zero with tau_2 = L/R_2, R_1 with the
// sense resistor and R_2 without. The moments when the latch acts are exact, so everything that
// follows from them is an exponential.
#include "physics/devices/chopper.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "tests/rigs/measured.h"

namespace pb::rigs {
namespace {

using Mode = ChopperLatch::Mode;

TEST(ChopperLatch, TripsAfterItsDelayAndNotWhileBlanked) {
  ChopperLatch latch({.blanking_s = 2e-6, .delay_s = 0.5e-6, .off_s = 20e-6});
  EXPECT_EQ(latch.next_s(), kNever_s);
  latch.drive(1e-3);
  EXPECT_DOUBLE_EQ(latch.watches_s(), 1e-3 + 1.5e-6);
  latch.cross(1e-3 + 7e-6);
  EXPECT_EQ(latch.watches_s(), kNever_s);  // once is enough
  EXPECT_DOUBLE_EQ(latch.next_s(), 1e-3 + 7.5e-6);
  latch.pass();
  EXPECT_EQ(latch.mode(), Mode::slow);
  EXPECT_DOUBLE_EQ(latch.next_s(), 1e-3 + 27.5e-6);
  latch.pass();
  EXPECT_EQ(latch.mode(), Mode::driven);
  latch.cross(latch.watches_s());  // there already: at the end of the blanking
  EXPECT_DOUBLE_EQ(latch.next_s(), 1e-3 + 27.5e-6 + 2e-6);
}

TEST(ChopperLatch, DelayLongerThanTheBlankingCountsInFull) {
  ChopperLatch latch({.blanking_s = 0.2e-6, .delay_s = 1e-6});
  latch.drive(0);
  latch.cross(0);
  EXPECT_DOUBLE_EQ(latch.next_s(), 1e-6);
}

TEST(ChopperLatch, MixedDecayIsFastFirst) {
  ChopperLatch latch({.blanking_s = 0, .off_s = 20e-6, .fast_s = 8e-6});
  latch.drive(0);
  latch.cross(1e-6);
  latch.pass();
  EXPECT_EQ(latch.mode(), Mode::fast);
  EXPECT_DOUBLE_EQ(latch.next_s(), 9e-6);
  latch.pass();
  EXPECT_EQ(latch.mode(), Mode::slow);
  EXPECT_DOUBLE_EQ(latch.next_s(), 21e-6);
}

TEST(ChopperLatch, FixedFrequencyGoesOnWithThePeriod) {
  ChopperLatch latch({.blanking_s = 0, .period_s = 50e-6, .phase_s = 25e-6});
  latch.drive(0);
  for (const auto& [crosses, on_again] :
       {std::pair{10e-6, 25e-6}, {60e-6, 75e-6}, {130e-6, 175e-6}, {225e-6, 275e-6}}) {
    latch.cross(crosses);
    latch.pass();
    EXPECT_NEAR(latch.next_s(), on_again, 1e-12) << crosses;
    latch.pass();
    EXPECT_EQ(latch.mode(), Mode::driven);
  }
}

TEST(Chopper, FixedOffTimeSwingsBetweenExponentials) {
  const ChopperRig r;
  const Seen s = chopped(r, 2e-3, 4e-3);
  ASSERT_GT(s.on_A.size(), 20U);
  const double high = r.reference_V / r.sense_ohm, low = r.falls(high, r.law.off_s),
               on_s = r.rise_time(low, high);
  for (std::size_t k = 1; k < s.on_A.size(); ++k) {
    EXPECT_NEAR(s.on_A[k], high, 2e-5 * high);
    EXPECT_NEAR(s.on_s[k], on_s, 0.03e-6);  // the bridge's edges are 10 ns each
  }
  for (const double i : s.off_A) EXPECT_NEAR(high - i, high - low, 3e-3 * (high - low));
  for (const double t : s.off_s) EXPECT_NEAR(t, r.law.off_s, 1e-12);
  EXPECT_NEAR(s.mean_A, 0.5 * (high + low), 2e-4);
  EXPECT_LT(std::abs(s.residual_J), 1e-3 * s.throughput_J + 1e-6);
}

TEST(Chopper, OvershootsByWhatItsDelayLetsThrough) {
  for (const double delay_s : {0.5e-6, 2e-6}) {
    ChopperRig r;
    r.law.delay_s = delay_s, r.law.blanking_s = 3e-6;
    const Seen s = chopped(r, 2e-3, 3e-3);
    ASSERT_GT(s.on_A.size(), 10U);
    const double at = r.reference_V / r.sense_ohm, high = r.rises(at, delay_s);
    EXPECT_NEAR(high - at, (r.supply_V - at * r.driven_ohm()) / r.inductance_H * delay_s,
                1e-3 * (high - at));  // and that is (V - I R)/L t of the handbook
    for (const double i : s.on_A) EXPECT_NEAR(i - at, high - at, 2e-5);
  }
}

// Below what the blanking alone lets through the loop has no say: on for t_blank, off for t_off,
// i_max = V/R_1 (1 - a)/(1 - a b), a = e^(-t_blank/tau_1), b = e^(-t_off/tau_2).
TEST(Chopper, BlankingAloneSetsTheLeastCurrent) {
  ChopperRig r;
  r.reference_V = 1e-3;
  r.law.blanking_s = 3e-6;
  const double a = std::exp(-r.law.blanking_s * r.driven_ohm() / r.inductance_H),
               b = std::exp(-r.law.off_s * r.shorted_ohm() / r.inductance_H),
               high = r.supply_V / r.driven_ohm() * (1 - a) / (1 - a * b);
  ASSERT_GT(high * r.sense_ohm, 100 * r.reference_V);
  const Seen s = chopped(r, 10e-3, 11e-3);
  ASSERT_GT(s.on_A.size(), 10U);
  for (const double i : s.on_A) EXPECT_NEAR(i, high, 5e-3 * high);
  for (const double t : s.on_s) EXPECT_NEAR(t, r.law.blanking_s, 1e-12);
}

TEST(Chopper, FixedFrequencyHasItsPeriod) {
  ChopperRig r;
  r.law.period_s = 50e-6;
  const Seen s = chopped(r, 2e-3, 4e-3);
  ASSERT_GT(s.on_A.size(), 20U);
  for (std::size_t k = 1; k + 1 < s.on_A.size(); ++k) {
    EXPECT_NEAR(s.on_s[k] + s.off_s[k], 50e-6, 1e-9);
    EXPECT_NEAR(s.on_A[k], r.reference_V / r.sense_ohm, 2e-5);
  }
}

// Into the supply through two diodes: (i + (V + 2 V_F)/R) e^(-t/tau) - (V + 2 V_F)/R; the sense
// resistor is in the way as well.
TEST(Chopper, FastDecayReturnsToTheSupply) {
  ChopperRig r;
  r.law.fast_s = r.law.off_s;
  const Seen s = chopped(r, 2e-3, 4e-3);
  ASSERT_GT(s.off_A.size(), 10U);
  const double back_V = r.supply_V + 2 * r.drop_V, ohms = r.winding_ohm + r.sense_ohm,
               high = r.reference_V / r.sense_ohm,
               low = (high + back_V / ohms) * std::exp(-r.law.off_s * ohms / r.inductance_H) -
                     back_V / ohms;
  for (const double i : s.off_A) EXPECT_NEAR(high - i, high - low, 5e-3 * (high - low));
}

// What follows the state is found where it is: nothing depends on the steps that lead there.
TEST(Chopper, DoesNotDependOnTheSteps) {
  ChopperRig r;
  const Seen usual = chopped(r, 2e-3, 4e-3);
  r.options.max_step_s = 0.2e-6;
  const Seen fine = chopped(r, 2e-3, 4e-3);
  EXPECT_GT(fine.steps, 2 * usual.steps);
  EXPECT_EQ(fine.on_A.size(), usual.on_A.size());
  EXPECT_NEAR(usual.loss_J, fine.loss_J, 2e-4 * fine.loss_J);
  EXPECT_NEAR(usual.rms_A, fine.rms_A, 1e-4 * fine.rms_A);
  r.options = {};
  const Seen loose = chopped(r, 2e-3, 4e-3);
  EXPECT_NEAR(loose.loss_J, fine.loss_J, 1e-3 * fine.loss_J);
  EXPECT_NEAR(loose.rms_A, fine.rms_A, 1e-3 * fine.rms_A);
  EXPECT_LT(std::abs(loose.residual_J), 1e-3 * loose.throughput_J + 1e-6);
}

}  // namespace
}  // namespace pb::rigs
