// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <string>

#include "physics/assembly.h"
#include "tests/book/topics.h"
#include "tests/rigs/motor.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace rigs;

const Source kVectors{"vector sum of two sinusoids of torque (Jones, Univ. of Iowa, gives √2)",
                      Basis::closed_form};

Rotor rotor(const Skew& k) { return {50, 0.4 * k.motor_constant, 1e-6, 0, 0.02, 0, 0, false}; }
/// A step of such a rotor.
constexpr double kStep_rad = std::numbers::pi / 100;

double greatest(const Skew& k, double ia_A, double ib_A) {
  double most = 0;
  for (int n = 0; n < 4000; ++n)
    most = std::max(most, motor_torque(rotor(k), ia_A, ib_A, 0, n * kStep_rad / 1000).electric_Nm);
  return most;
}
/// Mean over the step about the crest.
double mean_over_a_step(const Skew& k, double ia_A, double ib_A) {
  const double crest = std::atan2(-ia_A, ib_A) / 50.0;
  double sum = 0;
  constexpr int kAngles = 1000;
  for (int n = 0; n < kAngles; ++n)
    sum += motor_torque(rotor(k), ia_A, ib_A, 0, crest + ((n + 0.5) / kAngles - 0.5) * kStep_rad)
               .electric_Nm;
  return sum / kAngles;
}

void add_torque(std::vector<Row>& rows) {
  rows.push_back({"hold-one", "Holding torque, one phase on, 0.4 N·m/A, 1 A", kVectors, 400.0,
                  "mN·m", within(1e-6), [](const Skew& k) { return 1e3 * greatest(k, 1, 0); }});
  rows.push_back({"hold-two", "Holding torque, two phases on", kVectors,
                  400.0 * std::numbers::sqrt2, "mN·m", within(1e-6),
                  [](const Skew& k) { return 1e3 * greatest(k, 1, 1); }});
  const Source mean{"mean of cos over a quarter cycle about its crest", Basis::closed_form};
  rows.push_back({"mean-two", "Mean torque over a step, two phases on, over K I", mean,
                  4.0 / std::numbers::pi, "", within(1e-5),
                  [](const Skew& k) { return mean_over_a_step(k, 1, 1) / 0.4; }});
  rows.push_back({"mean-one", "Mean torque over a step, one phase on, over K I", mean,
                  2.0 * std::numbers::sqrt2 / std::numbers::pi, "", within(1e-5),
                  [](const Skew& k) { return mean_over_a_step(k, 1, 0) / 0.4; }});
  rows.push_back({"detent",
                  "Detent at an eighth of a tooth's quarter, 20 mN·m",
                  {"T_d sin(4Nθ): four cycles a tooth pitch (Acarnley, Stepping Motors, 4th ed. "
                   "2002, from memory)",
                   Basis::closed_form},
                  20.0,
                  "mN·m",
                  within(1e-9),
                  [](const Skew& k) {
                    return 1e3 * motor_torque(rotor(k), 0, 0, 0, kStep_rad / 4).detent_Nm;
                  }});
  rows.push_back({"power-balance",
                  "e_A i_A + e_B i_B less T ω, worst of 1,000 states, over the power",
                  {"conservation of energy", Basis::closed_form},
                  0.0,
                  "",
                  by(1e-12),
                  [](const Skew& k) {
                    double worst = 0;
                    for (int n = 0; n < 1000; ++n) {
                      const double a = 2 * std::sin(n), b = 2 * std::cos(3.0 * n), w = 7 + n % 40;
                      const MotorTorque m = motor_torque(rotor(k), a, b, w, 0.01 * n);
                      const double power = std::hypot(m.e_a_V * a, m.e_b_V * b);
                      worst = std::max(
                          worst, std::abs(m.e_a_V * a + m.e_b_V * b - m.electric_Nm * w) / power);
                    }
                    return worst;
                  }});
}

/// Steps by which a constant torque holds the rotor off its equilibrium, one phase on with 1 A.
double lag_step(const Skew& k, double load_Nm) {
  Circuit c = grounded();
  const int source = driven(c, 1e6);
  c.windings = {{0, 0, 1e6, 1e-3}, {source, 0, 1e6, 1e-3}};
  c.rotor = {50, 0.4 * k.motor_constant, 1e-6, 5e-3, 0, 0, load_Nm, false};
  System s(c);
  TransientOptions o;
  o.rtol = 1e-6, o.atol_rad = 1e-8;
  Transient t(s, o);
  t.start(0.0, {0.0, 1.0, 0.0, kStep_rad});
  t.run_to(0.1);
  return (kStep_rad - t.state()[3]) / kStep_rad;
}

/// Crest of the voltage across a winding that nothing loads, turned at 5 turns a second.
double turned_V(const Skew& k) {
  Circuit c = grounded();
  const int a = c.add_node("a"), b = c.add_node("b");
  for (const int n : {a, b}) {
    c.resistors.push_back({"probe", n, 0, 1e-7});
    c.capacitors.push_back({"stray", n, 0, 1e-12});
  }
  c.windings = {{a, 0, 2.0, 4e-3}, {b, 0, 2.0, 4e-3}};
  c.rotor = {50, 0.3 * k.motor_constant, 1e9, 0, 0, 0, 0, false};
  System s(c);
  TransientOptions o;
  o.max_step_s = 1e-5;
  Transient t(s, o);
  t.start(0.0, {0, 0, 0, 0, 10 * std::numbers::pi, 0});
  double most = 0;
  t.on_step = [&](double, const std::vector<double>& x) { most = std::max(most, std::abs(x[0])); };
  t.run_to(8e-3);
  return most;
}

/// The circuit of a shipped design as it is assembled, its windings at T.
Circuit assembled(double winding_K, const std::function<void(Design&)>& change) {
  Design d = test::small_design(test::shipped().front());
  change(d);
  const auto spreads = spreads_of(d);
  Temperatures t;
  t.winding_K = winding_K;
  const Plan plan = plan_hold(d, standing_table(d, flows_of(d.settings.sequence).front(), 0), 0.1);
  return assemble(d, spreads, typical(spreads), t, plan, {});
}

void add_shaft(std::vector<Row>& rows) {
  const Source sine{"T = T_h sin(N θ) (Acarnley, Stepping Motors, 4th ed. 2002, from memory)",
                    Basis::closed_form};
  rows.push_back({"lag-half", "Lag under half the holding torque", sine, 1.0 / 3.0, "step",
                  within(1e-4), [](const Skew& k) { return lag_step(k, 0.2); }});
  rows.push_back({"lag-0.9", "Lag under nine tenths of it", sine,
                  std::asin(0.9) * 2 / std::numbers::pi, "step", within(1e-4),
                  [](const Skew& k) { return lag_step(k, 0.36); }});
  rows.push_back({"emf-by-hand",
                  "Open winding of 0.3 V·s/rad turned at 5 turns/s: crest",
                  {"e = K ω", Basis::closed_form},
                  3.0 * std::numbers::pi,
                  "V",
                  within(1e-3),
                  [](const Skew& k) { return turned_V(k); },
                  5});
  rows.push_back({"kinetic",
                  "Energy of 2.5e-5 kg·m² at 300 turns/min",
                  {"J ω²/2", Basis::closed_form},
                  1e3 * 0.5 * 2.5e-5 * 100 * std::numbers::pi * std::numbers::pi,
                  "mJ",
                  within(1e-9),
                  [](const Skew& k) {
                    Circuit c = grounded();
                    c.windings = {{0, 0, 1, 1e-3}, {0, 0, 1, 1e-3}};
                    c.rotor = {50, 0.3, 2.5e-5 * k.inertia, 0, 0, 0, 0, false};
                    const System s(c);
                    return 1e3 * s.stored_J({0, 0, 10 * std::numbers::pi, 0});
                  }});
  rows.push_back({"inertia-geared",
                  "Rotor of 54 g·cm² with 2000 g·cm² behind a gear of 4:1",
                  {"J_r + J_L/N²", Basis::closed_form},
                  179.0,
                  "g·cm²",
                  within(1e-9),
                  [](const Skew& k) {
                    const Circuit c = assembled(298.15, [&](Design& d) {
                      d.brief.motor.rotor_inertia_kgm2 = 5.4e-6 * k.inertia;
                      d.brief.load.inertia_kgm2 = 2e-4 * k.inertia;
                      d.brief.load.gear_ratio = 4;
                    });
                    return 1e7 * c.rotor.inertia_kgm2;
                  }});
  rows.push_back({"torque-hot",
                  "Holding torque at 80 °C over that at 25 °C, constant voltage, magnet -0.2 %/K",
                  {"(1 - 0.002 ΔT) R(25)/R(80), copper as IEC 60028:1925", Basis::closed_form},
                  (1 - 0.002 * 55) * (1 + 0.00393 * 5) / (1 + 0.00393 * 60),
                  "",
                  within(1e-6),
                  [](const Skew& k) {
                    const auto torque = [](double T_K) {
                      const Circuit c = assembled(
                          T_K, [](Design& d) { d.brief.motor.magnet_tempco_1_K = -0.002; });
                      return c.rotor.motor_constant_Vs / c.windings[0].resistance_ohm;
                    };
                    return torque(298.15 + 55 * k.copper_coefficient) / torque(298.15);
                  }});
}

}  // namespace

Topic motor_at_rest() {
  Topic t{"Motor at rest",
          "Signs, torque and energy of the motor model, and how a brief's figures reach it.",
          {}};
  add_torque(t.rows);
  add_shaft(t.rows);
  return t;
}

}  // namespace pb::book
