// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Drives that measure their currents, latch by latch on simulated cycles, against every edge.
#include "physics/latched_drive.h"

#include <gtest/gtest.h>

#include <cmath>

#include "physics/chopped_run.h"
#include "tests/rigs/chopped.h"
#include "tests/rigs/measured_drive.h"

namespace pb::rigs {
namespace {

void near(double value, double expected, double share, const std::string& what) {
  EXPECT_NEAR(value, expected, share * std::abs(expected)) << what;
}

bool is_capacitor(const Part& p) {
  return p.part_class == "electrolytic" || p.part_class == "ceramic";
}

/// Whatever a proof reads off a run; `loss` is the target for the loss of the parts of a class.
/// What a capacitor across the rail takes is as good as two windings' cycles fall together.
void compare(const Design& d, const std::string& part_class, double loss, const RunFigures& few,
             const RunFigures& all) {
  constexpr double kRms = 0.003, kOthers = 0.15, kRailRms = 0.15;
  ASSERT_EQ(all.outcome, Outcome::reached_end) << all.trouble;
  ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
  EXPECT_EQ(few.steps_commanded, all.steps_commanded);
  EXPECT_EQ(few.steps_made, all.steps_made);
  EXPECT_NEAR(few.lag_max_step, all.lag_max_step, 0.03);
  EXPECT_NEAR(few.end_error_step, all.end_error_step, 0.03);
  const Apart a = apart(d, few, all, part_class);
  EXPECT_LT(a.rms, kRms);
  EXPECT_LT(a.loss, loss);
  EXPECT_GT(a.parts, 0);
  near(few.winding_a.peak_A, all.winding_a.peak_A, 0.02, "peak a");
  near(few.winding_b.peak_A, all.winding_b.peak_A, 0.02, "peak b");
  near(few.winding_loss_W, all.winding_loss_W, 0.005, "windings");
  near(few.supply_mean_A, all.supply_mean_A, 0.02, "supply");
  near(few.rail_max_V, all.rail_max_V, 0.01, "rail");
  EXPECT_LT(few.steps, all.steps / 20);
  EXPECT_LT(std::abs(few.ledger.residual_J()), 1e-3 * few.ledger.throughput_J + 1e-6);
  for (const Place& p : d.wiring.places)
    if (const auto part = d.parts.find(p.role);
        part != d.parts.end() && all.parts.contains(p.ref)) {
      const PartFigures &f = few.parts.at(p.ref), &e = all.parts.at(p.ref);
      const bool on_rail = is_capacitor(part->second);
      if (e.loss_W > 0.01 && !on_rail && part->second.part_class != part_class)
        near(f.loss_W, e.loss_W, kOthers, p.ref + " loss");
      if (e.rms_A > 0.1) near(f.rms_A, e.rms_A, on_rail ? kRailRms : 0.03, p.ref + " rms");
    }
  EXPECT_EQ(few.switches.size(), all.switches.size());
  for (const auto& [name, s] : all.switches) {
    ASSERT_TRUE(few.switches.contains(name)) << name;
    const SwitchState& f = few.switches.at(name);
    if (f.on_states > 0 && s.on_states > 0) {
      EXPECT_NEAR(f.on_control_V, s.on_control_V, 0.1) << name;
    }
    if (f.off_states > 0 && s.off_states > 0) {
      EXPECT_NEAR(f.off_control_V, s.off_control_V, 0.25) << name;
    }
  }
}

/// At a rate at which the rotor follows, with a bulk capacitor that the ripple does not shake.
void move_and_hold(Design d, const std::string& part_class, double loss) {
  constexpr double kDead_s = 2e-6;
  d.brief.motion.rate_steps_s = 150;
  for (const Part& p : rows())
    if (p.number.starts_with("ECAP-470uF-35V")) d.parts["bulk"] = p;
  const DriveTable table = drive_table(d, d.settings.sequence, kDead_s);
  RunRequest move;
  move.plan = plan_move(d, table, 8);
  compare(d, part_class, loss, by_means(d, move, table), by_edges(d, move));
  const DriveTable holding = holding_table(d, "++", kDead_s);
  RunRequest hold;
  hold.plan = plan_hold(d, holding, 4e-3);
  compare(d, part_class, loss, by_means(d, hold, holding), by_edges(d, hold));
}

TEST(MeasuredMeans, OfAChipAreThoseOfEveryEdge) {
  for (const char* decay : {"slow", "mixed"}) {
    SCOPED_TRACE(decay);
    move_and_hold(measured(true, decay), "dual-chopper-chip", 0.01);
  }
}

TEST(LongMeasuredMeans, OfSinglePartsAreThoseOfEveryEdge) {
  move_and_hold(measured(false, "diode"), "p-mosfet", 0.03);
}

// With a period instead of an off-time.
TEST(LongMeasuredMeans, OfAFrequencyToo) {
  Design d = measured(false, "diode");
  d.brief.regulation.timing = "frequency";
  d.brief.regulation.frequency_Hz = 25e3;
  move_and_hold(d, "p-mosfet", 0.03);
}

// What is left to every edge.
TEST(MeasuredMeans, AreNotOfFastDecay) {
  EXPECT_FALSE(has_means(measured(true, "fast")));
  EXPECT_TRUE(has_means(measured(true, "mixed")));
}

}  // namespace
}  // namespace pb::rigs
