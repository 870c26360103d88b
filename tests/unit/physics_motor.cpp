// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The motor in a circuit: power balance, natural frequency, current under square-wave drive.
#include "physics/devices/motor.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "tests/rigs/motor.h"

namespace pb::rigs {
namespace {

// e_A i_A + e_B i_B = T w: what the windings take is what the shaft gets.
TEST(Motor, PowerBalance) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> u(-1.0, 1.0);
  for (int k = 0; k < 200; ++k) {
    const Rotor r{50, 0.3 * (1.1 + u(random)), 1e-6, 0, 0.01, 0.02, 0, false};
    const double ia = 2 * u(random), ib = 2 * u(random), w = 40 * u(random), th = u(random);
    const MotorTorque m = motor_torque(r, ia, ib, w, th);
    EXPECT_NEAR(m.e_a_V * ia + m.e_b_V * ib, m.electric_Nm * w, 1e-13);
    EXPECT_NEAR(m.detent_Nm, r.detent_Nm * std::sin(4 * r.teeth * th), 1e-12);
  }
}

// Two phases on give sqrt 2 times the torque of one (vector sum), a quarter tooth apart.
TEST(Motor, HoldingTorque) {
  const Rotor r{50, 0.4, 1e-6, 0, 0, 0, 0, false};
  double one = 0, two = 0;
  for (double th = 0; th < 2 * kPi / 50; th += 1e-6) {
    one = std::max(one, motor_torque(r, 1, 0, 0, th).electric_Nm);
    two = std::max(two, motor_torque(r, 1, 1, 0, th).electric_Nm);
  }
  EXPECT_NEAR(one, 0.4, 1e-7);
  EXPECT_NEAR(two, 0.4 * std::sqrt(2.0), 1e-7);
}

// f = (1/2 pi) sqrt(N_r T_h / J); D. Jones' worked case has k = 0.61115 N m/rad, J = 4.8e-6: 56.8
// Hz.
TEST(Motor, NaturalFrequency) {
  EXPECT_NEAR(swing_Hz(50, 0.40, 5.4e-6, 0.04), 306.294, 0.005 * 306.294);
  EXPECT_NEAR(swing_Hz(50, 0.40, 25.4e-6, 0.04), 141.227, 0.005 * 141.227);
  EXPECT_NEAR(swing_Hz(12, 0.02, 1e-6, 0.04), 77.970, 0.005 * 77.970);
  EXPECT_NEAR(swing_Hz(50, 0.61115 / 50, 4.8e-6, 0.04), 56.79, 0.005 * 56.79);
}

// Symmetric square wave without EMF: I_pk = I0 tanh(X/2), I_rms = I0 sqrt(1 - (2/X) tanh(X/2)),
// X = half a period / tau; I0 1.5 A, tau 2 ms.
TEST(Motor, CurrentUnderSquareWave) {
  const struct {
    double steps_s, peak, rms;
  } rows[] = {{100, 1.499864, 1.341656},
              {400, 1.272425, 0.850347},
              {1000, 0.693176, 0.412884},
              {2000, 0.367378, 0.213851}};
  for (const auto& row : rows) {
    const SquareCurrent i = square_current(3.0, 2.0, 4e-3, row.steps_s);
    EXPECT_NEAR(i.peak_A, row.peak, 1e-3 * row.peak);
    EXPECT_NEAR(i.rms_A, row.rms, 1e-3 * row.rms);
  }
}

TEST(Motor, LockedRotorStays) {
  Circuit c = grounded();
  const int source = driven(c, 12.0);
  c.windings = {{0, 0, 10, 8e-3}, {source, 0, 10, 8e-3}};
  c.rotor = {50, 0.25, 8e-6, 1e-4, 8e-3, 0.05, 0.02, true};
  System s(c);
  Transient t(s, {});
  t.start(0.0, {0, 0, 0, 0.01});
  t.run_to(0.02);
  EXPECT_EQ(t.state()[3], 0.01);
  EXPECT_EQ(t.state()[2], 0.0);
  EXPECT_NEAR(t.state()[1], 1.2, 1e-3);
}

}  // namespace
}  // namespace pb::rigs
