// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <algorithm>
#include <cmath>
#include <numbers>

#include "physics/devices/saturation.h"
#include "tests/book/topics.h"
#include "tests/rigs/contact.h"

namespace pb::book {
namespace {

using namespace rigs;

const Source kMechanics{"mechanics: energy and momentum of a collision, restitution e",
                        Basis::closed_form};
const Source kCharge{"C dv = I dt", Basis::closed_form};

void add_contacts(std::vector<Row>& rows) {
  rows.push_back({"stop-rebound", "Speed after a stop of e 0.5 hit at 40 rad/s, 20 g·cm²",
                  kMechanics, 20.0, "rad/s", within(5e-3), [](const Skew& k) {
                    return rebound(2e-6 * k.inertia, 800, 0.5, 40).speed_rad_s;
                  }});
  rows.push_back(
      {"stop-depth",
       "Depth into it, 800 N·m/rad",
       {"swing on a spring: v √(J/K)", Basis::closed_form},
       1e3 * 40 * std::sqrt(2e-6 / 800),
       "mrad",
       within(5e-3),
       [](const Skew& k) { return 1e3 * rebound(2e-6 * k.inertia, 800, 0.5, 40).depth_rad; }});
  rows.push_back(
      {"play-rotor",
       "Rotor of 20 g·cm² at 8 rad/s that meets 5 g·cm² through its play, e 0.8: its speed",
       kMechanics, (2.0 - 0.8 * 0.5) * 8 / 2.5, "rad/s", within(5e-3), [](const Skew& k) {
         return collision(2e-6 * k.inertia, 0.5e-6 * k.inertia, 0.8, 8).rotor_rad_s;
       }});
  rows.push_back({"play-load", "The load's", kMechanics, 2.0 * 1.8 * 8 / 2.5, "rad/s", within(5e-3),
                  [](const Skew& k) {
                    return collision(2e-6 * k.inertia, 0.5e-6 * k.inertia, 0.8, 8).load_rad_s;
                  }});
}

// V = R i + L0 (1 + i^2/Is^2)^(-3/2) di/dt from 0 to 2 A, V 12, R 4, L0 8 mH, Is 1.2: by Simpson's
// rule of 1,000 parts in another language.
constexpr double kToTwoAmps_s = 0.0009439509619448956;
constexpr double kCoil_H = 8e-3, kConstant_Vs = 0.25, kTeeth = 50, kIron_A = 1.7;

Iron iron(const Skew& k) {
  return iron_of(kCoil_H * k.winding_inductance, kConstant_Vs * k.motor_constant, kTeeth, kIron_A);
}
double holds(const Skew& k, double ia_A, double ib_A) {
  double most = 0;
  constexpr int kParts = 20000;
  for (int n = 0; n < kParts; ++n)
    most = std::max(most, flux_law(iron(k), ia_A, ib_A, 2 * kPi / kTeeth * n / kParts).torque_Nm);
  return most;
}
/// Half the difference of the co-energies at either end, times the teeth.
double holds_by_hand(double amps) {
  const double magnet = kConstant_Vs / (kTeeth * kCoil_H),
               L = kCoil_H * std::sqrt(1 + magnet * magnet / (kIron_A * kIron_A));
  const auto root = [](double x) { return std::sqrt(1 + x * x / (kIron_A * kIron_A)); };
  return 0.5 * kTeeth * L * kIron_A * kIron_A * (root(amps + magnet) - root(amps - magnet));
}

void add_iron(std::vector<Row>& rows) {
  const Source energy{
      "greatest slope of the co-energy L I_s² √(1 + y²/I_s²) by the angle, solved by hand",
      Basis::closed_form};
  rows.push_back({"iron-hold-one",
                  "Holding torque in iron that saturates at 1.7 A, 1 A in one winding", energy,
                  1e3 * holds_by_hand(1.0), "mN·m", within(1e-6),
                  [](const Skew& k) { return 1e3 * holds(k, 1, 0); }});
  rows.push_back({"iron-hold-two", "1 A in both", energy, 1e3 * holds_by_hand(std::numbers::sqrt2),
                  "mN·m", within(1e-6), [](const Skew& k) { return 1e3 * holds(k, 1, 1); }});
  rows.push_back(
      {"iron-ratio",
       "Two phases on over one",
       {"1.25 to 1.35 of real hybrids (common practice, from memory)", Basis::remembered},
       1.3,
       "",
       by(0.05),
       [](const Skew& k) { return holds(k, 1, 1) / holds(k, 1, 0); },
       3});
  rows.push_back(
      {"iron-rise",
       "Current after the time that takes it to 2 A: 12 V, 4 Ω, 8 mH, saturates at 1.2 A",
       circuits("V = R i + L(i) di/dt, by quadrature"), 2.0, "A", within(1e-5), [](const Skew& k) {
         Circuit c = grounded();
         const int source = driven(c, 12.0);
         const double L = kCoil_H * k.winding_inductance, R = 4.0 * k.winding_resistance;
         c.windings = {{source, 0, R, L}, {0, 0, R, L}};
         c.rotor = {kTeeth, 1e-9, 1e-6, 0, 0, 0, 0, true};
         c.iron = iron_of(L, 1e-9, kTeeth, 1.2);
         System s(c);
         Transient t(s, tight());
         t.start(0.0);
         t.run_to(kToTwoAmps_s);
         return t.state()[0];
       }});
}

Circuit limited(const Skew& k, double load_ohm, Hiccup hiccup) {
  Circuit c = grounded();
  const int source = driven(c, 12.0), n = c.add_node("n");
  c.limiters.push_back({"supply", source, n, supply_limit_of(0.1, 0.8, true), hiccup});
  c.capacitors.push_back({"bulk", n, 0, 470e-6 * k.capacitance});
  c.resistors.push_back({"load", n, 0, 1.0 / load_ohm});
  return c;
}

void add_supply(std::vector<Row>& rows) {
  rows.push_back({"limit-charge", "Bulk of 470 µF on a supply limited to 0.8 A, after 5 ms",
                  kCharge, 0.8 * 5e-3 / 470e-6, "V", within(1e-5), [](const Skew& k) {
                    System s(limited(k, 1e9, {}));
                    Transient t(s, tight());
                    t.start(0.0);
                    t.run_to(5e-3);
                    return t.state()[0];
                  }});
  rows.push_back({"limit-energy",
                  "What it has given when the bulk is full",
                  {"C V²", Basis::closed_form},
                  1e3 * 470e-6 * 144,
                  "mJ",
                  within(1e-4),
                  [](const Skew& k) {
                    System s(limited(k, 1e9, {}));
                    Transient t(s, tight());
                    t.start(0.0);
                    t.run_to(0.05);
                    return 1e3 * t.ledger().source_J;
                  }});
  rows.push_back(
      {"limit-bend",
       "Share of its limit that a supply gives where it would just reach it",
       {"1 - 0.01 ln 2: a bend of a hundredth of the limit, no source", Basis::remembered},
       1 - 0.01 * std::log(2.0),
       "",
       within(1e-6),
       [](const Skew&) {
         return supply_current(supply_limit_of(0.1, 0.8, true), 0.08).i_A / 0.8;
       }});
  rows.push_back({"limit-blocks",
                  "Drop in the ohms of one that takes nothing back, 10 mV above its load",
                  {"ln 2 of 1 mV: no source", Basis::remembered},
                  std::log(2.0),
                  "mV",
                  within(1e-4),
                  [](const Skew&) {
                    return 1e3 * 0.1 * supply_current(supply_limit_of(0.1, 8, false), 10e-3).i_A;
                  }});
  rows.push_back({"limit-edge",
                  "Share of its current that one has left, 5 µs after it shut off",
                  {"edges of 10 µs: from memory", Basis::remembered},
                  0.5,
                  "",
                  within(1e-9),
                  [](const Skew&) {
                    BasicHiccup<double> h;
                    h.on_s = 2e-3, h.off_s = 7e-3, h.off_since_s = 1e-3;
                    return h.share(1.005e-3);
                  }});
  rows.push_back({"limit-hiccup",
                  "Mean current into 1 Ω, 2 ms on and 7 ms off, edges of 10 µs",
                  {"I (t_on + t_edge)/(t_on + t_off + t_edge)", Basis::closed_form},
                  1e3 * 0.8 * 2.01 / 9.01,
                  "mA",
                  within(3e-3),
                  [](const Skew& k) {
                    Hiccup h;
                    h.on_s = 2e-3, h.off_s = 7e-3;
                    System s(limited(k, 1.0, h));
                    Transient t(s, tight());
                    t.start(0.0);
                    t.run_to(9.0e-3);  // the first cycle also charges the bulk
                    const double before_C = t.sums()[1].charge_C;
                    t.run_to(9.0e-3 + 5 * 9.01e-3);
                    return 1e3 * (t.sums()[1].charge_C - before_C) / (5 * 9.01e-3);
                  }});
}

}  // namespace

Topic iron_and_stops() {
  Topic t{
      "Iron, stops and limits",
      "What only some briefs ask for: iron that saturates, an end stop, a gear's play, a supply "
      "that acts on its current limit.",
      {}};
  add_contacts(t.rows);
  add_iron(t.rows);
  add_supply(t.rows);
  return t;
}

}  // namespace pb::book
