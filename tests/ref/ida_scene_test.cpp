// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The reference solution of the benchmark scenes against itself (tolerance, solver, energy) and
// against hand calculation. A reference that others are judged by must be tested harder than they.

#include "tests/ref/ida_scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <ostream>
#include <random>

#include "tests/ref/junctions.h"

namespace pb::ref {
namespace {

/// Largest current difference at the samples over the largest current.
double current_difference(const SceneRun& a, const SceneRun& b) {
  double difference = 0.0, peak = 0.0;
  EXPECT_EQ(a.t_s.size(), b.t_s.size());
  for (std::size_t k = 0; k < std::min(a.t_s.size(), b.t_s.size()); ++k) {
    peak = std::max({peak, std::fabs(b.i_a_A[k]), std::fabs(b.i_b_A[k])});
    difference = std::max(
        {difference, std::fabs(a.i_a_A[k] - b.i_a_A[k]), std::fabs(a.i_b_A[k] - b.i_b_A[k])});
  }
  return difference / peak;
}

Scene shortened(Scene s, double end_s) {
  s.end_s = end_s;
  return s;
}

constexpr double kSample_s = 100e-6;

// w + ln w = z defines the function (Corless and Jeffrey, The Wright omega function, 2002);
// omega(1) = 1 and omega(0) = 0.56714329040978387 (the omega constant).
TEST(Junctions, WrightOmegaSolvesItsEquation) {
  EXPECT_NEAR(wright_omega(1.0), 1.0, 1e-15);
  EXPECT_NEAR(wright_omega(0.0), 0.56714329040978387, 1e-15);
  for (double z = -60.0; z < 1e6; z += 0.037 + 0.01 * std::fabs(z)) {
    const double w = wright_omega(z);
    // An error d in w shows as d (1 + 1/w); rounding of z itself is in it too.
    EXPECT_NEAR(w + std::log(w), z, 4e-15 * (1.0 + std::fabs(z))) << z;
  }
}

// Signal diode Is 2.52 nA, n 1.752, Rs 0.568 ohm at 300 K: 0.58445 V at 1 mA, 0.69385 V at 10 mA,
// 0.84926 V at 100 mA (model figures from memory, voltages derived from the Shockley law).
TEST(Junctions, SeriesDiode) {
  const double a_V = 1.752 * Scene{}.UT_V;
  const auto d = SeriesJunction::diode(2.52e-9, a_V, 0.568);
  for (const auto& [v_V, i_A] : {std::pair(0.58445, 1e-3), {0.69385, 1e-2}, {0.84926, 1e-1}})
    EXPECT_NEAR(d.at(v_V).value / i_A, 1.0, 3e-4);  // voltages are given to 10 uV
  EXPECT_NEAR(d.at(-5.0).value, -2.52e-9, 1e-20);
  EXPECT_NEAR(d.at(0.0).value, 0.0, 1e-20);
}

TEST(Junctions, ParallelDiodeInvertsItsLaw) {
  const auto d = ParallelJunction::diode(1e-5, 0.027, 1e5);
  for (const double i_A : {-1e-3, -1e-4, -1e-6, 0.0, 1e-7, 1e-3, 1.0, 5.0}) {
    const double v_V = d.at(i_A).value;
    EXPECT_NEAR(1e-5 * std::expm1(v_V / 0.027) + v_V / 1e5, i_A, 1e-12 * (1.0 + std::fabs(i_A)));
  }
}

TEST(SceneDrive, NeverBothSwitchesOfALegAndDeadTimeKept) {
  for (const Scene& s : {case_1(), case_2(), case_1_coast()}) {
    std::array<bool, kSwitches> on;
    std::array<double, kSwitches> off_since;
    off_since.fill(-1.0);
    for (int k = 0; k < kSwitches; ++k) on[k] = on_at_start(s, k);
    for (const PinEdge& e : drive_edges(s)) {
      EXPECT_NE(on[e.pin], e.on) << "an edge changes something: " << e.t_s << ' ' << e.pin;
      on[e.pin] = e.on;
      const int other = e.pin ^ 1;
      if (!e.on) off_since[e.pin] = e.t_s;
      if (!e.on) continue;
      EXPECT_FALSE(on[other]) << e.t_s;
      EXPECT_GE(e.t_s - off_since[other], s.dead_s - 1e-12) << e.t_s;
    }
    if (s.all_off_s >= 0.0) {
      EXPECT_TRUE(std::none_of(on.begin(), on.end(), [](bool x) { return x; }));
    }
  }
}

TEST(SceneDrive, CountsOfEdges) {
  // Case 1: 19 changes, each with two switches off and two on; four off at the end: 80.
  EXPECT_EQ(drive_edges(case_1()).size(), 80u);
  // Case 2: 9 changes move two P switches in one winding: one off, one on. The chopped N switches
  // rise and fall 1000 times each winding; the two rises at t = 0 have happened before: 18 + 4000
  // - 2.
  EXPECT_EQ(drive_edges(case_2()).size(), 4016u);
}

// Every entry of the analytic Jacobian against a central difference, at random states.
TEST(SceneModel, JacobianMatchesDifferences) {
  const SceneModel model(case_1());
  EntryTable table;
  for (int i = 0; i < kUnknowns; ++i)
    for (int j = 0; j < kUnknowns; ++j) table[i][j] = i * kUnknowns + j;
  std::mt19937 random(1);
  std::uniform_real_distribution<double> any(0.0, 1.0);
  const PinVoltages pins{2, 0, 18, 10, 2, 0, 18, 10};
  for (int trial = 0; trial < 20; ++trial) {
    Vector27 y, dy{};
    for (int i = 0; i < kUnknowns; ++i) y[i] = 16.0 * any(random) - 1.0;
    for (const int i : {kSupplyCurrent, kCurrentA, kCurrentB, kAngle})
      y[i] = 2.0 * any(random) - 1.0;
    y[kSpeed] = 0.2 * any(random) - 0.1;  // within the knee of the friction
    const double cj = 1e7 * any(random);
    std::vector<double> analytic(std::size_t{kUnknowns} * kUnknowns, 0.0);
    model.jacobian(cj, y.data(), table, analytic.data());
    for (int j = 0; j < kUnknowns; ++j) {
      const double h = 1e-6;
      Vector27 up = y, down = y, rate_up = dy, rate_down = dy, f_up, f_down;
      up[j] += h, down[j] -= h, rate_up[j] += cj * h, rate_down[j] -= cj * h;
      model.residual(pins, up.data(), rate_up.data(), f_up.data());
      model.residual(pins, down.data(), rate_down.data(), f_down.data());
      for (int i = 0; i < kUnknowns; ++i) {
        const double difference = (f_up[i] - f_down[i]) / (2.0 * h);
        const double entry = analytic[i * kUnknowns + j];
        // Rounding of the residual (up to 1e3 A here) over h, then truncation.
        const double slack = 1e-15 * (std::fabs(f_up[i]) + 100.0) / h + 1e-5 * std::fabs(entry);
        EXPECT_NEAR(entry, difference, slack) << i << ' ' << j;
      }
    }
  }
}

// Given minus taken up is what is stored: at any state, not only at solutions, the residual
// weighted with the variables is the power balance. So no element can be missing or counted twice.
TEST(SceneModel, PowersAccountForEveryElement) {
  const Scene s = case_1();
  const SceneModel model(s);
  std::mt19937 random(2);
  std::uniform_real_distribution<double> any(0.0, 1.0);
  const PinVoltages pins{2, 0, 18, 10, 2, 0, 18, 10};
  for (int trial = 0; trial < 50; ++trial) {
    Vector27 y, dy, f;
    // Rates at which each store takes about a kilowatt, so that none hides behind the others.
    for (int i = 0; i < kUnknowns; ++i)
      y[i] = 14.0 * any(random), dy[i] = 1e12 * (any(random) - 0.5);
    for (const auto& [i, scale] : {std::pair(kRail, 1e-3),
                                   {kBulk, 1e-6},
                                   {kSupplyCurrent, 1e-4},
                                   {kCurrentA, 1e-8},
                                   {kCurrentB, 1e-8},
                                   {kSpeed, 1e-5}})
      dy[i] *= scale;
    y[kAngle] *= 0.1;
    dy[kAngle] = y[kSpeed];  // a kinematic identity, not a law
    model.residual(pins, y.data(), dy.data(), f.data());
    double weighted = 0.0;
    for (int i = 0; i < kAngle; ++i) weighted += y[i] * f[i];
    const Energies p = model.power_W(pins, y.data());
    const double h = 1e-12;
    Vector27 up = y, down = y;
    for (int i = 0; i < kUnknowns; ++i) up[i] += h * dy[i], down[i] -= h * dy[i];
    const double stored_W = (model.stored_J(up.data()) - model.stored_J(down.data())) / (2.0 * h);
    const double balance = p.dissipated() + stored_W - p.source - p.pins;
    // Rounding of the stored energy (up to 1 J) over 2 h; each element is worth kilowatts.
    EXPECT_NEAR(weighted, balance, 1e-2) << trial;
  }
}

struct Case {
  const char* name;
  Scene scene;
  double loose, tight;     // relative tolerances
  double current, energy;  // allowed difference of currents, of switch energies
};

void PrintTo(const Case& c, std::ostream* out) { *out << c.name; }

class IdaScene : public testing::TestWithParam<Case> {};

INSTANTIATE_TEST_SUITE_P(
    Cases, IdaScene,
    testing::Values(Case{"case_1", case_1(), 1e-5, 1e-7, 1e-3, 1e-3},
                    Case{"case_2", shortened(case_2(), 6e-3), 1e-5, 1e-7, 1e-3, 1e-3},
                    Case{"small_bulk", case_1_small_bulk(), 1e-5, 1e-7, 1e-3, 1e-3},
                    // Most sensitive: needs more for the same.
                    Case{"coast", case_1_coast(), 1e-6, 1e-7, 1e-3, 1e-3}),
    [](const auto& p) { return p.param.name; });

TEST_P(IdaScene, ConvergesAndClosesItsEnergy) {
  const Case& c = GetParam();
  const SceneRun loose = run_scene(c.scene, c.loose, true, kSample_s);
  const SceneRun tight = run_scene(c.scene, c.tight, true, kSample_s);
  ASSERT_EQ(loose.status, 0);
  ASSERT_EQ(tight.status, 0);
  EXPECT_EQ(tight.t_s.size(), static_cast<std::size_t>(std::lround(c.scene.end_s / kSample_s)) + 1);
  EXPECT_LT(current_difference(loose, tight), c.current);
  for (int k = 0; k < kSwitches; ++k) {
    EXPECT_NEAR(loose.energy_J.mosfet(k) / tight.energy_J.mosfet(k), 1.0, c.energy) << k;
    // Where a Schottky never conducts, its leakage is nothing to compare.
    EXPECT_NEAR(loose.energy_J.schottky[k], tight.energy_J.schottky[k],
                c.energy * tight.energy_J.all_schottkys());
  }
  EXPECT_LT(std::fabs(loose.energy_residual()), 1e-3);
  EXPECT_LT(std::fabs(tight.energy_residual()), 1e-5);
  EXPECT_NEAR(tight.energy_J.emf, tight.energy_J.mechanical, 1e-9);
  for (std::size_t k = 0; k < tight.t_s.size(); ++k) {
    EXPECT_NEAR(tight.emf_a_V[k] * tight.i_a_A[k] + tight.emf_b_V[k] * tight.i_b_A[k],
                tight.torque_Nm[k] * tight.speed_rad_s[k], 1e-10);
  }
}

TEST(IdaSceneRun, DenseAndSparseAgree) {
  const Scene s = shortened(case_1(), 12e-3);
  const SceneRun dense = run_scene(s, 1e-6, false, kSample_s);
  const SceneRun sparse = run_scene(s, 1e-6, true, kSample_s);
  ASSERT_EQ(dense.status, 0);
  ASSERT_EQ(sparse.status, 0);
  EXPECT_LT(current_difference(dense, sparse), 1e-4);
}

// While the rotor is held by its first state both windings are one R-L circuit each: hand
// calculation with I = (12 V - diode) / (R + 2 * 0.15 + on-resistances), tau = L / R.
TEST(IdaSceneRun, FirstStateIsARisingExponential) {
  const Scene s = shortened(case_1(), 4.9e-3);
  const SceneRun run = run_scene(s, 1e-7, true, kSample_s);
  ASSERT_EQ(run.status, 0);
  double final_A = 1.0;
  for (int k = 0; k < 50; ++k) {
    const double both_A = 2.0 * final_A;
    const double rail_V = s.supply_V - s.supply_ohm * both_A -
                          s.supply_diode_n * s.UT_V * std::log1p(both_A / s.supply_diode_Is_A);
    const double n_ohm = 1.0 / (s.K_A_V2 * (s.n_on_V - s.VT0_V));
    const double p_ohm = 1.0 / (s.K_A_V2 * (rail_V - s.p_on_V - s.VT0_V));
    final_A = rail_V / (s.winding_ohm + 2.0 * s.series_ohm + n_ohm + p_ohm);
  }
  const double left = std::exp(-run.t_s.back() * s.winding_ohm / s.winding_H);
  EXPECT_NEAR(run.i_a_A.back(), final_A * (1.0 - left), 1e-3);  // the rail sags while it rises
  EXPECT_NEAR(run.i_b_A.back(), run.i_a_A.back(), 1e-6);
  EXPECT_NEAR(run.theta_rad.back(), std::acos(-1.0) / 4.0 / s.Nr, 1e-9);
}

// All off: i falls as (i0 + I) exp(-t R/L) - I with I = (rail + two diodes)/R (closed form,
// textbook circuit theory). With 4.7 uF the rail is on the clamp within microseconds; the rail and
// the emf move a little, so the time of the current's end is only bracketed.
TEST(IdaSceneRun, CoastEndsWhenTheClosedFormSays) {
  const Scene s = case_1_small_bulk();
  const SceneRun run = run_scene(s, 1e-6, true, 10e-6);
  ASSERT_EQ(run.status, 0);
  const auto at = [&](double t_s) { return static_cast<std::size_t>(std::lround(t_s / 10e-6)); };
  const double i0_A = std::fabs(run.i_b_A[at(s.all_off_s)]);
  const auto end_s = [&](double rail_V) {
    const double forced_A = (rail_V + 0.8) / s.winding_ohm;
    return s.winding_H / s.winding_ohm * std::log1p(i0_A / forced_A);
  };
  std::size_t k = at(s.all_off_s);
  while (std::fabs(run.i_b_A[k]) > 0.01 * i0_A) ++k;
  const double measured_s = run.t_s[k] - s.all_off_s;
  // Clamp: 15 V at 1 mA to 17.5 V at 2 A; emf up to 0.25 * 8 = 2 V either way.
  EXPECT_GT(measured_s, end_s(17.5 + 2.0));
  EXPECT_LT(measured_s, end_s(15.0 - 2.0));
  EXPECT_GT(*std::max_element(run.rail_V.begin(), run.rail_V.end()), 16.5);
  EXPECT_LT(*std::max_element(run.rail_V.begin(), run.rail_V.end()), 17.6);
}

TEST(IdaSceneRun, MotorMakesItsSteps) {
  const SceneRun run = run_scene(case_1(), 1e-5, true, kSample_s);
  ASSERT_EQ(run.status, 0);
  const double step_rad = std::acos(-1.0) / 2.0 / 50.0;
  // 19 changes; released after two-phase hold the rotor rests within a step (detent and friction).
  EXPECT_NEAR((run.theta_rad.back() - run.theta_rad.front()) / step_rad, 19.0, 1.0);
}

}  // namespace
}  // namespace pb::ref
