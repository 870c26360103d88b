// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <algorithm>
#include <cmath>
#include <numbers>

#include "physics/settle.h"
#include "tests/book/topics.h"
#include "tests/rigs/circuit.h"
#include "tests/rigs/crest.h"
#include "tests/rigs/transit.h"

namespace pb::book {
namespace {

using namespace rigs;

struct Plug {
  double V, L_H, R_ohm, C_F;
};
constexpr Plug kBulk{24, 1e-6, 0.05, 100e-6}, kCeramic12{12, 1e-6, 0.1, 4e-6},
    kCeramic24{24, 1e-6, 0.1, 4e-6};

struct Plugged {
  double current_A, at_s, volts, volts_at_s;
};
Plugged plugged(const Skew& k, const Plug& p) {
  Circuit c = grounded();
  const int source = driven(c, p.V), n = c.add_node("n");
  c.inductors.push_back({"lead", source, n, p.L_H, p.R_ohm});
  c.capacitors.push_back({"bulk", n, 0, p.C_F * k.capacitance});
  System s(c);
  TransientOptions o = tight();
  o.max_step_s = 2e-8;
  Transient t(s, o);
  t.start(0.0);
  Crest crest;
  watch_crest(t, s, 0, crest);
  Plugged out{};
  // The voltage turns where the current passes zero; before that, the current has its crest.
  t.run_to(1e-6);
  out.volts_at_s = passes(t, 1, 0.0, 100e-6);
  out.current_A = crest.most_A, out.at_s = crest.at_s;
  out.volts = t.state()[0];
  return out;
}

/// Underdamped series RLC on a step.
struct Ring {
  double a, w, V, L;
  explicit Ring(const Plug& p)
      : a(p.R_ohm / (2 * p.L_H)), w(std::sqrt(1 / (p.L_H * p.C_F) - a * a)), V(p.V), L(p.L_H) {}
  double volts() const { return V * (1 + std::exp(-a * std::numbers::pi / w)); }
  double crest_s() const { return std::atan2(w, a) / w; }
  double crest_A() const {
    return V / (w * L) * std::exp(-a * crest_s()) * std::sin(w * crest_s());
  }
};

void add_plugs(std::vector<Row>& rows) {
  const Ring bulk(kBulk);
  rows.push_back({"plug-current", "Hot plug, 24 V on 1 µH, 50 mΩ, 100 µF: crest of the current",
                  circuits("series RLC"), bulk.crest_A(), "A", within(1e-5),
                  [](const Skew& k) { return plugged(k, kBulk).current_A; }});
  rows.push_back({"plug-current-at", "Time of that current's crest", circuits("series RLC"),
                  1e6 * bulk.crest_s(), "µs", within(2e-3),
                  [](const Skew& k) { return 1e6 * plugged(k, kBulk).at_s; }, 4});
  rows.push_back({"plug-voltage", "Crest of the voltage there", circuits("V (1 + e^(-απ/ω_d))"),
                  bulk.volts(), "V", within(1e-4),
                  [](const Skew& k) { return plugged(k, kBulk).volts; }});
  rows.push_back({"plug-voltage-at", "Time of that voltage's crest", circuits("π/ω_d"),
                  1e6 * std::numbers::pi / bulk.w, "µs", within(1e-4),
                  [](const Skew& k) { return 1e6 * plugged(k, kBulk).volts_at_s; }});
  rows.push_back({"plug-ceramic-12", "12 V on a ceramic worn down to 4 µF by its bias, 0.1 Ω",
                  circuits("V (1 + e^(-απ/ω_d))"), Ring(kCeramic12).volts(), "V", within(1e-4),
                  [](const Skew& k) { return plugged(k, kCeramic12).volts; }});
  rows.push_back({"plug-ceramic-24", "24 V on the same", circuits("V (1 + e^(-απ/ω_d))"),
                  Ring(kCeramic24).volts(), "V", within(1e-4),
                  [](const Skew& k) { return plugged(k, kCeramic24).volts; }});
  rows.push_back({"plug-loss", "Heat of charging 100 µF to 12 V through 0.1 Ω, whatever the ohms",
                  circuits("C V²/2"), 7.2, "mJ", within(1e-4), [](const Skew& k) {
                    Circuit c = grounded();
                    const int source = driven(c, 12.0), n = c.add_node("n");
                    c.resistors.push_back({"r", source, n, 10.0});
                    c.capacitors.push_back({"c", n, 0, 100e-6 * k.capacitance});
                    System s(c);
                    Transient t(s, tight());
                    t.start(0.0);
                    t.run_to(400e-6);
                    return 1e3 * t.sums()[0].loss_J;
                  }});
}

/// 1.5 A of 4 mH and 2 ohm returned through two diodes to a bulk capacitor behind a supply that
/// blocks: where the rail ends.
constexpr double kRail_V = 24, kDrop_V = 0.8, kL_H = 4e-3, kR_ohm = 2, kStart_A = 1.5;
double risen_V(const Skew& k, double C_F) {
  Circuit c = grounded();
  const int rail = c.add_node("rail"), low = c.add_node("low"), high = c.add_node("high");
  c.inductors.push_back({"l", low, high, kL_H * k.winding_inductance, kR_ohm});
  c.diodes.push_back(constant_drop(0, low, kDrop_V));
  c.diodes.push_back(constant_drop(high, rail, kDrop_V));
  c.resistors.push_back({"leak_low", low, 0, 1e-9});
  c.resistors.push_back({"leak_high", high, 0, 1e-9});
  c.capacitors.push_back({"bulk", rail, 0, C_F * k.capacitance});
  System s(c);
  Transient t(s, tight());
  const double drop = drop_at_start_V(kDrop_V);
  t.start(0.0, {kRail_V, -drop, kRail_V + drop, kStart_A});
  t.run_to(300e-6);
  return s.node_voltage(t.state(), rail) - kRail_V;
}
/// Series RLC from (i0, V0 + 2 Vf) up to the first zero of its current.
double risen_by_hand_V(double C_F) {
  const double a = kR_ohm / (2 * kL_H), w = std::sqrt(1 / (kL_H * C_F) - a * a),
               b = (-(kRail_V + 2 * kDrop_V + kR_ohm * kStart_A) / kL_H + a * kStart_A) / w,
               zero = std::atan2(kStart_A, -b) / w,
               slope = std::exp(-a * zero) * w *
                       (b * std::cos(w * zero) - kStart_A * std::sin(w * zero));
  return -kL_H * slope - 2 * kDrop_V - kRail_V;
}

void add_rail(std::vector<Row>& rows) {
  rows.push_back({"rail-100uF", "Rise of a 24 V rail with 100 µF that takes up 1.5 A of 4 mH",
                  circuits("series RLC up to its first zero of current"), risen_by_hand_V(100e-6),
                  "V", within(1e-3), [](const Skew& k) { return risen_V(k, 100e-6); }, 5});
  rows.push_back({"rail-470uF", "The same with 470 µF",
                  circuits("series RLC up to its first zero of current"), risen_by_hand_V(470e-6),
                  "V", within(1e-3), [](const Skew& k) { return risen_V(k, 470e-6); }, 5});
  // 24.34466 V of the energy 3.915653 mJ that goes back at constant voltage.
  rows.push_back({"rail-by-energy", "The same by energy alone, as a designer works it out",
                  circuits("√(V² + 2E/C), E as returned at constant voltage"),
                  std::sqrt(24.0 * 24.0 + 2 * 3.915653e-3 / 470e-6) - 24.0, "V", within(0.02),
                  [](const Skew& k) { return risen_V(k, 470e-6); }, 4});
}

struct Gate {
  double V = 10, edge_s = 50e-9, R_ohm = 360, C_F = 700e-12;
};
double gate_V(const Skew& k, const Gate& g, double t_s) {
  Circuit c = grounded();
  const int pin = driven(c, Profile{{0.0, 1e-6, 1e-6 + g.edge_s}, {0.0, 0.0, g.V}}),
            gate = c.add_node("gate");
  c.resistors.push_back({"r", pin, gate, 1.0 / g.R_ohm});
  c.capacitors.push_back({"c", gate, 0, g.C_F * k.capacitance});
  System s(c);
  Transient t(s, tight());
  t.start(0.0);
  t.run_to(1e-6 + t_s);
  return t.state()[0];
}
/// From `start_V` towards `end_V` through R: when it passes `level_V`.
double charging_s(const Skew& k, double R_ohm, double C_F, double start_V, double end_V,
                  double level_V) {
  Circuit c = grounded();
  const int source = driven(c, end_V), gate = c.add_node("gate");
  c.resistors.push_back({"r", source, gate, 1.0 / R_ohm});
  c.capacitors.push_back({"c", gate, 0, C_F * k.capacitance});
  System s(c);
  TransientOptions o = tight();
  o.first_step_s = 1e-11;
  Transient t(s, o);
  t.start(0.0, {start_V});
  return passes(t, 0, level_V, 1.0);
}

/// A junction of 100 pF at no voltage, phi 0.7 V, through 1 kohm from 12 V: after 32.00823 ns.
double depletion_V(const Skew& k) {
  Circuit c = grounded();
  const int n = c.add_node("n");
  c.resistors.push_back({"r", driven(c, 12.0), n, 1e-3});
  c.depletions.push_back({"c", n, 0, {100e-12 * k.capacitance, 0.7}});
  System s(c);
  TransientOptions o = tight();
  o.first_step_s = 1e-12;
  Transient t(s, o);
  t.start(0.0, {0.0});
  t.run_to(32.00823e-9);
  return t.state()[0];
}

/// Heat in 1 ohm that charges a ceramic of 10 uF to 24 V, of which 30 % is left at 25 V.
double ceramic_heat_J(const Skew& k) {
  Circuit c = grounded();
  const int n = c.add_node("n");
  c.resistors.push_back({"r", driven(c, 24.0), n, 1.0});
  c.ceramics.push_back({"c", n, 0, ceramic_through(10e-6 * k.capacitance, 0.3, 25.0)});
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {0.0});
  t.run_to(1e-3);
  return t.ledger().loss_J;
}

/// Fall of the drain from 90 to 10 % while the gate stands on its plateau: 1.5 A held by a large
/// inductance with a diode back to 24 V, gate driven to 5 V through 100 ohm. The plateau is at
/// 2.5 V: beta (0.5 V)^2/(2 n) = 1.5 A. C_gd is 5 nC over 24 V.
double plateau_s(const Skew& k) {
  constexpr double kBus_V = 24, kI_A = 1.5, kCgd_F = 5e-9 / 24;
  Circuit c = grounded();
  const int rail = driven(c, kBus_V), pin = driven(c, Profile{{0.0, 1e-9}, {0.0, 5.0}}),
            gate = c.add_node("gate"), drain = c.add_node("drain");
  c.resistors.push_back({"rg", pin, gate, 0.01});
  c.mosfets.push_back({"q", drain, gate, 0, {1, 2.0, 2 * 1.3 * kI_A / 0.25, 1.3, 0.025852}});
  c.capacitors.push_back({"cgd", gate, drain, kCgd_F * k.gate_drain_capacitance});
  c.capacitors.push_back({"cgs", gate, 0, 92e-12});
  c.diodes.push_back(constant_drop(drain, rail, 0.01));
  c.inductors.push_back({"load", rail, drain, 1.0, 0.0});
  System s(c);
  TransientOptions o = tight();
  o.max_step_s = 5e-10, o.first_step_s = 1e-11;
  Transient t(s, o);
  std::vector<double> x(static_cast<std::size_t>(s.size()), 0.0);
  const auto at = [&](int node) { return static_cast<std::size_t>(s.unknown(node)); };
  x[at(drain)] = kBus_V + drop_at_start_V(0.01);
  x[static_cast<std::size_t>(s.inductor_unknown(0))] = kI_A;
  t.start(0.0, x);
  double last_t = 0, last_V = kBus_V, from = 0, to = 0;
  t.on_step = [&](double now, const std::vector<double>& y) {
    const double v = y[at(drain)];
    const auto crossed = [&](double level, double& when) {
      if (when == 0 && last_V > level && v <= level)
        when = last_t + (now - last_t) * (last_V - level) / (last_V - v);
    };
    crossed(0.9 * kBus_V, from);
    crossed(0.1 * kBus_V, to);
    last_t = now, last_V = v;
  };
  t.run_to(600e-9);
  return to - from;
}

void add_gates(std::vector<Row>& rows) {
  const double tau = 360 * 700e-12, edge = 50e-9,
               end_V = 10 / edge * (edge + tau * std::expm1(-edge / tau));
  rows.push_back({"gate-edge", "Gate (360 Ω, 700 pF) at the end of an edge of 10 V in 50 ns",
                  circuits("(V/T)[t - τ (1 - e^(-t/τ))]"), end_V, "V", within(1e-4),
                  [](const Skew& k) { return gate_V(k, {}, 50e-9); }});
  rows.push_back({"gate-after", "The same gate 450 ns later",
                  circuits("V - (V - v_T) e^(-(t-T)/τ)"),
                  10 - (10 - end_V) * std::exp(-450e-9 / tau), "V", within(1e-4),
                  [](const Skew& k) { return gate_V(k, {}, 500e-9); }});
  const Source charge{"gate-charge times of a published data book, application section",
                      Basis::published_law};
  rows.push_back({"gate-delay", "Turn-on delay to a plateau of 2.5 V: 100 Ω, 300 pF, 5 V", charge,
                  20.794, "ns", within(1e-4),
                  [](const Skew& k) { return 1e9 * charging_s(k, 100, 300e-12, 0, 5, 2.5); }, 5});
  rows.push_back({"gate-plateau",
                  "Fall of 24 V from 90 to 10 % at 1.5 A, 5 nC of Q_gd through 100 Ω from 5 V",
                  charge, 0.8 * 200.0, "ns", within(0.015),
                  [](const Skew& k) { return 1e9 * plateau_s(k); }, 4});
  rows.push_back(
      {"depletion",
       "A junction's 100 pF, falling with √(1 + v/0.7 V): 1 kΩ from 12 V, after 32.00823 ns",
       circuits("t = (R C_0/a) ln((a + u)(a − 1)/((a − u)(a + 1))), u² = 1 + v/φ, a² = 1 + V/φ"),
       6.0, "V", within(1e-4), depletion_V});
  rows.push_back({"ceramic-bias", "Heat of charging 10 µF to 24 V, of which 30 % is left at 25 V",
                  circuits("V q − ∫ v dq, q = C v/√(1 + (v/v_0)²)"), 2.340389, "mJ", within(2e-4),
                  [](const Skew& k) { return 1e3 * ceramic_heat_J(k); }});
  rows.push_back({"gate-slow-off",
                  "600 pF through 10 kΩ down to a tenth: why dead time is computed",
                  circuits("τ ln 10"), 6.0 * std::log(10.0), "µs", within(1e-4),
                  [](const Skew& k) { return 1e6 * charging_s(k, 10e3, 600e-12, 10, 0, 1); }});
  rows.push_back(
      {"gate-dvdt", "An open gate when its drain jumps by 12 V: 100 pF over 600 pF",
       circuits("ΔV C_gd/(C_gd + C_gs)"), 12.0 / 7.0, "V", within(1e-4), [](const Skew& k) {
         Circuit c = grounded();
         const int drain = driven(c, Profile{{0.0, 1e-6, 1.01e-6}, {0.0, 0.0, 12.0}}),
                   gate = c.add_node("gate");
         c.capacitors.push_back({"cgd", gate, drain, 100e-12 * k.gate_drain_capacitance});
         c.capacitors.push_back({"cgs", gate, 0, 600e-12});
         c.resistors.push_back({"leak", gate, 0, 1e-12});
         System s(c);
         Transient t(s, tight());
         t.start(0.0);
         t.run_to(1.1e-6);
         return t.state()[0];
       }});
  rows.push_back({"reset-divider", "A pin at reset: 20 kΩ up to 5.25 V against 10 kΩ down, at rest",
                  circuits("V R2/(R1 + R2)"), 1.75, "V", within(1e-9), [](const Skew&) {
                    Circuit c = grounded();
                    const int n = c.add_node("n");
                    c.resistors.push_back({"up", driven(c, 5.25), n, 1.0 / 20e3});
                    c.resistors.push_back({"down", n, 0, 1.0 / 10e3});
                    c.capacitors.push_back({"c", n, 0, 1e-9});
                    System s(c);
                    std::vector<double> x = {0.0};
                    return settle(s, 0.0, x) ? x[0] : std::nan("");
                  }});
  rows.push_back({"pin-lets-go", "A pin that lets go: 5 V on 100 nF and 10 kΩ, 1 ms later",
                  circuits("V e^(-t/τ) from the divider of 100 Ω and 10 kΩ"),
                  5.0 * 100.0 / 101.0 * std::exp(-1.0), "V", within(2e-3),
                  [](const Skew& k) {
                    Circuit c = grounded();
                    const int n = c.add_node("n");
                    c.pins.push_back(
                        {"p", n, {{0.0}, {5.0}}, {{0.0, 1e-3, 1.001e-3}, {1e-2, 1e-2, 1e-12}}});
                    c.resistors.push_back({"pull", n, 0, 1e-4});
                    c.capacitors.push_back({"c", n, 0, 1e-7 * k.capacitance});
                    System s(c);
                    Transient t(s, tight());
                    t.start(0.0);
                    t.run_to(2e-3);
                    return t.state()[0];
                  },
                  4});
}

/// 1.6 ns and 160 ns of transit time, gains 200 and 5: 10 mA, turned on and off by 1 mA.
constexpr Storage kShifter{200, 5, 1.6e-9, 160e-9, 10e-3, 1e-3, 1e-3};
Bipolar shifter(const Skew& k) {
  const Storage& s = kShifter;
  return {1,
          1e-14 * k.saturation_current,
          s.forward_gain,
          s.reverse_gain,
          0.0259,
          s.forward_transit_s * k.transit_time,
          s.reverse_transit_s * k.transit_time};
}

void add_shifters(std::vector<Row>& rows) {
  rows.push_back(
      {"storage-time",
       "A transistor (gains 200 and 5, 1.6 ns and 160 ns of transit time) that carries "
       "10 mA stays saturated after its base turns from 1 mA in to 1 mA out",
       {"τ_s ln[(I_BF + I_BR)/(I_C/β_F + I_BR)] of charge control, Moll, Proc. IRE 42, "
        "1954, 1773-1784",
        Basis::closed_form},
       1e9 * textbook_storage_s(kShifter),
       "ns",
       within(5e-3),
       [](const Skew& k) { return 1e9 * storage_s(saturated(kShifter, shifter(k)), 2e-6); },
       4});
  rows.push_back(
      {"transition-frequency",
       "Its small-signal current gain, a transistor of gain 200 and 1.6 ns, at f_T = 99.47 MHz",
       circuits("β/√(1 + (2πf β τ_F)²) = 1 where 2πf τ_F is nearly 1"), 1.0, "", within(1e-2),
       [](const Skew& k) { return current_gain_at(shifter(k), 99.4718e6); }, 4});
}

}  // namespace

Topic supply_and_gates() {
  Topic t{"Supply, rail and gates",
          "Plugging in, what a turn-off does to the rail, the edges of gates, and what a saturated "
          "transistor stores.",
          {}};
  add_plugs(t.rows);
  add_rail(t.rows);
  add_gates(t.rows);
  add_shifters(t.rows);
  return t;
}

}  // namespace pb::book
