// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The engine against references that share nothing with it: a source follower by bisection, a motor
// under square-wave voltage by Runge-Kutta.
#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "physics/transient.h"
#include "tests/ref/follower.h"
#include "tests/ref/stepper_ref.h"

namespace pb::physics {
namespace {

int driven(Circuit& c, Profile p) {
  c.nodes.push_back({"n" + std::to_string(c.nodes.size()), true, std::move(p)});
  return static_cast<int>(c.nodes.size()) - 1;
}

TEST(EngineReferences, FollowerSettlesWhereBisectionSays) {
  for (double gate : {2.5, 5.0, 9.0})
    for (double load : {2.0, 10.0, 1000.0}) {
      ref::Follower f;
      f.gate_V = gate, f.load_ohm = load;
      Circuit c;
      driven(c, {{0.0}, {0.0}});
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
  ref::Stepper m;
  m.B_Nms_rad = 1e-3, m.detent_Nm = 5e-3, m.load_Nm = 0.02;
  constexpr double kStep_s = 5e-3, kEnd_s = 0.06, kVolt = 3.0;
  static constexpr int kSigns[4][2] = {{1, 1}, {-1, 1}, {-1, -1}, {1, -1}};
  const ref::PhaseDrive drive = [&](double t) -> std::array<double, 2> {
    const int k = static_cast<int>(std::floor(t / kStep_s)) % 4;
    return {kVolt * kSigns[k][0], kVolt * kSigns[k][1]};
  };
  const ref::StepperState start{0, 0, 0, std::acos(-1.0) / (4.0 * m.Nr)};
  const auto expected = ref::stepper_run(m, start, drive, 1e-6, 60000);

  Circuit c;
  driven(c, {{0.0}, {0.0}});
  for (int w = 0; w < 2; ++w) {
    Profile p{{0.0}, {kVolt}};
    for (int k = 1; k * kStep_s < kEnd_s; ++k)
      if (kSigns[k % 4][w] != kSigns[(k - 1) % 4][w])
        p.hold_then_go(k * kStep_s, 1e-9, kVolt * kSigns[k % 4][w]);
    c.windings.push_back({driven(c, p), 0, m.winding_ohm, m.winding_H});
  }
  c.rotor = {m.Nr, m.Km_Vs_rad, m.J_kgm2, m.B_Nms_rad, m.detent_Nm, m.load_Nm, 0.0, false};
  // Lightly damped: the swing keeps every error. Default tolerances, and a tenth of them.
  const struct {
    double factor, allowed;
  } rows[] = {{1.0, 3e-3}, {0.1, 3e-4}};
  for (const auto& row : rows) {
    TransientOptions o;
    o.rtol *= row.factor, o.atol_A *= row.factor, o.atol_V *= row.factor, o.atol_rad *= row.factor;
    System s(c);
    Transient t(s, o);
    t.start(0.0, {0, 0, 0, start.angle_rad});
    double current = 0, angle = 0, peak = 0;
    for (int k = 1; k <= 60; ++k) {
      ASSERT_EQ(t.run_to(k * 1e-3), Outcome::reached_end);
      const ref::StepperState& e = expected[static_cast<std::size_t>(k) * 1000];
      current =
          std::max({current, std::abs(t.state()[0] - e.ia_A), std::abs(t.state()[1] - e.ib_A)});
      peak = std::max(peak, std::abs(e.ia_A));
      angle = std::max(angle, std::abs(t.state()[3] - e.angle_rad));
    }
    EXPECT_LT(current, row.allowed * peak) << row.factor;
    EXPECT_LT(angle, 10.0 * row.allowed * std::acos(-1.0) / (2.0 * m.Nr)) << row.factor;
  }
  EXPECT_GT(expected.back().angle_rad, 0.2);  // it turns: ten steps are 0.31 rad
}

}  // namespace
}  // namespace pb::physics
