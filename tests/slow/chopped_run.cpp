// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopped move on means over its periods against the same with every edge simulated.
#include "physics/chopped_run.h"

#include <gtest/gtest.h>

#include <cmath>

#include "files/toml_brief.h"
#include "tests/rigs/chopped.h"
#include "tests/unit/files_samples.h"

namespace pb::physics {
namespace {

Design chopped(const std::string& part_class, const std::string& decay,
               const std::string& sequence) {
  return rigs::chopped(read_brief("least.toml", test::kLeastBrief)->brief, test::kRoot.string(),
                       part_class, decay, sequence);
}

void near(double value, double expected, double share, const std::string& what) {
  EXPECT_NEAR(value, expected, share * std::abs(expected)) << what;
}

struct Kind {
  const char *part_class, *decay;
  double steps_a_period = 0;
};

/// Whatever a proof reads off a move; `loss_share` is the target for switches' loss.
void compare(const Design& d, const Kind& k, const RunFigures& few, const RunFigures& all) {
  constexpr double kRms = 0.01, kLoss = 0.03;
  ASSERT_EQ(all.outcome, Outcome::reached_end) << all.trouble;
  ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
  EXPECT_EQ(few.steps_commanded, all.steps_commanded);
  EXPECT_EQ(few.steps_made, all.steps_made);
  EXPECT_NEAR(few.lag_max_step, all.lag_max_step, 0.03);
  EXPECT_NEAR(few.end_error_step, all.end_error_step, 0.03);
  const rigs::Apart a = rigs::apart(d, few, all, k.part_class);
  EXPECT_LT(a.rms, kRms);
  EXPECT_LT(a.loss, kLoss);
  EXPECT_GT(a.parts, 1);
  near(few.winding_a.peak_A, all.winding_a.peak_A, 0.02, "peak a");
  near(few.supply_mean_A, all.supply_mean_A, 0.03, "supply");
  near(few.rail_max_V, all.rail_max_V, 0.01, "rail");
  EXPECT_LT(few.steps, all.steps / 2);
  EXPECT_LT(std::abs(few.ledger.residual_J()), 1e-3 * few.ledger.throughput_J + 1e-6);
  for (const Place& p : d.wiring.places)
    if (const auto part = d.parts.find(p.role);
        part != d.parts.end() && part->second.part_class == k.part_class)
      near(few.parts.at(p.ref).current_A.value, all.parts.at(p.ref).current_A.value, 0.05,
           p.ref + " peak");
  EXPECT_EQ(few.switches.size(), all.switches.size());
  for (const auto& [name, s] : all.switches) {
    ASSERT_TRUE(few.switches.contains(name)) << name;
    EXPECT_NEAR(few.switches.at(name).on_control_V, s.on_control_V, 0.1) << name;
    EXPECT_NEAR(few.switches.at(name).off_control_V, s.off_control_V, 0.1) << name;
  }
}

/// The window's last cycle by edges: nearer than means are, and drawn.
void compare_window(const Design& d, const Kind& k, const RunFigures& cycle,
                    const RunFigures& all) {
  ASSERT_EQ(cycle.outcome, Outcome::reached_end) << cycle.trouble;
  const rigs::Apart a = rigs::apart(d, cycle, all, k.part_class);
  EXPECT_LT(a.rms, 0.003);
  EXPECT_LT(a.loss, 0.01);
  near(cycle.supply_mean_A, all.supply_mean_A, 0.01, "supply");
  const double cycle_s = 4 / d.brief.motion.rate_steps_s;
  EXPECT_NEAR(cycle.window_to_s - cycle.window_from_s, cycle_s, 1e-3 * cycle_s);
  EXPECT_DOUBLE_EQ(cycle.window_to_s, all.window_to_s);
  ASSERT_GT(cycle.waves.rows.size(), 1000U);
  EXPECT_GE(cycle.waves.rows.front()[0], cycle.window_from_s);
  EXPECT_LE(cycle.waves.rows.back()[0], cycle.window_to_s);
}

TEST(ChoppedRun, MoveIsThatOfEveryEdge) {
  for (const Kind k : {Kind{"bridge-chip", "slow", 70}, Kind{"p-mosfet", "diode", 110}}) {
    SCOPED_TRACE(std::string(k.part_class) + ", " + k.decay);
    const Design d = chopped(k.part_class, k.decay, "two-phase");
    const auto spreads = spreads_of(d);
    const DriveTable table =
        drive_table(d, "two-phase", computed_dead_time(d, spreads, typical(spreads), "two-phase"));
    RunRequest r;
    r.plan = plan_move(d, table, 16);
    const RunFigures all = rigs::by_edges(d, r);
    // Twelve corners a period at the most. Where currents turn round they lift the rail above the
    // supply, which blocks: if Newton leaves its junction's current open there, steps kick each
    // other on through the cable, hundreds of them a period.
    const double periods = (r.plan.settle_s + r.plan.end_s) / (table.tick_s * table.c.chop.period);
    EXPECT_LT(static_cast<double>(all.steps) / periods, k.steps_a_period);
    compare(d, k, rigs::by_means(d, r, table), all);
    r.window_by_edge = r.record = true;
    compare_window(d, k, rigs::by_means(d, r, table), all);
  }
}

TEST(ChoppedRun, MicrostepsAndReleaseToo) {
  Design d = chopped("bridge-chip", "slow", "micro");
  d.brief.motion.hold = "off";
  d.brief.motion.rate_steps_s = 100;
  d.settings.stop = "coast";
  const DriveTable table = drive_table(d, "micro", 0);
  RunRequest r;
  r.plan = plan_move(d, table, 8);
  const RunFigures all = rigs::by_edges(d, r), few = rigs::by_means(d, r, table);
  ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
  EXPECT_EQ(few.steps_made, all.steps_made);
  const rigs::Apart a = rigs::apart(d, few, all, "bridge-chip");
  EXPECT_LT(a.rms, 0.01);
  EXPECT_LT(a.loss, 0.03);
  EXPECT_NEAR(few.rail_max_V, all.rail_max_V, 0.2);  // the release pumps the rail
  EXPECT_NEAR(few.settle_error_step, all.settle_error_step, 0.05);
}

// What a winding that is let go returns lifts the rail, which drives the other one.
TEST(ChoppedRun, WindingsLetGoLiftTheRail) {
  for (const char* sequence : {"half", "one-phase"})
    for (const Kind k : {Kind{"bridge-chip", "slow"}, Kind{"p-mosfet", "diode"}}) {
      SCOPED_TRACE(std::string(sequence) + ", " + k.part_class);
      const Design d = chopped(k.part_class, k.decay, sequence);
      const auto spreads = spreads_of(d);
      const DriveTable table =
          drive_table(d, sequence, computed_dead_time(d, spreads, typical(spreads), sequence));
      RunRequest r;
      r.plan = plan_move(d, table, 12);
      const RunFigures all = rigs::by_edges(d, r), few = rigs::by_means(d, r, table);
      ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
      const rigs::Apart a = rigs::apart(d, few, all, k.part_class);
      EXPECT_LT(a.rms, 0.01);
      EXPECT_LT(a.loss, 0.03);
    }
}

}  // namespace
}  // namespace pb::physics
