// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <cmath>
#include <numbers>

#include "judgement/hand.h"
#include "tests/book/topics.h"
#include "tests/rigs/motor.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace rigs;

const Source kSwing{"√(N T_h/J)/2π; same as √(k/J)/2π of Jones, Univ. of Iowa", Basis::closed_form};
const Source kPullOut{
    "K V1/Z - K² ω R/Z², Z² = R² + (NωL)², V1 = 4V/π (structure as Acarnley, Stepping Motors, 4th "
    "ed. 2002, ch. 5, from memory)",
    Basis::closed_form};
const Source kModes{
    "eigenvalues of the model in rotor coordinates, derived and solved in another language (theme: "
    "Acarnley, ch. 5, from memory)",
    Basis::closed_form};

void add_swing(std::vector<Row>& rows) {
  struct Motor {
    const char* text;
    double teeth, holding_Nm, inertia_kgm2, detent_Nm;
  };
  int n = 0;
  for (const Motor& m :
       {Motor{"50 teeth, 0.4 N·m, 54 g·cm²", 50, 0.4, 5.4e-6, 0},
        Motor{"the same with 200 g·cm² of load", 50, 0.4, 25.4e-6, 0},
        Motor{"12 teeth (7.5°), 20 mN·m, 10 g·cm²", 12, 0.02, 1e-6, 0},
        Motor{"the first with 20 mN·m of detent, one phase on", 50, 0.4, 5.4e-6, 0.02}}) {
    const double stiff_Nm = m.holding_Nm + 4 * m.detent_Nm;
    rows.push_back({"swing-" + std::to_string(++n), std::string("Natural frequency: ") + m.text,
                    kSwing, std::sqrt(m.teeth * stiff_Nm / m.inertia_kgm2) / (2 * std::numbers::pi),
                    "Hz", within(2e-3),
                    [m](const Skew& k) {
                      return swing_Hz(m.teeth, m.holding_Nm * k.motor_constant,
                                      m.inertia_kgm2 * k.inertia, 0.04, m.detent_Nm);
                    },
                    5});
  }
  rows.push_back(
      {"swing-published",
       "Natural frequency: 3.2 mN·m a 0.3°, 4.8e-6 kg·m²",
       {"worked case of Jones, Control of Stepping Motors, Univ. of Iowa", Basis::published},
       56.8,
       "Hz",
       within(2e-3),
       [](const Skew& k) {
         const double stiffness = 0.0032 / (0.3 * std::numbers::pi / 180);
         return swing_Hz(50, stiffness / 50 * k.motor_constant, 4.8e-6 * k.inertia, 0.04);
       },
       4});
}

ref::Stepper stepper(const Skew& k, double R_ohm) {
  ref::Stepper m;
  m.winding_ohm = R_ohm * k.winding_resistance, m.winding_H *= k.winding_inductance;
  m.Km_Vs_rad *= k.motor_constant, m.J_kgm2 *= k.inertia;
  return m;
}

void add_pull_out(std::vector<Row>& rows) {
  struct Point {
    double R_ohm, V;
    int rate;
  };
  for (const Point& p : {Point{2, 3, 50}, Point{2, 3, 100}, Point{2, 3, 200}, Point{2, 3, 400},
                         Point{2, 3, 1000}, Point{16, 24, 400}, Point{16, 24, 1000}}) {
    const double w = p.rate * std::numbers::pi / 100,
                 z2 = p.R_ohm * p.R_ohm + std::pow(50 * w * 4e-3, 2),
                 torque =
                     0.3 * 4 / std::numbers::pi * p.V / std::sqrt(z2) - 0.09 * w * p.R_ohm / z2;
    const std::string at = std::to_string(p.rate) + " steps/s, " +
                           std::to_string(static_cast<int>(p.V)) + " V on " +
                           std::to_string(static_cast<int>(p.R_ohm)) + " Ω";
    rows.push_back(
        {"pull-out-" + std::to_string(static_cast<int>(p.V)) + "-" + std::to_string(p.rate),
         "Pull-out torque at " + at + " (0.3 N·m/A, 4 mH), sine", kPullOut, 1e3 * torque, "mN·m",
         within(2e-3),
         [p](const Skew& k) {
           return 1e3 *
                  pull_out(stepper(k, p.R_ohm), Wave::sine, p.V * 4 / std::numbers::pi, p.rate);
         },
         5});
    if (p.rate != 200) continue;
    rows.push_back({"pull-out-square", "The same under a square wave, two phases on", kPullOut,
                    1e3 * torque, "mN·m", within(5e-3),
                    [p](const Skew& k) {
                      return 1e3 * pull_out(stepper(k, p.R_ohm), Wave::square, p.V, p.rate);
                    },
                    5});
    rows.push_back({"pull-out-twin", "The closed form that a proof shows beside its own torque",
                    kPullOut, 1e3 * torque, "mN·m", within(1e-9), [p](const Skew& k) {
                      Design d = test::small_design(test::shipped().front());
                      MotorBrief& m = d.brief.motor;
                      m.winding_resistance_ohm = p.R_ohm * k.winding_resistance;
                      m.winding_inductance_H = 4e-3 * k.winding_inductance;
                      m.back_emf_constant_Vs = 0.3 * k.motor_constant;
                      m.steps_per_turn = 200;
                      d.brief.supply.voltage_V = p.V, d.brief.motion.rate_steps_s = p.rate;
                      const Case c = case_of(d);
                      const physics::Point at_typical = typical(c.spreads);
                      return 1e3 * checks::Paper(c, at_typical).pull_out_Nm();
                    }});
  }
}

/// Of the ripple about synchronous running on a sinusoidal supply, no load.
std::complex<double> mode(const Skew& k, double R_ohm, double V, double rate) {
  // What grows starts so small that it stays linear, what decays so large that it is seen.
  const bool grows = R_ohm < 10 && rate > 475;
  return measured_mode(stepper(k, R_ohm), V * 4 / std::numbers::pi, rate, R_ohm < 10 ? 0.12 : 0.06,
                       grows ? 1e-5 : 1e-3);
}

void add_modes(std::vector<Row>& rows) {
  struct Mode {
    double R_ohm, V;
    int rate;
    double re, im;
  };
  for (const Mode& m : {Mode{2, 3, 600, 56.783, 526.731}, Mode{2, 3, 800, 73.405, 489.152},
                        Mode{16, 24, 400, -103.074, 1081.418}}) {
    const std::string at = std::to_string(m.rate) + " steps/s on " +
                           std::to_string(static_cast<int>(m.R_ohm)) + " Ω",
                      id = std::to_string(m.rate);
    rows.push_back({"mode-growth-" + id, "Growth of a ripple of speed at " + at, kModes, m.re,
                    "1/s", within(0.01),
                    [m](const Skew& k) { return mode(k, m.R_ohm, m.V, m.rate).real(); }, 4});
    rows.push_back({"mode-frequency-" + id, "Angular frequency of a ripple of speed at " + at,
                    kModes, m.im, "rad/s", within(1e-4),
                    [m](const Skew& k) { return mode(k, m.R_ohm, m.V, m.rate).imag(); }, 5});
  }
  // Real parts -4.982 at 470 and 2.704 at 480 steps/s; between them the eigenvalue is as good as
  // straight.
  rows.push_back({"mode-onset", "Rate at which the motor becomes unstable, 2 Ω", kModes,
                  470 + 10 * 4.982 / (4.982 + 2.704), "step/s", within(2e-3),
                  [](const Skew& k) {
                    const double below = mode(k, 2, 3, 470).real(),
                                 above = mode(k, 2, 3, 480).real();
                    return 470 - 10 * below / (above - below);
                  },
                  4});
}

/// A rotor alone, coasting from 100 rad/s.
struct Coasting {
  double viscous_Nms, friction_Nm;
};
void add_coasting(std::vector<Row>& rows) {
  const auto coast = [](const Skew& k, Coasting load, double until_s, double level) {
    Circuit c = grounded();
    c.windings = {{0, 0, 1, 1e-3}, {0, 0, 1, 1e-3}};
    c.rotor = {50, 0, 1e-5 * k.inertia, load.viscous_Nms, 0, load.friction_Nm, 0, false};
    System s(c);
    TransientOptions o = tight();
    o.max_step_s = 1e-3;
    Transient t(s, o);
    t.start(0.0, {0, 0, 100.0, 0});
    if (level > 0) return passes(t, 2, level, until_s);
    t.run_to(until_s);
    return t.state()[2];
  };
  rows.push_back({"coast-viscous",
                  "Speed of 1e-5 kg·m² from 100 rad/s after 0.1 s, 1e-4 N·m·s/rad",
                  {"ω0 e^(-B t/J)", Basis::closed_form},
                  100 * std::exp(-1.0),
                  "rad/s",
                  within(1e-5),
                  [coast](const Skew& k) { return coast(k, {1e-4, 0}, 0.1, 0); }});
  rows.push_back({"coast-friction",
                  "Time from 100 to 1 rad/s under 10 mN·m of dry friction",
                  {"J Δω/T", Basis::closed_form},
                  99.0,
                  "ms",
                  within(1e-5),
                  [coast](const Skew& k) { return 1e3 * coast(k, {0, 0.01}, 0.5, 1.0); }});
}

/// Whether a rotor at rest locks on to a field of constant current that starts to turn at once.
bool starts(const Skew& k, double field_rad_s) {
  const double dt = 1e-5, run_s = 0.05, f = 50 * field_rad_s / (2 * std::numbers::pi);
  ref::Stepper m;
  m.winding_ohm = 1e6, m.winding_H = 1e-3;  // 1 A whatever the rotor does
  m.Km_Vs_rad = 0.4 * k.motor_constant, m.J_kgm2 = 5.4e-6 * k.inertia;
  System s(motor_circuit(m, cosine(1e6, f, 0, dt, run_s),
                         cosine(1e6, f, -std::numbers::pi / 2, dt, run_s)));
  TransientOptions o;
  o.rtol = 1e-6, o.atol_rad = 1e-7, o.max_step_s = dt;
  Transient t(s, o);
  t.start(0.0, {1, 0, 0, 0});
  t.run_to(run_s);
  return 50 * (field_rad_s * run_s - t.state()[3]) < 2 * std::numbers::pi;
}

void add_start(std::vector<Row>& rows) {
  rows.push_back({"pull-in",
                  "Fastest field a rotor at rest locks on to: 50 teeth, 0.4 N·m, 54 g·cm²",
                  {"separatrix of the pendulum, 2 √(T_h/(N J)): eight times the natural frequency",
                   Basis::closed_form},
                  2 * std::sqrt(0.4 / (50 * 5.4e-6)),
                  "rad/s",
                  within(2e-3),
                  [](const Skew& k) {
                    double low = 70, high = 84;
                    for (int n = 0; n < 9; ++n) {
                      const double w = 0.5 * (low + high);
                      (starts(k, w) ? low : high) = w;
                    }
                    return 0.5 * (low + high);
                  },
                  4});
}

}  // namespace

Topic motor_in_motion() {
  Topic t{"Motor in motion",
          "Motor, load and supply together. The closed forms rest on the same equations (no iron "
          "loss, no saturation): they show that the equations are solved rightly, not that a real "
          "motor obeys them.",
          {}};
  add_swing(t.rows);
  add_pull_out(t.rows);
  add_modes(t.rows);
  add_coasting(t.rows);
  add_start(t.rows);
  return t;
}

}  // namespace pb::book
