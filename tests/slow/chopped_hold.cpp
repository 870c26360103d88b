// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The heat of a chopped hold from a few of its periods against the same from every edge of a hold.
#include "physics/chopped_hold.h"

#include <gtest/gtest.h>

#include "files/toml_brief.h"
#include "files/toml_design.h"
#include "tests/rigs/chopped.h"
#include "tests/unit/files_samples.h"

namespace pb::physics {
namespace {

/// Whole periods, so that the last tenth is; long against L/R.
constexpr double kHold_s = 10e-3;

void compare(const Design& d, double share) {
  const auto spreads = spreads_of(d);
  const Point point = typical(spreads);
  const DriveTable table = holding_table(d, "++", 2e-6);
  const HeatedRun few = hold_chopped(d, spreads, point, table);
  RunRequest r;
  r.plan = plan_hold(d, table, kHold_s);
  const HeatedRun all = run_heated(d, spreads, point, r);
  ASSERT_TRUE(all.consistent) << d.wiring.title << all.figures.trouble;
  ASSERT_TRUE(few.consistent) << d.wiring.title;
  const double ambient_K = value_of(spreads, point, "ambient");
  int warm = 0;
  for (const auto& [ref, T_K] : all.figures.temperatures.junction_K) {
    const double rise_K = T_K - ambient_K;
    EXPECT_NEAR(few.figures.temperatures.junction_K.at(ref) - ambient_K, rise_K,
                share * rise_K + 0.5)
        << d.wiring.title << ' ' << ref;
    if (rise_K > 5) ++warm;
  }
  EXPECT_GT(warm, 0);
}

// A single period may be off by what refute_standing (judgement/proof.cpp) leaves for it: a tenth
// of a limit in degrees is more than a tenth of the rise to it.
TEST(ChoppedHold, HeatIsThatOfEveryEdge) {
  compare(rigs::chopped(read_brief("least.toml", test::kLeastBrief)->brief, test::kRoot.string(),
                        "bridge-chip", "slow", "two-phase"),
          0.07);
  const std::string root = test::kRoot.string();
  const auto quick =
      load_design(root + "/examples/carriage-feed/quick-gates.toml", root + "/templates");
  ASSERT_TRUE(quick);
  compare(*quick, 0.07);
}

TEST(ChoppedHold, WindingsDrivenUnlikeSayNothing) {
  const Design d = rigs::chopped(read_brief("least.toml", test::kLeastBrief)->brief,
                                 test::kRoot.string(), "bridge-chip", "slow", "one-phase");
  const auto spreads = spreads_of(d);
  const HeatedRun r = hold_chopped(d, spreads, typical(spreads), holding_table(d, "+0", 0));
  EXPECT_FALSE(r.consistent);
  EXPECT_FALSE(r.runaway);
}

}  // namespace
}  // namespace pb::physics
