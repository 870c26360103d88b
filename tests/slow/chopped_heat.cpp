// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Why single parts do not chop at 20 kHz as they step at 200 a second: the shipped designs of one
// drive, judged at typical values.
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "app/inputs.h"
#include "judgement/proof.h"
#include "tests/slow/small_design.h"

namespace pb {
namespace {

/// Least margin of the junctions of switches, moving and holding.
double least_junction_margin(const std::string& file) {
  const Design d =
      app::read_design_input({test::kTree + "/examples/carriage-feed/" + file, {}}).value().design;
  ProofOptions o;
  o.depth = Depth::trial;
  const Verdict v = prove(d, o).verdict;
  EXPECT_TRUE(v.undecided.empty()) << file << ": " << v.undecided.front();
  double least = 1e300;
  int seen = 0;
  for (const Check& c : v.checks)
    if (c.id == "switch_junction" || c.id == "permanent_hold")
      least = std::min(least, c.margin), ++seen;
  EXPECT_GT(seen, 1) << file;
  return least;
}

TEST(ChoppedHeat, BodyDiodesAndSlowGatesAreTooHotAndNeitherIsNot) {
  EXPECT_LT(least_junction_margin("body-diode.toml"), -0.1);
  EXPECT_LT(least_junction_margin("slow-gates.toml"), -0.1);
  EXPECT_GT(least_junction_margin("quick-gates.toml"), 0.1);
}

}  // namespace
}  // namespace pb
