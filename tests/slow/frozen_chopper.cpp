// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a program that hangs leaves of a measured current: a chip that chops by itself holds it at
// its reference; without the controller's timers single parts let flow V/R. Source: Ohm's law; the
// reference is what the brief regulates.
#include "judgement/bench.h"
#include "judgement/copper.h"
#include "judgement/fault_inject.h"
#include "judgement/fault_list.h"
#include "judgement/production.h"
#include "tests/rigs/measured_drive.h"

namespace pb::rigs {
namespace {

Case case_with(const Design& d) {
  Case c = case_of(d);
  c.dead_time_s = 2e-6;
  return c;
}

bool drives(const RunRequest& r) {
  return r.plan.states.front().flow.find_first_of("+-") != std::string::npos;
}

std::string find_place_of(const Design& d, std::string_view part_class) {
  for (const Place& p : d.wiring.places)
    if (const auto part = d.parts.find(p.role);
        part != d.parts.end() && part->second.part_class == part_class)
      return p.ref;
  return "";
}

TEST(MeasuredFrozen, AChipGoesOnAtItsReference) {
  const Design d = measured(true, "mixed");
  const Case c = case_with(d);
  const double regulated_A = regulated_current(c.design.brief);
  int seen = 0;
  for (const RunRequest& r : states_frozen(c)) {
    if (!drives(r)) continue;
    ASSERT_FALSE(r.plan.stands_still());
    const RunFigures f = run(c.design, c.spreads, typical(c.spreads), {}, r);
    ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    EXPECT_NEAR(f.winding_a.peak_A, regulated_A, 0.02 * regulated_A);
    EXPECT_NEAR(f.winding_b.rms_A, regulated_A, 0.05 * regulated_A);
    ++seen;
  }
  EXPECT_EQ(seen, 4);
}

TEST(MeasuredFrozen, SinglePartsStandAtTheSupplyOverTheResistance) {
  const Design d = measured(false, "mixed");
  const Case c = case_with(d);
  for (const RunRequest& r : states_frozen(c)) {
    ASSERT_TRUE(r.plan.stands_still());
    if (!drives(r)) continue;
    const RunFigures f = stand(c.design, c.spreads, typical(c.spreads), {}, r);
    ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    // Switches and the sense resistor are some tenths of an ohm beside the winding.
    const Brief& b = c.design.brief;
    const double most_A = b.supply.voltage_V / b.motor.winding_resistance_ohm;
    EXPECT_LT(f.winding_a.rms_A, most_A);
    EXPECT_GT(f.winding_a.rms_A, 0.85 * most_A);
  }
}

TEST(MeasuredFrozen, CopperAndFaultsTakeTheReference) {
  const Design d = measured(true, "mixed");
  const Case c = case_with(d);
  const CopperTable copper = copper_table(c, {});
  ASSERT_TRUE(copper.trouble.empty()) << copper.trouble;
  const double regulated_A = regulated_current(c.design.brief);
  int leads = 0;
  for (const LeadCopper& l : copper.leads)
    if (l.name.starts_with("motor")) {
      EXPECT_LT(l.flow.rms_A, 1.2 * regulated_A) << l.name;
      EXPECT_GT(l.flow.rms_A, 0.8 * regulated_A) << l.name;
      ++leads;
    }
  EXPECT_EQ(leads, 4);
  int frozen = 0;
  for (const Situation& s : situations_of(c))
    if (s.part == "program" && s.fault.starts_with("frozen in state "))
      for (const RunRequest& r : s.standing)
        if (drives(r)) frozen += r.plan.measured ? 1 : 0;
  EXPECT_EQ(frozen, 4);
}

bool is_of_a_winding(const Expectation& r) { return r.what.starts_with("current of"); }

// On the bench as well: a held winding carries what the chip compares with; the resistor of the
// bridge's own step, half of it by Ohm's law.
TEST(MeasuredFrozen, BenchTakesTheReference) {
  const Design d = measured(true, "slow");
  const Case c = case_with(d);
  const double regulated_A = regulated_current(d.brief), volts = d.brief.supply.voltage_V;
  EXPECT_LT(volts / dummy_ohm(d.brief), 0.7 * regulated_A);
  int held = 0;
  for (const BenchStep& s : bench_plan(c, {.units = 2}).steps)
    for (const BenchReading& b : s.readings) {
      if (s.title.starts_with("Bridge") && b.reading.what == supply_current().what) {
        EXPECT_NEAR(b.reading.expected, volts / dummy_ohm(d.brief), 0.1 * regulated_A) << b.state;
      }
      if (s.title != "The motor, standing" || !is_of_a_winding(b.reading)) continue;
      EXPECT_NEAR(std::abs(b.reading.expected), regulated_A, 0.1 * regulated_A) << b.state;
      ++held;
    }
  EXPECT_EQ(held, 8);
}

TEST(LongMeasuredFrozen, ProductionTestChopsIntoItsLoads) {
  const Design d = measured(true, "slow");
  const Case c = case_with(d);
  StopSource enough;  // of the faults after the first few: the limits are looked at
  ProductionOptions o{.bench = {.units = 1}};
  o.bench.stop = enough.token();
  o.progress = [&](double) { enough.request_stop(); };
  const ProductionTest t = production_test(c, o);
  EXPECT_TRUE(t.loads_have_inductance);
  const double regulated_A = regulated_current(d.brief);
  int driven = 0;
  for (const TestLimit& l : t.limits) {
    const bool drives =
        l.step.starts_with("state ") && l.step.find_first_of("+-") != std::string::npos;
    if (!drives || !is_of_a_winding(l.reading)) continue;
    EXPECT_NEAR(std::abs(l.reading.expected), regulated_A, 0.1 * regulated_A) << l.step;
    ++driven;
  }
  EXPECT_EQ(driven, 8);
}

// What steers and what is steered may be what fails: a latch must not outlive its bridge or pin.
TEST(MeasuredFrozen, LatchesGoWithWhatTheySteer) {
  for (const bool chip : {true, false}) {
    const Design d = measured(chip, "mixed");
    const auto spreads = spreads_of(d);
    RunRequest r;
    r.plan = plan_hold(d, holding_table(d, "++", 2e-6), 1e-3);
    const std::string ref =
        chip ? find_place_of(d, "dual-chopper-chip") : std::string(d.wiring.pins.front().name);
    r.alter = [&](Circuit& c) { inject::open_part(c, ref); };
    const RunFigures f = run(d, spreads, typical(spreads), {}, r);
    EXPECT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    EXPECT_LT(f.winding_a.rms_A, 1e-3);
    if (chip) continue;
    EXPECT_NEAR(f.winding_b.peak_A, regulated_current(d.brief), 0.02);
  }
}

}  // namespace
}  // namespace pb::rigs
