// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A hold on means over its periods against every edge, and the means against duty and drops.
// Moves: tests/slow/chopped_run.cpp.
#include "physics/chopped_run.h"

#include <gtest/gtest.h>

#include <cmath>

#include "files/toml_brief.h"
#include "physics/mean_drive.h"
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

TEST(PhysicsChoppedRun, HoldIsThatOfEveryEdge) {
  Design d = chopped("bridge-chip", "slow", "two-phase");
  d.brief.motion.hold = "reduced";
  const DriveTable table = holding_table(d, "++", 0);
  RunRequest r;
  r.plan = plan_hold(d, table, 10e-3);
  const RunFigures all = rigs::by_edges(d, r), few = rigs::by_means(d, r, table);
  ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
  near(few.winding_a.rms_A, all.winding_a.rms_A, 0.01, "a");
  near(few.winding_b.rms_A, all.winding_b.rms_A, 0.01, "b");
  near(few.winding_loss_W, all.winding_loss_W, 0.02, "windings");
  near(few.supply_mean_A, all.supply_mean_A, 0.03, "supply");
}

TEST(PhysicsChoppedRun, MeanVoltageIsDutyTimesSupplyLessDrops) {
  Design d = chopped("bridge-chip", "slow", "two-phase");
  d.brief.motion.hold = "reduced";  // so that two duties are simulated
  const auto spreads = spreads_of(d);
  const Point point = typical(spreads);
  const Temperatures cold;
  const DriveTable table = drive_table(d, "two-phase", 0);
  const StopToken stop;
  const PeriodPoints points(d, spreads, point, cold, table, 0.25);
  const PeriodMeans m(points, stop);
  double ohms = 0;
  for (const auto& [role, part] : d.parts)
    if (part.part_class == "bridge-chip") ohms = figure(part, "on_resistance_typ");
  for (const double duty : {0.05, 0.0625, 0.125})
    for (const double i : {0.2, 0.4})
      for (const bool forward : {true, false})
        EXPECT_NEAR(m.volts(m.between(0, forward, duty, i)), duty * 24 - i * ohms, 0.04)
            << duty << ' ' << i;
}

}  // namespace
}  // namespace pb::physics
