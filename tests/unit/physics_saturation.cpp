// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Iron that saturates: flux and torque from one co-energy, written down here once more; current
// rise under constant voltage by quadrature; energy.
#include "physics/devices/saturation.h"

#include <gtest/gtest.h>

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <random>

#include "model/brief.h"
#include "tests/rigs/batch.h"

namespace pb::rigs {
namespace {

using Quadrature = boost::math::quadrature::gauss_kronrod<double, 31>;

struct Motor {
  double L0 = 8e-3, K = 0.25, N = 50, Is = 1.7;
  Iron iron() const { return iron_of(L0, K, N, Is); }
  /// L I_s^2 (sqrt(1 + |y|^2/I_s^2) - 1), as of White and Woodson's co-energy.
  double co_energy_J(double ia, double ib, double th) const {
    const double Im = K / (N * L0), L = L0 * std::sqrt(1 + Im * Im / (Is * Is));
    const double ya = ia + Im * std::cos(N * th), yb = ib + Im * std::sin(N * th);
    return L * Is * Is * (std::sqrt(1 + (ya * ya + yb * yb) / (Is * Is)) - 1);
  }
};

TEST(Saturation, FluxAndTorqueAreSlopesOfOneCoEnergy) {
  const Motor m;
  std::mt19937 random(2);
  std::uniform_real_distribution<double> u(-1.0, 1.0);
  for (int k = 0; k < 200; ++k) {
    const double a = 3 * u(random), b = 3 * u(random), th = u(random), h = 1e-5, t = 1e-7;
    const BasicFlux<double> f = flux_law(m.iron(), a, b, th);
    EXPECT_NEAR(f.a_Vs, (m.co_energy_J(a + h, b, th) - m.co_energy_J(a - h, b, th)) / (2 * h),
                1e-9);
    EXPECT_NEAR(f.b_Vs, (m.co_energy_J(a, b + h, th) - m.co_energy_J(a, b - h, th)) / (2 * h),
                1e-9);
    EXPECT_NEAR(f.torque_Nm, (m.co_energy_J(a, b, th + t) - m.co_energy_J(a, b, th - t)) / (2 * t),
                1e-6);
    const auto up = flux_law(m.iron(), a + h, b, th), down = flux_law(m.iron(), a - h, b, th),
               on = flux_law(m.iron(), a, b, th + t), back = flux_law(m.iron(), a, b, th - t);
    EXPECT_NEAR(f.aa_H, (up.a_Vs - down.a_Vs) / (2 * h), 1e-8);
    EXPECT_NEAR(f.ab_H, (up.b_Vs - down.b_Vs) / (2 * h), 1e-8);
    EXPECT_NEAR(f.a_by_angle_Vs, (on.a_Vs - back.a_Vs) / (2 * t), 1e-6);
    EXPECT_NEAR(f.b_by_angle_Vs, (on.b_Vs - back.b_Vs) / (2 * t), 1e-6);
    // What the angle does to the flux, the current does to the torque.
    EXPECT_NEAR(f.a_by_angle_Vs, (up.torque_Nm - down.torque_Nm) / (2 * h), 1e-7);
    EXPECT_NEAR(f.torque_by_angle_Nm, (on.torque_Nm - back.torque_Nm) / (2 * t), 1e-4);
    EXPECT_GT(f.aa_H * f.bb_H - f.ab_H * f.ab_H, 0.0);  // convex: never a negative inductance
  }
}

TEST(Saturation, WithoutEndIsTheLinearMotor) {
  Motor m;
  m.Is = 1e6;
  const Rotor r{m.N, m.K, 1e-6, 0, 0, 0, 0, false};
  for (double th = 0; th < 0.13; th += 0.007) {
    const BasicFlux<double> f = flux_law(m.iron(), 1.3, -0.4, th);
    const MotorTorque t = motor_torque(r, 1.3, -0.4, 1.0, th);
    EXPECT_NEAR(f.torque_Nm, t.electric_Nm, 1e-10);
    EXPECT_NEAR(f.aa_H, m.L0, 1e-12);
    EXPECT_NEAR(f.a_by_angle_Vs, t.e_a_V, 1e-10);
    EXPECT_NEAR(f.b_by_angle_Vs, t.e_b_V, 1e-10);
  }
}

TEST(Saturation, WithoutCurrentInductanceAndEmfAreAsGiven) {
  const Motor m;
  for (double th = 0; th < 0.13; th += 0.007) {
    const BasicFlux<double> f = flux_law(m.iron(), 0.0, 0.0, th);
    EXPECT_NEAR(f.a_by_angle_Vs, -m.K * std::sin(m.N * th), 1e-12);
    EXPECT_NEAR(f.b_by_angle_Vs, m.K * std::cos(m.N * th), 1e-12);
    EXPECT_NEAR(f.torque_Nm, 0.0, 1e-12);
  }
  EXPECT_NEAR(flux_law(m.iron(), 0.0, 0.0, 0.0).bb_H, m.L0, 1e-12);  // across the magnet
}

// Real hybrids hold 1.25 to 1.35 times as much with two phases on as with one, not sqrt 2 (common
// practice, from memory).
TEST(Saturation, TwoPhasesOnAreLessThanRootTwo) {
  const Motor m;
  const auto most = [&](double ia, double ib) {
    double T = 0;
    for (double th = 0; th < 2 * kPi / m.N; th += 1e-6)
      T = std::max(T, flux_law(m.iron(), ia, ib, th).torque_Nm);
    return T;
  };
  MotorBrief b;
  b.winding_inductance_H = m.L0, b.steps_per_turn = 4 * m.N, b.saturation_current_A = m.Is;
  const double one = most(1.0, 0.0), two = most(1.0, 1.0);
  EXPECT_NEAR(one, holding_torque(b, m.K, 1.0), 1e-6);
  EXPECT_NEAR(two, holding_torque(b, m.K, std::sqrt(2.0)), 1e-6);
  EXPECT_GT(two / one, 1.25);
  EXPECT_LT(two / one, 1.35);
  // And the constant is the one that has the data sheet's torque in such iron.
  b.rated_current_A = 1.0, b.holding_torque_Nm = two;
  EXPECT_NEAR(motor_constant(b), m.K, 1e-9);
  b.saturation_current_A = kNotGiven;
  EXPECT_EQ(motor_constant(b), two / std::sqrt(2.0));
}

/// A winding on constant voltage, the rotor held, its magnet negligible.
struct Rise {
  double V = 12, R = 4;
  Motor m{8e-3, 1e-9, 50, 1.2};
  Circuit circuit() const {
    Circuit c = grounded();
    const int source = driven(c, V);
    c.windings = {{source, 0, R, m.L0}, {0, 0, R, m.L0}};
    c.rotor = {m.N, m.K, 1e-6, 0, 0, 0, 0, true};
    c.iron = m.iron();
    return c;
  }
  double inductance_H(double i) const { return m.L0 / std::pow(1 + i * i / (m.Is * m.Is), 1.5); }
  /// V = R i + L(i) di/dt.
  double time_s(double i) const {
    return Quadrature::integrate([&](double x) { return inductance_H(x) / (V - R * x); }, 0.0, i,
                                 10, 1e-12);
  }
  double energy_J(double i) const {
    return Quadrature::integrate([&](double x) { return x * inductance_H(x); }, 0.0, i, 10, 1e-12);
  }
};

TEST(Saturation, CurrentRisesAsTheFluxLawSays) {
  const Rise rise;
  for (const double i : {0.3, 1.0, 2.0, 2.8}) {
    System s(rise.circuit());
    Transient t(s, tight());
    t.start(0.0);
    ASSERT_EQ(t.run_to(rise.time_s(i)), Outcome::reached_end);
    EXPECT_NEAR(t.state()[0], i, 2e-6 * i);
    EXPECT_NEAR(t.slope(0), (rise.V - rise.R * i) / rise.inductance_H(i), 1e-4 * t.slope(0));
    EXPECT_NEAR(t.ledger().stored_J, rise.energy_J(i), 1e-5 * rise.energy_J(i));
    EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-6 * t.ledger().throughput_J);
  }
}

TEST(Saturation, CurrentRisesSoAtTheUsualTolerances) {
  const Rise rise;
  System s(rise.circuit());
  Transient t(s, {});
  t.start(0.0);
  ASSERT_EQ(t.run_to(rise.time_s(2.0)), Outcome::reached_end);
  EXPECT_NEAR(t.state()[0], 2.0, 1e-3 * 2.0);
}

// A rotor let go beside its equilibrium, both windings on: what the source gives is lost, stored or
// carried away.
TEST(Saturation, EnergyOfASwingCloses) {
  const Motor m;
  Circuit c = grounded();
  const int source = driven(c, 6.0);
  c.windings = {{source, 0, 4, m.L0}, {source, 0, 4, m.L0}};
  c.rotor = {m.N, m.K, 5e-6, 1e-4, 0.01, 0.005, 0, false};
  c.iron = m.iron();
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {0, 0, 0, -0.01});
  ASSERT_EQ(t.run_to(0.05), Outcome::reached_end);
  EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-6 * t.ledger().throughput_J);
  EXPECT_GT(t.ledger().load_J, 1e-4);
}

// Units that differ in inductance, constant and saturation.
TEST(Saturation, ABatchIsAsOneByOne) {
  expect_batch_as_one_by_one(
      [](int k) {
        Motor m;
        m.L0 *= 1 + 0.05 * k, m.K *= 1 - 0.03 * k, m.Is *= 1 + 0.1 * k;
        Circuit c = grounded();
        const int source = driven(c, 6.0);
        c.windings = {{source, 0, 4, m.L0}, {source, 0, 4, m.L0}};
        c.rotor = {m.N, m.K, 5e-6, 1e-4, 0.01, 0.005, 0, false};
        c.iron = m.iron();
        return c;
      },
      [](int k) { return std::vector<double>{0, 0, 0, -0.01 - 1e-3 * k}; }, {2e-3, 20e-3}, 1e-3);
}

}  // namespace
}  // namespace pb::rigs
