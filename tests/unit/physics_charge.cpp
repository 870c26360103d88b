// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Capacitances that fall with their voltage: the laws against their own definitions, and charged
// through a resistor against the integral in closed form.
#include "physics/devices/charge.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/rigs/circuit.h"

namespace pb::rigs {
namespace {

constexpr double kPhi_V = 0.7, kKnee_V = 8.0;

/// q and the energy are the integrals of C and of v C; C does not rise faster than is said.
template <class Law>
void expect_consistent(const Law& law) {
  constexpr double kStep = 1e-3;
  double q = 0, energy = 0;
  for (double v = 0; v < 30.0; v += kStep) {
    const double middle = v + 0.5 * kStep, c = law(middle).slope;
    q += c * kStep, energy += middle * c * kStep;
    const double bend = (law(v + kStep).slope - law(v).slope) / kStep;
    ASSERT_LE(std::abs(bend), law.curvature(v, kStep) * (1.0 + 1e-6)) << v;
  }
  EXPECT_NEAR(law(30.0).value, q, 1e-6 * q);
  EXPECT_NEAR(law.energy_J(30.0), energy, 1e-6 * energy);
  EXPECT_EQ(law(0.0).value, 0.0);
  EXPECT_EQ(law.energy_J(0.0), 0.0);
}

TEST(Charge, IntegralsOfTheCapacity) {
  expect_consistent(Depletion{100e-12, kPhi_V});
  expect_consistent(Ceramic{10e-6, kKnee_V});
}

TEST(Charge, GoesThroughTheDataSheet) {
  EXPECT_NEAR(depletion_through(20e-12, 15.0, kPhi_V)(15.0).slope, 20e-12, 1e-18);
  const Ceramic c = ceramic_through(10e-6, 0.3, 25.0);
  EXPECT_NEAR(c(0.0).slope, 10e-6, 1e-12);
  EXPECT_NEAR(c(25.0).slope, 3e-6, 1e-11);
  EXPECT_NEAR(c(-25.0).slope, 3e-6, 1e-11);
  EXPECT_NEAR(ceramic_through(10e-6, 1.0, 25.0)(25.0).slope, 10e-6,
              1e-8);  // one that does not fall
}

// From 0 towards V through R: with u = sqrt(1 + v/phi), a = sqrt(1 + V/phi),
// t = (R C_0/a) ln[(a + u)(a - 1)/((a - u)(a + 1))].
TEST(Charge, AJunctionChargesThroughAResistor) {
  constexpr double kEnd_V = 12.0, kR_ohm = 1000.0, kZero_F = 100e-12;
  const double a = std::sqrt(1.0 + kEnd_V / kPhi_V);
  for (double v : {1.0, 6.0, 10.0}) {
    const double u = std::sqrt(1.0 + v / kPhi_V),
                 t_s = kR_ohm * kZero_F / a * std::log((a + u) * (a - 1) / ((a - u) * (a + 1)));
    Circuit c = grounded();
    const int node = c.add_node("n");
    c.resistors.push_back({"r", driven(c, kEnd_V), node, 1.0 / kR_ohm});
    c.depletions.push_back({"c", node, 0, {kZero_F, kPhi_V}});
    System s(c);
    TransientOptions o = tight();
    o.first_step_s = 1e-12;
    Transient t(s, o);
    t.start(0.0, {0.0});
    ASSERT_EQ(t.run_to(t_s), Outcome::reached_end);
    EXPECT_NEAR(t.state()[0], v, 1e-4 * v);
    EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-4 * t.ledger().throughput_J);
  }
}

// Charge leaves the source once: R takes V q less what is stored, whatever the law.
TEST(Charge, WhatIsNotStoredHeatsTheResistor) {
  constexpr double kEnd_V = 24.0;
  const Ceramic law = ceramic_through(10e-6, 0.3, 25.0);
  Circuit c = grounded();
  const int node = c.add_node("n");
  c.resistors.push_back({"r", driven(c, kEnd_V), node, 1.0});
  c.ceramics.push_back({"c", node, 0, law});
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {0.0});
  ASSERT_EQ(t.run_to(1e-3), Outcome::reached_end);
  EXPECT_NEAR(t.state()[0], kEnd_V, 1e-3);
  const double given_J = kEnd_V * law(kEnd_V).value;
  EXPECT_NEAR(t.ledger().source_J, given_J, 1e-4 * given_J);
  EXPECT_NEAR(t.ledger().stored_J, law.energy_J(kEnd_V), 1e-4 * given_J);
  EXPECT_NEAR(t.ledger().loss_J, given_J - law.energy_J(kEnd_V), 1e-4 * given_J);
}

}  // namespace
}  // namespace pb::rigs
