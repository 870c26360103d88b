// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Bench plan and production test against Ohm's law, against other boards, against planted faults.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "judgement/bench.h"
#include "judgement/fault_inject.h"
#include "judgement/production.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

Case ready(const Design& d) {
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  return c;
}

BenchOptions few() { return {.units = 6}; }

TEST(Bench, RangesAreOneTwoFive) {
  EXPECT_DOUBLE_EQ(range_for(0.8), 1);
  EXPECT_DOUBLE_EQ(range_for(-0.9), 2);
  EXPECT_DOUBLE_EQ(range_for(12), 20);
  EXPECT_DOUBLE_EQ(range_for(4.2), 10);
  EXPECT_DOUBLE_EQ(range_for(0.0041), 5e-3);
}

TEST(Bench, KeepsTheOrderThatKeepsPartsAlive) {
  const Design d = judgement_samples::sound();
  const Case c = ready(d);
  const BenchPlan plan = bench_plan(c, few());
  EXPECT_TRUE(plan.omitted.empty()) << plan.omitted.front();
  const auto at = [&](const std::string& text) {
    for (std::size_t k = 0; k < plan.steps.size(); ++k)
      if (plan.steps[k].title.find(text) != std::string::npos) return static_cast<int>(k);
    ADD_FAILURE() << text;
    return -1;
  };
  EXPECT_LT(at("No supply"), at("Logic supply alone"));
  EXPECT_LT(at("Motor supply alone"), at("Both supplies"));
  EXPECT_LT(at("Both supplies"), at("Bridge a on a resistor"));
  EXPECT_LT(at("Bridge b on a resistor"), at("without the motor"));
  EXPECT_LT(at("without the motor"), at("standing"));
  EXPECT_LT(at("standing"), at("moving"));
  for (const BenchStep& s : plan.steps) {
    EXPECT_FALSE(s.readings.empty()) << s.title;
    for (const BenchReading& b : s.readings) {
      EXPECT_LE(b.reading.low, b.reading.expected) << s.title << " " << b.reading.what;
      EXPECT_GE(b.reading.high, b.reading.expected) << s.title << " " << b.reading.what;
      EXPECT_GE(b.range, std::abs(b.reading.high)) << s.title << " " << b.reading.what;
    }
  }
}

TEST(Bench, AResistorCarriesWhatOhmsLawSays) {
  const Design d = judgement_samples::sound();
  const Case c = ready(d);
  const BenchPlan plan = bench_plan(c, few());
  const double ohm = dummy_ohm(d.brief), volts = d.brief.supply.voltage_V;
  EXPECT_NEAR(ohm / d.brief.motor.winding_resistance_ohm, 10.0, 1.0);  // E12: within 10 %
  int looked = 0;
  for (const BenchStep& s : plan.steps) {
    if (!s.title.starts_with("Bridge")) continue;
    double current_A = kNotGiven, across_V = kNotGiven;
    for (const BenchReading& b : s.readings) {
      if (b.state != s.readings.front().state) continue;
      if (b.reading.unit == "A") current_A = b.reading.expected;
      if (b.reading.what == "voltage between") across_V = b.reading.expected;
    }
    ++looked;
    // Pull-downs and the like draw little beside it.
    EXPECT_NEAR(current_A, std::abs(across_V) / ohm, 0.05 * std::abs(across_V) / ohm + 2e-3);
    EXPECT_NEAR(std::abs(across_V), volts, 0.1 * volts);
  }
  EXPECT_EQ(looked, 2);
}

TEST(Bench, AVoltmeterHoldsWhatFloats) {
  // With every switch off an output is held by the meter's 10 Mohm against leakage alone: its
  // voltage is the leakage through the meter, far from where it floats without one.
  const Design d = judgement_samples::sound();
  const Case c = ready(d);
  const BenchPlan plan = bench_plan(c, few());
  int looked = 0;
  for (const BenchStep& s : plan.steps) {
    if (s.title != "Both supplies, controller in reset") continue;
    for (const BenchReading& b : s.readings) {
      const bool output = std::any_of(d.wiring.legs.begin(), d.wiring.legs.end(),
                                      [&](const Leg& l) { return l.output == b.reading.where; });
      if (!output) continue;
      physics::PowerUp power;
      power.in_reset = true;
      Scene bare{"bare", standing_request(c, power, 0.02, 1.0)};
      bare.request.alter = [](physics::Circuit& circuit) {
        for (std::size_t w : {0u, 1u}) inject::open_winding(circuit, w);
      };
      const Seen seen = see(c, bench_nominal(c), bare, {});
      ASSERT_TRUE(seen.ended);
      ++looked;
      EXPECT_LT(std::abs(b.reading.expected), std::abs(seen.net_V.at(b.reading.where)) + 1e-9);
      // 100 nA through 10 Mohm is 1 V: in the band, and little more.
      EXPECT_LT(std::abs(b.reading.expected), 0.2);
      EXPECT_GT(b.reading.high, 0.5);
      EXPECT_LT(b.reading.high, 1.5);
    }
  }
  EXPECT_EQ(looked, static_cast<int>(d.wiring.legs.size()));
}

/// Over seeds the test has not seen.
TEST(Production, LetsGoodBoardsPass) {
  const Design d = judgement_samples::sound();
  const Case c = ready(d);
  ProductionOptions o;
  o.bench = {.units = 24};
  o.bench.stop = {};
  const Scene scene{"hold", standing_request(c, {}, 0.02, 1.0)};
  const std::vector<Probe> probes = {supply_current(), winding_current(d.wiring, 0),
                                     node_voltage(kRail)};
  const std::vector<Expectation> band = readings_of(c, scene, probes, o.bench);
  BenchOptions other;
  other.seed = 99;
  constexpr int kBoards = 40;
  int failed = 0;
  for (int k = 0; k < kBoards; ++k) {
    const Seen s = see(c, bench_unit(c, other, k), scene, {});
    ASSERT_TRUE(s.ended);
    for (std::size_t p = 0; p < probes.size(); ++p) {
      const double value = probes[p].value(s), guard = instrument_error(band[p], band[p].high);
      if (value < band[p].low - guard || value > band[p].high + guard) ++failed;
    }
  }
  EXPECT_LE(failed, 2) << "of " << kBoards * probes.size();  // 2 %
}

TEST(Production, SeesWhatCannotBeMissedAndNamesWhatItMisses) {
  const Design d = judgement_samples::sound();
  const Case c = ready(d);
  ProductionOptions o;
  o.bench = {.units = 4};
  const ProductionTest t = production_test(c, o);
  EXPECT_EQ(static_cast<std::size_t>(t.detected + t.latent + t.undecided), t.faults.size());
  const Leg& leg = d.wiring.legs.front();
  const auto fault = [&](const std::string& part, const std::string& name) {
    const auto at = std::find_if(t.faults.begin(), t.faults.end(), [&](const FaultSeen& f) {
      return f.part == part && f.fault == name;
    });
    EXPECT_NE(at, t.faults.end()) << part << " " << name;
    return at == t.faults.end() ? FaultSeen{} : *at;
  };
  for (const auto* side : {&leg.high, &leg.low}) {
    // A switch that shorts puts its output on a supply line in every state; one that is gone leaves
    // a winding without current.
    EXPECT_NE(fault(side->front(), "drain-source short").step, "");
    EXPECT_NE(fault(side->front(), "open").step, "");
  }
  for (const FaultSeen& f : t.faults) {
    EXPECT_NE(f.part, "motor");
    if (f.step.empty()) continue;
    EXPECT_TRUE(f.value < f.low || f.value > f.high) << f.part << " " << f.fault;
    if (f.what == supply_current().what) {
      EXPECT_LE(f.value, t.supply_limit_A) << f.part << " " << f.fault;
    }
  }
  double most_A = 0;
  for (const TestLimit& l : t.limits)
    if (l.reading.what == supply_current().what) most_A = std::max(most_A, l.high);
  EXPECT_DOUBLE_EQ(t.supply_limit_A, 2 * most_A);
  for (const TestLimit& l : t.limits) {
    EXPECT_GT(l.guard, 0);
    EXPECT_LE(l.low, l.reading.low);
    EXPECT_GE(l.high, l.reading.high);
  }
}

}  // namespace
}  // namespace pb
