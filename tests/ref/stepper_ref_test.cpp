// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The motor reference against closed forms and tables. Books: Acarnley, Stepping Motors: a guide to
// theory and practice, 4th ed., IET 2002; Jones, Control of Stepping Motors, Univ. of Iowa.
// "Derived" rows were computed from the stated equations in another language.

#include "tests/ref/stepper_ref.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace pb::ref {
namespace {

constexpr double kPi = std::numbers::pi;

// f = sqrt(Nr Th / J) / 2 pi (Jones gives sqrt(k/J) / 2 pi with k the slope of torque; derived
// rows).
TEST(StepperRef, SwingMatchesNaturalFrequency) {
  struct Row {
    double Nr, Th_Nm, J_kgm2, f_Hz;
  };
  for (const Row& r : {Row{50, 0.40, 5.4e-6, 306.294}, Row{50, 0.40, 25.4e-6, 141.227},
                       Row{12, 0.02, 1e-6, 77.970}, Row{6, 0.02, 1e-6, 55.133}}) {
    Stepper m{.Km_Vs_rad = r.Th_Nm, .Nr = r.Nr, .J_kgm2 = r.J_kgm2};
    const double step_rad = kPi / (2.0 * r.Nr);
    // One phase with 1 A has Th = Km. A swing of 0.02 step is slower by (0.02 pi/2)^2/16 = 6e-5.
    EXPECT_NEAR(stepper_swing_Hz(m, 1.0, 0.0, 0.02 * step_rad), r.f_Hz, 1e-4 * r.f_Hz);
    // Two phases on hold sqrt(2) tighter (Jones): the frequency rises by the fourth root of 2.
    EXPECT_NEAR(stepper_swing_Hz(m, 1.0, 1.0, 0.02 * step_rad), r.f_Hz * std::pow(2.0, 0.25),
                1e-4 * r.f_Hz);
  }
}

// Published case: 0.0032 N m a 0.3 degree, J 4.8e-6: 56.8 Hz (Jones).
TEST(StepperRef, SwingMatchesPublishedCase) {
  const double stiffness = 0.0032 / (0.3 * kPi / 180.0);
  Stepper m{.Km_Vs_rad = stiffness / 50.0, .Nr = 50.0, .J_kgm2 = 4.8e-6};
  EXPECT_NEAR(stepper_swing_Hz(m, 1.0, 0.0, 1e-4), 56.8, 0.05);
}

// The detent, four cycles a tooth pitch, stiffens the one-phase-on position by 4 Nr Td and softens
// the two-phase-on position by as much (derived from the torque's slope).
TEST(StepperRef, DetentStiffensOrSoftens) {
  const Stepper m{.Km_Vs_rad = 0.4, .Nr = 50.0, .J_kgm2 = 5.4e-6, .detent_Nm = 0.02};
  const auto f_Hz = [&](double Nm) { return std::sqrt(m.Nr * Nm / m.J_kgm2) / (2.0 * kPi); };
  const double one_Nm = 0.4 + 4.0 * 0.02, two_Nm = 0.4 * std::numbers::sqrt2 - 4.0 * 0.02;
  EXPECT_NEAR(stepper_swing_Hz(m, 1.0, 0.0, 1e-4), f_Hz(one_Nm), 1e-4 * f_Hz(one_Nm));
  EXPECT_NEAR(stepper_swing_Hz(m, 1.0, 1.0, 1e-4), f_Hz(two_Nm), 1e-4 * f_Hz(two_Nm));
}

TEST(StepperRef, PowerBalance) {  // eA iA + eB iB = T w at any state: no energy from nowhere
  const Stepper m;
  for (int k = 0; k < 50; ++k) {
    const StepperState x{std::sin(k), std::cos(3.0 * k), 10.0 * std::sin(2.0 * k), 0.1 * k};
    StepperState at_rest = x;
    at_rest.speed_rad_s = 0.0;
    const StepperState moving = stepper_rate(m, x, 0.0, 0.0);
    const StepperState still = stepper_rate(m, at_rest, 0.0, 0.0);
    const double ea_V = m.winding_H * (still.ia_A - moving.ia_A);
    const double eb_V = m.winding_H * (still.ib_A - moving.ib_A);
    EXPECT_NEAR(ea_V * x.ia_A + eb_V * x.ib_A, m.J_kgm2 * moving.speed_rad_s * x.speed_rad_s,
                1e-10);
  }
}

// Voltage drive: Km V1 / Z - Km^2 w R / Z^2, Z^2 = R^2 + (Nr w L)^2 (structure as Acarnley ch. 5,
// from memory; rows derived). Sinusoidal supply.
TEST(StepperRef, PullOutMatchesTable) {
  struct Row {
    double R_ohm, V_V, steps_per_s, torque_Nm;
  };
  for (const Row& r : {Row{2, 3, 50, 0.49703}, Row{2, 3, 100, 0.41795}, Row{2, 3, 200, 0.28243},
                       Row{2, 3, 400, 0.13751}, Row{2, 3, 1000, 0.04372}, Row{16, 24, 100, 0.55487},
                       Row{16, 24, 400, 0.49703}, Row{16, 24, 1000, 0.38021}}) {
    Stepper m;
    m.winding_ohm = r.R_ohm;
    const double w = stepper_speed_rad_s(m, r.steps_per_s);
    // The fundamental of the square wave as a sine: what the table assumes.
    EXPECT_NEAR(stepper_pull_out_Nm(m, Wave::sine, r.V_V * 4.0 / kPi, w), r.torque_Nm, 2e-5)
        << r.R_ohm << ' ' << r.steps_per_s;
    // Harmonics turn no rotor on average: at forced constant speed the mean torque is the same.
    EXPECT_NEAR(stepper_pull_out_Nm(m, Wave::two_on, r.V_V, w) / r.torque_Nm, 1.0, 2e-3)
        << r.R_ohm << ' ' << r.steps_per_s;
  }
}

// One phase on: fundamental 2 sqrt(2) V / pi = 0.9003 V against 4 V / pi (Fourier series).
TEST(StepperRef, OnePhaseOnHasTheSmallerFundamental) {
  const Stepper m;
  const double w = stepper_speed_rad_s(m, 200.0);
  EXPECT_NEAR(stepper_pull_out_Nm(m, Wave::one_on, 3.0, w),
              stepper_pull_out_Nm(m, Wave::sine, 3.0 * 2.0 * std::numbers::sqrt2 / kPi, w), 1e-3);
}

struct EigenRow {
  double R_ohm, V_V, steps_per_s, re, im;
};
// Derived from the equations in the header, and confirmed through the characteristic polynomial and
// its roots in another language (Faddeev-LeVerrier, Durand-Kerner). Theme: Acarnley ch. 5.
constexpr EigenRow kEigen[] = {
    {2, 3, 100, -116.358, 1342.997},   {2, 3, 200, -151.454, 1195.741},
    {2, 3, 400, -84.546, 573.478},     {2, 3, 470, -4.982, 558.425},
    {2, 3, 480, 2.704, 555.763},       {2, 3, 500, 16.165, 550.485},
    {2, 3, 600, 56.783, 526.731},      {2, 3, 800, 73.405, 489.152},
    {16, 24, 400, -103.074, 1081.418}, {16, 24, 1000, -72.364, 1018.756}};

TEST(StepperRef, MidRangeInstabilityMatchesTable) {
  for (const EigenRow& r : kEigen) {
    Stepper m;
    m.winding_ohm = r.R_ohm;
    const double V1_V = r.V_V * 4.0 / kPi;
    const DqPoint p = stepper_dq_point(m, V1_V, stepper_speed_rad_s(m, r.steps_per_s), 0.0);
    ASSERT_TRUE(p.exists);
    const auto e = stepper_dq_eigenvalues(m, V1_V, p);
    EXPECT_NEAR(e[0].real(), r.re, 6e-4) << r.steps_per_s;
    EXPECT_NEAR(e[0].imag(), r.im, 6e-4) << r.steps_per_s;
  }
}

/// Growth rate and frequency of the speed's ripple in a run of the full model.
std::complex<double> measured_mode(const Stepper& m, double V1_V, double steps_per_s,
                                   double run_s) {
  const double w = stepper_speed_rad_s(m, steps_per_s);
  const DqPoint p = stepper_dq_point(m, V1_V, w, 0.0);
  // At t = 0 the rotor stands at angle 0: d along A, q along B; the supply leads by lambda.
  const StepperState start{p.id_A, p.iq_A, w + 1e-3, 0.0};
  const double dt_s = 1e-5;
  const auto drive = [&](double t_s) {
    const double phase = m.Nr * w * t_s + p.lambda_rad;
    return std::array{-V1_V * std::sin(phase), V1_V * std::cos(phase)};
  };
  const auto run = stepper_run(m, start, drive, dt_s, std::lround(run_s / dt_s));
  // Crests of the ripple after the faster modes have died.
  std::vector<double> t_s, log_crest;
  for (std::size_t k = run.size() / 3; k + 1 < run.size(); ++k) {
    const double a = run[k - 1].speed_rad_s - w, b = run[k].speed_rad_s - w;
    const double c = run[k + 1].speed_rad_s - w;
    if (b <= a || b < c) continue;
    const double shift = 0.5 * (a - c) / (a - 2.0 * b + c);  // parabola through three points
    t_s.push_back((static_cast<double>(k) + shift) * dt_s);
    log_crest.push_back(std::log(b - 0.25 * (a - c) * shift));
  }
  const double span_s = t_s.back() - t_s.front();
  return {(log_crest.back() - log_crest.front()) / span_s,
          2.0 * kPi * static_cast<double>(t_s.size() - 1) / span_s};
}

// The same modes seen in the unlinearised model in winding coordinates: two derivations, one
// motion.
TEST(StepperRef, RunGrowsAndDecaysAsTheEigenvaluesSay) {
  Stepper m;
  const auto grows = measured_mode(m, 12.0 / kPi, 600.0, 0.12);
  EXPECT_NEAR(grows.real(), 56.783, 0.01 * 56.783);
  EXPECT_NEAR(grows.imag(), 526.731, 0.005 * 526.731);
  m.winding_ohm = 16.0;  // forcing resistance cures it
  const auto decays = measured_mode(m, 96.0 / kPi, 400.0, 0.06);
  EXPECT_NEAR(decays.real(), -103.074, 0.01 * 103.074);
  EXPECT_NEAR(decays.imag(), 1081.418, 0.005 * 1081.418);
}

// Ideal current drive, no friction: starts below 2 sqrt(Th / (Nr J)) = 76.980 rad/s (separatrix of
// the pendulum, derived), that is 2450.35 full steps/s.
TEST(StepperRef, StartsUpToTheSeparatrix) {
  const Stepper m{.Km_Vs_rad = 0.4, .Nr = 50.0, .J_kgm2 = 5.4e-6};
  EXPECT_TRUE(stepper_starts(m, 1.0, 76.9));
  EXPECT_FALSE(stepper_starts(m, 1.0, 77.1));
}

// One winding on a step of voltage, rotor far too heavy to move: i = V/R (1 - exp(-t R/L)).
TEST(StepperRef, CurrentRisesExponentially) {
  Stepper m;
  m.J_kgm2 = 1e9;
  const auto run = stepper_run(m, {}, [](double) { return std::array{3.0, 0.0}; }, 1e-5, 200);
  EXPECT_NEAR(run.back().ia_A, 1.5 * (1.0 - std::exp(-1.0)), 1e-9);
}

// Square-wave current of a two-phase-on drive at standstill EMF: I0 tanh(X/2), X = half period/tau,
// R 2, L 4 mH, 1.5 A, 400 steps/s: 1.272425 A (form published, value derived).
TEST(StepperRef, SquareWaveCrest) {
  Stepper m;
  m.J_kgm2 = 1e9;
  const double half_s = 2.0 / 400.0;
  const double dt_s = half_s / 500.0;   // 20 half periods
  const auto drive = [&](double t_s) {  // the 1e-12 s keep an edge from being a matter of rounding
    return std::array{std::fmod(t_s + 1e-12, 2.0 * half_s) < half_s ? 3.0 : -3.0, 0.0};
  };
  const auto run = stepper_run(m, {}, drive, dt_s, 10000);
  EXPECT_NEAR(std::fabs(run.back().ia_A), 1.272425, 2e-5);
}

}  // namespace
}  // namespace pb::ref
