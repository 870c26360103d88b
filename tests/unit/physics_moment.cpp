// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Currents at a moment keep Kirchhoff's current law where no gate, base or capacitor is.
#include "physics/moment.h"

#include <gtest/gtest.h>

#include <cmath>

#include "judgement/evidence.h"
#include "tests/unit/judgement_samples.h"

namespace pb::physics {
namespace {

TEST(Moment, WhatComesToAnOutputLeavesIt) {
  const Design d = judgement_samples::sound();
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  const Plan plan = move_plan(c);
  const double t_s = 0.5 * (plan.states[3].t_s + plan.states[4].t_s);
  const auto branches = currents_at(d, c.spreads, typical(c.spreads), {}, plan, t_s);
  ASSERT_FALSE(branches.empty());
  const auto winding = currents_into(branches, "winding_a", d.wiring.winding_a);
  EXPECT_GT(std::abs(winding[0]), 10e-3);
  EXPECT_DOUBLE_EQ(winding[0], -winding[1]);
  for (std::size_t end = 0; end < 2; ++end) {
    const std::string& node = d.wiring.winding_a[end];
    double sum_A = winding[end];
    for (const Place& p : d.wiring.places) {
      const auto in = currents_into(branches, p.ref, p.nodes);
      for (std::size_t k = 0; k < in.size(); ++k)
        if (p.nodes[k] == node && !std::isnan(in[k])) sum_A += in[k];
    }
    // Nothing switches then: what the gates' capacitances still take is next to nothing.
    EXPECT_NEAR(sum_A, 0, 1e-3 * std::abs(winding[end])) << node;
  }
}

TEST(Moment, TwoEndsPassOnWhatTheyTake) {
  const std::vector<Branch> branches = {{"C1", "rail", "inside", 0.25}, {"Q1", "d", "s", 2.0}};
  EXPECT_EQ(currents_into(branches, "C1", {"rail", "gnd"}), (std::vector<double>{0.25, -0.25}));
  const auto q = currents_into(branches, "Q1", {"d", "g", "s"});
  EXPECT_EQ(q[0], 2.0);
  EXPECT_TRUE(std::isnan(q[1]));
  EXPECT_EQ(q[2], -2.0);
  EXPECT_TRUE(std::isnan(currents_into(branches, "R9", {"a", "b"})[0]));
}

}  // namespace
}  // namespace pb::physics
