// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a bipolar transistor stores: how long it stays saturated and how fast its current follows,
// against charge control in closed form; its charge comes back and its energy is in the ledger.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/rigs/transit.h"

namespace pb::rigs {
namespace {

Bipolar transistor(double sign, const Storage& s) {
  return {sign,
          1e-14,
          s.forward_gain,
          s.reverse_gain,
          0.0259,
          s.forward_transit_s,
          s.reverse_transit_s};
}

TEST(Transit, SaturationHoldsOnForTheStorageTime) {
  for (const Storage& s : {Storage{200, 5, 1.6e-9, 160e-9, 10e-3, 1e-3, 1e-3},
                           Storage{200, 5, 1.6e-9, 160e-9, 10e-3, 1e-3, 1e-4},
                           Storage{100, 5, 1.6e-9, 160e-9, 10e-3, 5e-4, 0.0},
                           Storage{100, 2, 5e-9, 20e-9, 10e-3, 5e-4, 2e-4}})
    for (const double sign : {1.0, -1.0}) {
      const double exact_s = exact_storage_s(s);
      // Charge control by one rate: the one left out is t_F or faster.
      EXPECT_NEAR(textbook_storage_s(s), exact_s, s.forward_transit_s);
      const double found_s = storage_s(saturated(s, transistor(sign, s)), 2.0 * exact_s);
      // Of the currents, which are from 1000 V, junctions and saturation take 0.1 %.
      EXPECT_NEAR(found_s, exact_s, 5e-3 * exact_s) << s.out_of_base_A << ' ' << sign;
    }
}

// i_B = F/b + t_F F' with the collector held: F(t) = b i_B [1 - (1 - s) e^(-t/(b t_F))] if i_B
// rises to itself from its share s.
TEST(Transit, CollectorCurrentRisesByGainTimesTransitTime) {
  constexpr double kGain = 150, kTransit_s = 1e-9, kBase_A = 1e-4, kFar_V = 1000.0, kShare = 0.01;
  Circuit c = grounded();
  const int source = driven(c, Profile{{0.0, 1e-13}, {kShare * kFar_V + 0.7, kFar_V + 0.7}}),
            rail = driven(c, 5.0), base = c.add_node("base");
  c.resistors.push_back({"rb", source, base, kBase_A / kFar_V});
  c.bipolars.push_back({"q", rail, base, 0, {1, 1e-14, kGain, 5, 0.0259, kTransit_s, 1e-7}});
  c.capacitors.push_back({"", base, 0, kLittle_F});
  System s(c);
  Transient t(s, tight());
  t.start(-2e-6);
  for (const double constants : {0.5, 1.0, 2.0}) {
    ASSERT_EQ(t.run_to(constants * kGain * kTransit_s), Outcome::reached_end);
    const double expected_A = kGain * kBase_A * (1.0 - (1.0 - kShare) * std::exp(-constants));
    EXPECT_NEAR(s.readings[1].current_A, expected_A, 5e-3 * expected_A) << constants;
  }
}

// |h_21| = b/sqrt(1 + (w b t_F)^2): 1 at w t_F = sqrt(1 - 1/b^2).
TEST(Transit, GainFallsToOneAtTheTransitionFrequency) {
  constexpr double kTransition_Hz = 250e6;
  const Bipolar q{1, 1e-14, 50, 5, 0.0259, 1.0 / (2.0 * std::numbers::pi * kTransition_Hz), 1e-7};
  EXPECT_NEAR(current_gain_at(q, kTransition_Hz), 1.0, 0.01);
  EXPECT_NEAR(current_gain_at(q, kTransition_Hz / 10.0), 10.0 / std::sqrt(1.0 + 0.04), 0.1);
}

/// Switched on for 2 us and off again, everything at rest before and after.
struct Cycle {
  static constexpr double kOff_s = 2e-6, kEnd_s = 60e-6, kForward_s = 1.6e-9, kReverse_s = 160e-9;
  Cycle() : system(circuit()), run(system, tight()) {
    run.start(-1e-6);
    EXPECT_EQ(run.run_to(0.0), Outcome::reached_end);
    run.reset_sums();
  }
  static Circuit circuit() {
    Circuit c = grounded();
    const int pin = driven(c, Profile{{0.0, 1e-8, kOff_s, kOff_s + 1e-8}, {0.0, 5.0, 5.0, 0.0}}),
              rail = driven(c, 12.0), base = c.add_node("base"),
              collector = c.add_node("collector");
    c.resistors.push_back({"rb", pin, base, 1e-4});
    c.resistors.push_back({"rc", rail, collector, 1e-3});
    c.bipolars.push_back(
        {"q", collector, base, 0, {1, 1e-14, 150, 5, 0.0259, kForward_s, kReverse_s}});
    for (const int n : {base, collector}) c.capacitors.push_back({"", n, 0, kLittle_F});
    return c;
  }
  double base_V() const { return run.state()[0]; }
  double collector_V() const { return run.state()[1]; }
  double reverse_charge_C() const {
    return kReverse_s * 1e-14 * std::expm1((base_V() - collector_V()) / 0.0259);
  }
  /// What has flown into the collector less what its current was.
  double held_back_C() const { return run.sums()[1].charge_C - run.sums()[2].charge_C; }
  System system;
  Transient run;
};

// Into the collector flows i_C - dQ_BC/dt.
TEST(Transit, WhatIsStoredComesBack) {
  Cycle c;
  ASSERT_EQ(c.run.run_to(Cycle::kOff_s), Outcome::reached_end);
  const double stored_C = c.reverse_charge_C();
  EXPECT_GT(stored_C, 1e-10);  // at 160 ns about 1 nC
  EXPECT_NEAR(c.held_back_C(), -stored_C, 1e-3 * stored_C);
  ASSERT_EQ(c.run.run_to(Cycle::kEnd_s), Outcome::reached_end);
  EXPECT_NEAR(c.collector_V(), 12.0, 1e-4);
  EXPECT_NEAR(c.held_back_C(), 0.0, 1e-3 * stored_C);
}

TEST(Transit, LedgerCloses) {
  Cycle c;
  ASSERT_EQ(c.run.run_to(Cycle::kOff_s), Outcome::reached_end);
  // The greater part of the energy: v Q less what the logarithm leaves out.
  const double bc_V = c.base_V() - c.collector_V(), charge_C = c.reverse_charge_C();
  const double stored_J = (bc_V - 0.0259) * charge_C;
  EXPECT_NEAR(c.run.ledger().stored_J, stored_J, 0.1 * stored_J);
  EXPECT_NEAR(c.run.ledger().residual_J(), 0.0, 1e-3 * stored_J);
  ASSERT_EQ(c.run.run_to(Cycle::kEnd_s), Outcome::reached_end);
  EXPECT_NEAR(c.run.ledger().stored_J, 0.0, 1e-3 * stored_J);
  EXPECT_NEAR(c.run.ledger().residual_J(), 0.0, 1e-3 * stored_J);
  EXPECT_LT(std::abs(c.run.ledger().residual_J()), 1e-3 * c.run.ledger().throughput_J);
}

}  // namespace
}  // namespace pb::rigs
