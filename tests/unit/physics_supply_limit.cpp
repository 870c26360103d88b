// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A supply that acts on its current limit: charging a capacitor, a short, shutting off and trying
// again. Expected numbers are C dv = I dt and Ohm's law.
#include "physics/devices/supply_limit.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "tests/rigs/batch.h"

namespace pb::rigs {
namespace {

constexpr double kV = 12.0, kOhm = 0.1, kLimit_A = 0.8;

TEST(SupplyLimit, IsAVoltageBelowAndACurrentBeyond) {
  const SupplyLimit k = supply_limit_of(kOhm, kLimit_A, true);
  EXPECT_EQ(supply_current(k, 0.0).i_A, 0.0);
  EXPECT_NEAR(supply_current(k, 0.5 * kOhm).i_A, 0.5, 1e-6);
  EXPECT_NEAR(supply_current(k, -0.5 * kOhm).i_A, -0.5, 1e-6);
  EXPECT_NEAR(supply_current(k, kV).i_A, kLimit_A, 1e-6);
  double before = -1;
  for (double v = 0; v < 0.2; v += 1e-4) {
    const auto i = supply_current(k, v);
    EXPECT_GE(i.i_A, before - 1e-12);
    EXPECT_LE(i.i_A, std::min(v / kOhm, kLimit_A) + 1e-7);
    EXPECT_GE(i.i_A, std::min(v / kOhm, kLimit_A) - 0.007 * kLimit_A);
    const double h = 1e-6, by = supply_current(k, v + h).i_A - supply_current(k, v - h).i_A;
    EXPECT_NEAR(i.slope_S, by / (2 * h), 2e-3 / kOhm) << v;
    before = i.i_A;
  }
}

TEST(SupplyLimit, TakesNothingBackUnlessItCan) {
  const SupplyLimit k = supply_limit_of(kOhm, kLimit_A, false);
  for (const double v : {0.0, -1e-3, -0.1, -5.0}) {
    const auto i = supply_current(k, v);
    EXPECT_GE(i.i_A, 0.0);
    EXPECT_LT(i.i_A, 1e-6);
  }
  // And loses 10 mV for that.
  EXPECT_NEAR(supply_current(k, 0.5 * kOhm + 10e-3).i_A, 0.5, 1e-4);
  EXPECT_NEAR(supply_current(k, kV).i_A, kLimit_A, 1e-6);
  for (double v = -0.01; v < 0.2; v += 7e-4) {
    const double h = 1e-7, by = supply_current(k, v + h).i_A - supply_current(k, v - h).i_A;
    EXPECT_NEAR(supply_current(k, v).slope_S, by / (2 * h), 2e-3 / kOhm) << v;
  }
}

/// Behind a cable: what is off holds nothing, and takes no more steps than what is on.
TEST(SupplyLimit, IsQuietWhileItIsOff) {
  Hiccup h;
  h.on_s = 5e-3, h.off_s = 50e-3;
  Circuit c = grounded();
  const int source = driven(c, kV), cable = c.add_node("cable"), rail = c.add_node("rail");
  c.limiters.push_back({"supply", source, cable, supply_limit_of(0.15, 0.4, false), h});
  c.inductors.push_back({"cable", cable, rail, 1e-6, 0});
  c.resistors.push_back({"loss", cable, rail, 1e-3});
  c.capacitors.push_back({"", cable, 0, 1e-12});
  c.capacitors.push_back({"bulk", rail, 0, 100e-6});
  c.resistors.push_back({"load", rail, 0, 0.1});
  System s(c);
  Transient t(s, {});
  t.start(0.0);
  ASSERT_EQ(t.run_to(0.05), Outcome::reached_end);
  EXPECT_LT(t.accepted + t.rejected, 500);
  EXPECT_NEAR(t.state()[1], 0.0, 1e-3);
}

/// Source, limiter, capacitor to ground and a load.
Circuit charged(double farad, double load_ohm, Hiccup hiccup = {}) {
  Circuit c = grounded();
  const int source = driven(c, kV), n = c.add_node("n");
  c.limiters.push_back({"supply", source, n, supply_limit_of(kOhm, kLimit_A, true), hiccup});
  c.capacitors.push_back({"c", n, 0, farad});
  c.resistors.push_back({"load", n, 0, 1.0 / load_ohm});
  return c;
}

// dv/dt = I/C until the voltage is there.
TEST(SupplyLimit, ChargesABulkInAStraightLine) {
  constexpr double kFarad = 470e-6;
  System s(charged(kFarad, 1e9));
  Transient t(s, tight());
  t.start(0.0);
  for (const double v : {1.0, 6.0, 11.0}) {
    ASSERT_EQ(t.run_to(v * kFarad / kLimit_A), Outcome::reached_end);
    EXPECT_NEAR(t.state()[0], v, 1e-5 * v);
  }
  ASSERT_EQ(t.run_to(0.1), Outcome::reached_end);
  EXPECT_NEAR(t.state()[0], kV, 1e-6);
  EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-6 * t.ledger().throughput_J);
  // What it took from the source: C V at V.
  EXPECT_NEAR(t.ledger().source_J, kFarad * kV * kV, 1e-5 * kFarad * kV * kV);
}

TEST(SupplyLimit, GivesAShortItsLimit) {
  System s(charged(1e-6, 1e-3));
  Transient t(s, {});
  t.start(0.0);
  ASSERT_EQ(t.run_to(1e-3), Outcome::reached_end);
  s.read(t.state());
  EXPECT_NEAR(s.readings[1].current_A, kLimit_A, 1e-4);
  EXPECT_NEAR(t.state()[0], 1e-3 * kLimit_A, 1e-6);
}

TEST(SupplyLimit, ShutsOffAndTriesAgain) {
  Hiccup h;
  h.on_s = 2e-3, h.off_s = 7e-3;
  System s(charged(1e-6, 1.0, h));
  Transient t(s, tight());
  t.start(0.0);
  // Edges of 10 us: the charge of a cycle is I (on + edge), its period on + off + edge.
  const double period_s = h.on_s + h.off_s + Hiccup::kEdge_s;
  ASSERT_EQ(t.run_to(h.on_s - 1e-6), Outcome::reached_end);
  EXPECT_NEAR(t.state()[0], kLimit_A * 1.0, 1e-4);
  ASSERT_EQ(t.run_to(h.on_s + 1e-4), Outcome::reached_end);
  EXPECT_NEAR(t.state()[0], 0.0, 1e-6);
  ASSERT_EQ(t.run_to(h.on_s + h.off_s - 1e-6), Outcome::reached_end);
  EXPECT_NEAR(t.state()[0], 0.0, 1e-6);
  const double before_C = t.sums()[1].charge_C;
  EXPECT_NEAR(before_C, kLimit_A * (h.on_s + 0.5 * Hiccup::kEdge_s), 2e-3 * kLimit_A * h.on_s);
  ASSERT_EQ(t.run_to(h.on_s + h.off_s + 3 * period_s), Outcome::reached_end);
  EXPECT_NEAR(t.sums()[1].charge_C - before_C, 3 * kLimit_A * (h.on_s + Hiccup::kEdge_s),
              5e-3 * 3 * kLimit_A * h.on_s);
}

TEST(SupplyLimit, AShortWhileInTheLimitIsForgiven) {
  // Charging takes C V/I = 1.5 ms, below the 2 ms after which it shuts off.
  Hiccup h;
  h.on_s = 2e-3, h.off_s = 7e-3;
  System s(charged(100e-6, 100.0, h));
  Transient t(s, {});
  t.start(0.0);
  for (const double at : {3e-3, 10e-3, 30e-3}) {
    ASSERT_EQ(t.run_to(at), Outcome::reached_end);
    EXPECT_NEAR(t.state()[0], kV * 100.0 / (100.0 + kOhm), 1e-3);
  }
}

// Of a batch each unit shuts off at its own time.
TEST(SupplyLimit, EachUnitOfABatchShutsOffByItself) {
  Hiccup h;
  h.on_s = 2e-3, h.off_s = 5e-3;
  // Every other unit never comes to the limit for long.
  expect_batch_as_one_by_one(
      [&](int k) { return charged((10.0 + 5.0 * k) * 1e-6, k % 2 == 0 ? 2.0 + k : 100.0, h); },
      [](int) { return std::vector<double>{0.0}; }, {1e-3, 2.5e-3, 6e-3, 9e-3, 12e-3}, 1e-3);
}

}  // namespace
}  // namespace pb::rigs
