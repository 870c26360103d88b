// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The engine against references that share nothing with it: a source follower by bisection, a motor
// under square-wave voltage by Runge-Kutta.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/ref/follower.h"
#include "tests/rigs/motor.h"

namespace pb::rigs {
namespace {

TEST(EngineReferences, FollowerSettlesWhereBisectionSays) {
  for (double gate : {2.5, 5.0, 9.0})
    for (double load : {2.0, 10.0, 1000.0}) {
      ref::Follower f;
      f.gate_V = gate, f.load_ohm = load;
      Circuit c = grounded();
      const int drain = driven(c, {{0.0, 1e-6}, {0.0, f.drain_V}}),
                at_gate = driven(c, {{0.0, 1e-6}, {0.0, gate}}), source = c.add_node("source");
      c.mosfets.push_back({"q", drain, at_gate, source, {1, f.VT0_V, f.K_A_V2, f.n, f.UT_V}});
      c.resistors.push_back({"load", source, 0, 1.0 / load});
      c.capacitors.push_back({"c", source, 0, 1e-9});
      System s(c);
      TransientOptions o;
      o.atol_V = 1e-6, o.rtol = 1e-6;
      Transient t(s, o);
      t.start(0.0);
      ASSERT_EQ(t.run_to(1e-3), Outcome::reached_end);
      EXPECT_NEAR(t.state()[0], ref::follower_source_V(f), 2e-5) << gate << ' ' << load;
    }
}

TEST(EngineReferences, MotorUnderSquareWaveAsByRungeKutta) {
  // Lightly damped: the swing keeps every error. Default tolerances, and a tenth of them.
  const struct {
    double factor, allowed;
  } rows[] = {{1.0, 3e-3}, {0.1, 3e-4}};
  for (const auto& row : rows) {
    const ByRungeKutta x = by_runge_kutta(row.factor);
    EXPECT_LT(x.current, row.allowed) << row.factor;
    EXPECT_LT(x.angle_step, 10.0 * row.allowed) << row.factor;
    EXPECT_GT(x.turned_rad, 0.2);  // it turns: ten steps are 0.31 rad
  }
}

}  // namespace
}  // namespace pb::rigs
