// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The engine's motor against theory that knows no engine: pull-out torque in closed form, and the
// eigenvalues of the motion about synchronous running, which say when a motor becomes unstable at
// medium step rates. Theme: P. Acarnley, Stepping Motors: a guide to theory and practice, 4th ed.,
// IET 2002, ch. 5 (from memory); numbers derived from the equations of the model, and found again
// by other means in tests/ref/stepper_ref_test.cpp.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/rigs/motor.h"

namespace pb::rigs {
namespace {

struct PullOutRow {
  double R_ohm, V_V, steps_per_s, torque_Nm;
};
// K V1/Z - K^2 w R/Z^2, Z^2 = R^2 + (N w L)^2, V1 = 4 V/pi of two phases on (square wave between
// +-V); K 0.3, N 50, L 4 mH.
constexpr PullOutRow kPullOut[] = {
    {2, 3, 50, 0.49703},   {2, 3, 100, 0.41795},   {2, 3, 200, 0.28243},   {2, 3, 400, 0.13751},
    {2, 3, 1000, 0.04372}, {16, 24, 100, 0.55487}, {16, 24, 400, 0.49703}, {16, 24, 1000, 0.38021}};

TEST(EngineMotor, PullOutTorque) {
  for (const PullOutRow& r : kPullOut) {
    ref::Stepper m;
    m.winding_ohm = r.R_ohm;
    SCOPED_TRACE(testing::Message() << r.R_ohm << " ohm, " << r.steps_per_s << " steps/s");
    EXPECT_NEAR(pull_out(m, Wave::sine, r.V_V * 4.0 / kPi, r.steps_per_s), r.torque_Nm,
                1e-3 * r.torque_Nm);
    // Harmonics turn nothing on average at a forced speed.
    EXPECT_NEAR(pull_out(m, Wave::square, r.V_V, r.steps_per_s), r.torque_Nm, 5e-3 * r.torque_Nm);
  }
}

// e_A i_A + e_B i_B = T w over a run: what the source gives and the windings do not burn is what
// the shaft gets, at any load angle.
TEST(EngineMotor, PowerBalance) {
  const ref::Stepper m;
  for (Wave wave : {Wave::sine, Wave::square})
    for (double lead : {-1.0, 0.5, 2.0}) {
      const Pull p = pulled(m, wave, 3.0, 200.0, lead);
      EXPECT_GT(std::abs(p.torque_Nm), 0.01);
      EXPECT_NEAR(p.torque_Nm, p.from_currents_Nm, 1e-3 * std::abs(p.torque_Nm)) << lead;
    }
}

TEST(EngineMotor, FreeRotorFallsOutOfStepThere) {
  ref::Stepper m;
  m.B_Nms_rad = 0.0;
  for (const PullOutRow& r : {kPullOut[2], kPullOut[6]}) {
    m.winding_ohm = r.R_ohm;
    const double V1 = r.V_V * 4.0 / kPi, held = 0.98 * r.torque_Nm, lost = 1.02 * r.torque_Nm;
    EXPECT_NEAR(lag_steps(m, V1, r.steps_per_s, held, held, 0.5), 0.0, 1.0) << r.R_ohm;
    EXPECT_GT(lag_steps(m, V1, r.steps_per_s, held, lost, 0.5), 4.0) << r.R_ohm;
  }
}

struct ModeRow {
  double R_ohm, V_V, steps_per_s, re, im, run_s;
};
// K 0.3, N 50, L 4 mH, J 2.5e-5, no load, sinusoidal supply of amplitude 4 V/pi.
constexpr ModeRow kModes[] = {
    {2, 3, 470, -4.982, 558.425, 0.3},      {2, 3, 480, 2.704, 555.763, 0.3},
    {2, 3, 500, 16.165, 550.485, 0.2},      {2, 3, 600, 56.783, 526.731, 0.12},
    {2, 3, 800, 73.405, 489.152, 0.1},      {16, 24, 400, -103.074, 1081.418, 0.06},
    {16, 24, 1000, -72.364, 1018.756, 0.06}};

TEST(EngineMotor, BecomesUnstableWhereTheEigenvaluesSay) {
  for (const ModeRow& r : kModes) {
    ref::Stepper m;
    m.winding_ohm = r.R_ohm;
    // What grows starts so small that it stays linear to the end; what decays, large enough to be
    // seen above the supply's broken lines.
    const double kick_rad_s = r.re > 0 ? 1e-5 : 1e-3;
    const auto mode = measured_mode(m, r.V_V * 4.0 / kPi, r.steps_per_s, r.run_s, kick_rad_s);
    SCOPED_TRACE(testing::Message() << r.R_ohm << " ohm, " << r.steps_per_s << " steps/s");
    EXPECT_NEAR(mode.real(), r.re, std::abs(r.re) > 20 ? 0.01 * std::abs(r.re) : 0.05);
    EXPECT_NEAR(mode.imag(), r.im, 1e-5 * r.im);
  }
}

}  // namespace
}  // namespace pb::rigs
