// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Resting states against Ohm's law and against the end of long transients.
#include "physics/settle.h"

#include <gtest/gtest.h>

#include "files/load.h"
#include "files/toml_design.h"
#include "judgement/evidence.h"
#include "physics/run.h"
#include "tests/unit/files_samples.h"

namespace pb {
namespace {

using namespace physics;

TEST(Settle, ADividerRestsWhereOhmsLawSays) {
  Circuit c;
  c.add_node("gnd");
  c.nodes[0].driven = true;
  c.nodes[0].voltage_V = {{0.0}, {0.0}};
  const int source = c.add_node("source"), middle = c.add_node("middle");
  c.nodes[source].driven = true;
  c.nodes[source].voltage_V = {{0.0}, {12.0}};
  c.resistors.push_back({"R1", source, middle, 1.0 / 10e3});
  c.resistors.push_back({"R2", middle, 0, 1.0 / 20e3});
  c.capacitors.push_back({"C1", middle, 0, 1e-6});
  System system(c);
  std::vector<double> x(static_cast<std::size_t>(system.size()), 0.0);
  ASSERT_TRUE(settle(system, 1.0, x));
  EXPECT_NEAR(system.node_voltage(x, middle), 8.0, 1e-4);
}

/// Every shipped design's hold, reset and lone supplies, against a run that takes its time.
TEST(Settle, StandsWhereALongRunEnds) {
  const std::string file = (test::kRoot / "examples/follower-trap/design.toml").string();
  const auto text = load_text(file);
  ASSERT_TRUE(text);
  const auto design = read_design(file, *text, (test::kRoot / "templates").string());
  ASSERT_TRUE(design);
  const Case c = case_of(*design);
  const Point p = typical(c.spreads);
  PowerUp reset, no_logic, no_rail;
  reset.in_reset = true;
  no_logic.logic = false;
  no_rail.rail = false;
  for (const PowerUp& power : {PowerUp{}, reset, no_logic, no_rail}) {
    const RunRequest request = standing_request(c, power, 0.2, 0.1);
    const RunFigures run_to = run(*design, c.spreads, p, {}, request);
    const RunFigures at_rest = stand(*design, c.spreads, p, {}, request);
    ASSERT_EQ(at_rest.outcome, Outcome::reached_end);
    EXPECT_NEAR(at_rest.winding_a.rms_A, run_to.winding_a.rms_A, 1e-4);
    EXPECT_NEAR(at_rest.supply_mean_A, run_to.supply_mean_A, 1e-4);
    for (const auto& [ref, part] : run_to.parts)
      EXPECT_NEAR(at_rest.parts.at(ref).loss_W, part.loss_W, 2e-4) << ref;
    for (const auto& [output, cross_A] : run_to.leg_settled_cross_A)
      EXPECT_NEAR(at_rest.leg_settled_cross_A.at(output), cross_A, 1e-4) << output;
  }
}

}  // namespace
}  // namespace pb
