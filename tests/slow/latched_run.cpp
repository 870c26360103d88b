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

/// Whatever a proof reads off a run. The allowances are those of drives by duty
/// (tests/slow/chopped_run.cpp).
void compare(const Design& d, const std::string& part_class, const RunFigures& few,
             const RunFigures& all) {
  constexpr double kRms = 0.01, kLoss = 0.03;
  ASSERT_EQ(all.outcome, Outcome::reached_end) << all.trouble;
  ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
  if (getenv("SHOW")) {
    printf("rms %.5f %.5f | %.5f %.5f  peak %.4f %.4f | %.4f %.4f\n", few.winding_a.rms_A,
           few.winding_b.rms_A, all.winding_a.rms_A, all.winding_b.rms_A, few.winding_a.peak_A,
           few.winding_b.peak_A, all.winding_a.peak_A, all.winding_b.peak_A);
    printf("lag %.4f %.4f end %.4f %.4f made %d %d\n", few.lag_max_step, all.lag_max_step,
           few.end_error_step, all.end_error_step, few.steps_made, all.steps_made);
    printf("supply %.4f %.4f railmax %.3f %.3f min %.3f %.3f window %g %g | %g %g steps %ld %ld\n",
           few.supply_mean_A, all.supply_mean_A, few.rail_max_V, all.rail_max_V, few.rail_min_V,
           all.rail_min_V, few.window_from_s, few.window_to_s, all.window_from_s, all.window_to_s,
           few.steps, all.steps);
    for (auto& [r, p] : all.parts)
      if (few.parts.contains(r)) {
        auto& q = few.parts.at(r);
        printf("%-14s loss %.5f %.5f (%+.1f%%) rms %.4f %.4f peak %.3f %.3f V %.2f %.2f\n",
               r.c_str(), q.loss_W, p.loss_W, 100 * (q.loss_W / p.loss_W - 1), q.rms_A, p.rms_A,
               q.current_A.value, p.current_A.value, q.voltage_V.value, p.voltage_V.value);
      }
  }
  EXPECT_EQ(few.steps_commanded, all.steps_commanded);
  EXPECT_EQ(few.steps_made, all.steps_made);
  EXPECT_NEAR(few.lag_max_step, all.lag_max_step, 0.03);
  EXPECT_NEAR(few.end_error_step, all.end_error_step, 0.03);
  const Apart a = apart(d, few, all, part_class);
  EXPECT_LT(a.rms, kRms);
  EXPECT_LT(a.loss, kLoss);
  EXPECT_GT(a.parts, 0);
  near(few.winding_a.peak_A, all.winding_a.peak_A, 0.02, "peak a");
  near(few.winding_b.peak_A, all.winding_b.peak_A, 0.02, "peak b");
  near(few.winding_loss_W, all.winding_loss_W, 0.02, "windings");
  near(few.supply_mean_A, all.supply_mean_A, 0.03, "supply");
  near(few.rail_max_V, all.rail_max_V, 0.01, "rail");
  EXPECT_LT(few.steps, all.steps / 2);
  EXPECT_LT(std::abs(few.ledger.residual_J()), 1e-3 * few.ledger.throughput_J + 1e-6);
  for (const Place& p : d.wiring.places)
    if (const auto part = d.parts.find(p.role);
        part != d.parts.end() && all.parts.contains(p.ref)) {
      const PartFigures &f = few.parts.at(p.ref), &e = all.parts.at(p.ref);
      if (part->second.part_class == part_class)
        near(f.current_A.value, e.current_A.value, 0.05, p.ref + " peak");
      if (e.loss_W > 0.01) near(f.loss_W, e.loss_W, 0.1, p.ref + " loss");
      if (e.rms_A > 0.1) near(f.rms_A, e.rms_A, 0.05, p.ref + " rms");
    }
  EXPECT_EQ(few.switches.size(), all.switches.size());
  for (const auto& [name, s] : all.switches) {
    ASSERT_TRUE(few.switches.contains(name)) << name;
    EXPECT_NEAR(few.switches.at(name).on_control_V, s.on_control_V, 0.1) << name;
    EXPECT_NEAR(few.switches.at(name).off_control_V, s.off_control_V, 0.1) << name;
  }
}

/// At a rate at which the rotor follows, with a bulk capacitor that the ripple does not shake.
void move_and_hold(Design d, const std::string& part_class) {
  constexpr double kDead_s = 2e-6;
  d.brief.motion.rate_steps_s = 150;
  for (const Part& p : rows())
    if (p.number.starts_with("ECAP-470uF-35V")) d.parts["bulk"] = p;
  const DriveTable table = drive_table(d, d.settings.sequence, kDead_s);
  RunRequest move;
  move.plan = plan_move(d, table, 8);
  compare(d, part_class, by_means(d, move, table), by_edges(d, move));
  const DriveTable holding = holding_table(d, "++", kDead_s);
  RunRequest hold;
  hold.plan = plan_hold(d, holding, 4e-3);
  compare(d, part_class, by_means(d, hold, holding), by_edges(d, hold));
}

TEST(MeasuredMeans, OfAChipAreThoseOfEveryEdge) {
  for (const char* decay : {"slow", "mixed"}) {
    SCOPED_TRACE(decay);
    move_and_hold(measured(true, decay), "dual-chopper-chip");
  }
}

TEST(MeasuredMeans, OfSinglePartsAreThoseOfEveryEdge) {
  for (const char* decay : {"diode", "mixed"}) {
    SCOPED_TRACE(decay);
    move_and_hold(measured(false, decay), "p-mosfet");
  }
}

}  // namespace
}  // namespace pb::rigs
