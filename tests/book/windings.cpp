// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <cmath>
#include <numbers>

#include "tests/book/topics.h"
#include "tests/rigs/circuit.h"
#include "tests/rigs/crest.h"
#include "tests/rigs/measured.h"
#include "tests/rigs/motor.h"

namespace pb::book {
namespace {

using namespace rigs;

/// 2 ohm and 4 mH on a node, from the current given; the current is the last unknown.
struct Coil {
  Circuit c = grounded();
  double R_ohm, L_H;
  Coil(const Skew& k, double R)
      : R_ohm(R * k.winding_resistance), L_H(4e-3 * k.winding_inductance) {}
  void between(int a, int b) { c.inductors.push_back({"coil", a, b, L_H, R_ohm}); }
};

double rise_A(const Skew& k, double t_s) {
  Coil coil(k, 2.0);
  coil.between(driven(coil.c, 23.7), 0);
  System s(coil.c);
  Transient t(s, tight());
  t.start(0.0);
  t.run_to(t_s);
  return t.state()[0];
}

void add_rise(std::vector<Row>& rows) {
  rows.push_back({"rise-100us", "Current after 100 µs: 24 V less 0.3 V on 2 Ω, 4 mH",
                  circuits("(V/R)(1 - e^(-t/τ))"), 11.85 * -std::expm1(-0.05), "A", within(1e-5),
                  [](const Skew& k) { return rise_A(k, 100e-6); }});
  rows.push_back({"rise-1.5A", "Time of that current to 1.5 A", circuits("-τ ln(1 - I R/V)"),
                  -2e3 * std::log1p(-1.5 * 2 / 23.7), "µs", within(1e-5), [](const Skew& k) {
                    Coil coil(k, 2.0);
                    coil.between(driven(coil.c, 23.7), 0);
                    System s(coil.c);
                    Transient t(s, tight());
                    t.start(0.0);
                    return 1e6 * passes(t, 0, 1.5, 1e-3);
                  }});
  rows.push_back({"rise-forced", "Time to 63.2 % of 1.5 A with 14 Ω in series, 24 V",
                  circuits("τ = L/(R + R_s)"), 250.0, "µs", within(1e-5), [](const Skew& k) {
                    Coil coil(k, 2.0);
                    const int n = coil.c.add_node("n");
                    coil.c.resistors.push_back({"ballast", driven(coil.c, 24.0), n, 1.0 / 14.0});
                    coil.c.capacitors.push_back({"stray", n, 0, 1e-12});
                    coil.between(n, 0);
                    System s(coil.c);
                    Transient t(s, tight());
                    t.start(0.0);
                    return 1e6 * passes(t, 1, 1.5 * -std::expm1(-1.0), 1e-2);
                  }});
}

double freewheel(const Skew& k, double R, double drop_V, double t_s, double level_A) {
  Coil coil(k, R);
  const int n = coil.c.add_node("n");
  coil.between(0, n);
  coil.c.diodes.push_back(constant_drop(n, 0, drop_V));
  coil.c.resistors.push_back({"leak", n, 0, 1e-9});
  System s(coil.c);
  Transient t(s, tight());
  t.start(0.0, {drop_at_start_V(drop_V), 1.5});
  if (t_s < 0) return passes(t, 1, level_A, 10e-3);
  t.run_to(t_s);
  return t.state()[1];
}

void add_slow_decay(std::vector<Row>& rows) {
  const auto shorted = [](const Skew& k) {
    Coil coil(k, 2.2);
    coil.between(0, 0);
    return coil;
  };
  rows.push_back({"slow-decay", "1.5 A shorted through two switches (2.2 Ω in all) after 1 ms",
                  circuits("i0 e^(-t/τ)"), 1.5 * std::exp(-0.55), "A", within(1e-5),
                  [shorted](const Skew& k) {
                    Coil coil = shorted(k);
                    System s(coil.c);
                    Transient t(s, tight());
                    t.start(0.0, {1.5});
                    t.run_to(1e-3);
                    return t.state()[0];
                  }});
  rows.push_back({"slow-decay-tenth", "Time in which that current falls to a tenth",
                  circuits("τ ln 10"), 4.0 / 2.2 * std::log(10.0), "ms", within(1e-5),
                  [shorted](const Skew& k) {
                    Coil coil = shorted(k);
                    System s(coil.c);
                    Transient t(s, tight());
                    t.start(0.0, {1.5});
                    return 1e3 * passes(t, 0, 0.15, 10e-3);
                  }});
  const double sink = 0.8 / 2.1, tau = 4e-3 / 2.1;
  rows.push_back({"diode-decay", "1.5 A through one diode (0.8 V) and 2.1 Ω after 1 ms",
                  circuits("(i0 + V_f/R) e^(-t/τ) - V_f/R"),
                  (1.5 + sink) * std::exp(-1e-3 / tau) - sink, "A", within(3e-4),
                  [](const Skew& k) { return freewheel(k, 2.1, 0.8, 1e-3, 0); }});
  rows.push_back({"diode-decay-over", "Time until that current has died down to 1 mA",
                  circuits("τ ln[(i0 + V_f/R)/(i + V_f/R)]"),
                  1e3 * tau * std::log((1.5 + sink) / (1e-3 + sink)), "ms", within(3e-4),
                  [](const Skew& k) { return 1e3 * freewheel(k, 2.1, 0.8, -1, 1e-3); }});
}

/// 1.5 A goes back to 24 V through two diodes of 0.8 V.
struct Returned {
  double over_s, charge_C, supply_J, diodes_J, winding_J;
};
Returned returned(const Skew& k) {
  Coil coil(k, 2.0);
  Circuit& c = coil.c;
  const int rail = driven(c, 24.0), low = c.add_node("low"), high = c.add_node("high");
  coil.between(low, high);
  c.diodes.push_back(constant_drop(0, low, 0.8));
  c.diodes.push_back(constant_drop(high, rail, 0.8));
  c.resistors.push_back({"leak_low", low, 0, 1e-9});
  c.resistors.push_back({"leak_high", high, 0, 1e-9});
  System s(c);
  const double drop = drop_at_start_V(0.8);
  Returned r{};
  for (const bool timed : {true, false}) {
    Transient t(s, tight());
    t.start(0.0, {-drop, 24.0 + drop, 1.5});
    if (timed) {
      r.over_s = passes(t, 2, 1e-4, 1e-3);
      continue;
    }
    t.run_to(300e-6);
    r.supply_J = -t.ledger().source_J;
    for (std::size_t e = 0; e < s.names.size(); ++e) {
      if (s.names[e].ref == "d") r.diodes_J += t.sums()[e].loss_J;
      if (s.names[e].ref != "coil") continue;
      r.winding_J = t.sums()[e].loss_J, r.charge_C = t.sums()[e].charge_C;
    }
  }
  return r;
}

void add_return(std::vector<Row>& rows) {
  const double tau = 2e-3, i0 = 1.5, sink = 25.6 / 2.0,
               charge = tau * (i0 - sink * std::log1p(i0 / sink)), stored = 0.5 * 4e-3 * i0 * i0,
               supply = 24.0 * charge, diodes = 1.6 * charge;
  rows.push_back({"return-over", "1.5 A back into 24 V through two diodes (0.8 V): time to 0.1 mA",
                  circuits("τ ln[(i0 + I∞)/(i + I∞)], I∞ = (V + 2V_f)/R"),
                  1e6 * tau * std::log((i0 + sink) / (1e-4 + sink)), "µs", within(2e-4),
                  [](const Skew& k) { return 1e6 * returned(k).over_s; }});
  rows.push_back({"return-charge", "Charge returned by it", circuits("τ [i0 - I∞ ln(1 + i0/I∞)]"),
                  1e6 * charge, "µC", within(1e-3),
                  [](const Skew& k) { return 1e6 * returned(k).charge_C; }});
  rows.push_back({"return-supply", "Energy returned by it to the supply", circuits("V Q"),
                  1e3 * supply, "mJ", within(1e-3),
                  [](const Skew& k) { return 1e3 * returned(k).supply_J; }});
  rows.push_back({"return-diodes", "Energy lost of it in the diodes", circuits("2 V_f Q"),
                  1e3 * diodes, "mJ", within(1e-3),
                  [](const Skew& k) { return 1e3 * returned(k).diodes_J; }});
  rows.push_back({"return-winding", "Energy lost of it in the winding",
                  circuits("L i0²/2 less the other two"), 1e3 * (stored - supply - diodes), "mJ",
                  within(1e-3), [](const Skew& k) { return 1e3 * returned(k).winding_J; }});
  rows.push_back({"return-sum",
                  "Those three energies together, each integrated from its own v·i",
                  {"conservation of energy: L i0²/2", Basis::closed_form},
                  1e3 * stored,
                  "mJ",
                  within(1e-4),
                  [](const Skew& k) {
                    const Returned r = returned(k);
                    return 1e3 * (r.supply_J + r.diodes_J + r.winding_J);
                  }});
}

void add_square_wave(std::vector<Row>& rows) {
  for (const int rate : {100, 400, 1000, 2000}) {
    const double x = 2.0 / rate / 2e-3, crest = std::tanh(x / 2.0);
    const std::string at = std::to_string(rate);
    rows.push_back({"square-crest-" + at,
                    "Crest of the current, ±3 V square wave, 2 Ω, 4 mH, " + at + " steps/s",
                    circuits("I0 tanh(X/2), X = T/(2τ)"), 1.5 * crest, "A", within(1e-3),
                    [rate](const Skew& k) {
                      return square_current(3.0, 2.0 * k.winding_resistance,
                                            4e-3 * k.winding_inductance, rate)
                          .peak_A;
                    }});
    rows.push_back({"square-rms-" + at, "Rms of that current, " + at + " steps/s",
                    circuits("I0 √(1 - (2/X) tanh(X/2))"), 1.5 * std::sqrt(1.0 - 2.0 / x * crest),
                    "A", within(1e-3), [rate](const Skew& k) {
                      return square_current(3.0, 2.0 * k.winding_resistance,
                                            4e-3 * k.winding_inductance, rate)
                          .rms_A;
                    }});
  }
  double by_hand = 0;
  for (const double sign : {1.0, -1.0, 1.0})  // X = 1
    by_hand = sign * 1.5 + (by_hand - sign * 1.5) * std::exp(-1.0);
  rows.push_back({"square-approach",
                  "Current three half periods after rest, on its way to repeat, 1000 steps/s",
                  circuits("each half period brings it nearer by e^(-X)"), by_hand, "A",
                  within(1e-4), [](const Skew& k) {
                    Profile p{{0.0}, {3.0}};
                    p.hold_then_go(2e-3, 1e-10, -3.0);
                    p.hold_then_go(4e-3, 1e-10, 3.0);
                    Coil coil(k, 2.0);
                    coil.between(driven(coil.c, p), 0);
                    System s(coil.c);
                    Transient t(s, tight());
                    t.start(0.0);
                    t.run_to(6e-3);
                    return t.state()[0];
                  }});
}

struct Chopped {
  double ripple_A, rms_A;
};
/// A winding without resistance against a constant EMF of the mean voltage, so that the very first
/// period repeats itself: 50 us, 20 of them.
Chopped chopped(double L_H, double duty, double low_V) {
  constexpr double kPeriod_s = 50e-6, kEdge_s = 1e-10, kMean_A = 1.5, kHigh_V = 24.0;
  Profile p{{0.0}, {kHigh_V}};
  for (int n = 0; n < 20; ++n) {
    p.hold_then_go((n + duty) * kPeriod_s, kEdge_s, low_V);
    p.hold_then_go((n + 1) * kPeriod_s, kEdge_s, kHigh_V);
  }
  const double mean_V = duty * kHigh_V + (1.0 - duty) * low_V,
               half_A = 0.5 * (kHigh_V - mean_V) * duty * kPeriod_s / L_H;
  Circuit c = grounded();
  c.inductors.push_back({"coil", driven(c, p), driven(c, mean_V), L_H, 0.0});
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {kMean_A - half_A});
  Crest crest;
  watch_crest(t, s, 0, crest);
  t.run_to(20 * kPeriod_s);
  return {crest.most_A - crest.least_A, std::sqrt(t.sums()[0].i2_A2s / (20 * kPeriod_s))};
}

void add_chopping(std::vector<Row>& rows) {
  rows.push_back({"ripple-slow", "Ripple, slow decay: 24 V, 20 kHz, duty 0.3, 4 mH",
                  circuits("V D (1 - D) T/L"), 24 * 0.3 * 0.7 * 50e-6 / 4e-3 * 1e3, "mA",
                  within(1e-4), [](const Skew& k) {
                    return 1e3 * chopped(4e-3 * k.winding_inductance, 0.3, 0.0).ripple_A;
                  }});
  rows.push_back({"ripple-fast", "Ripple, both polarities, duty 0.5", circuits("V T/(2L)"),
                  24 * 50e-6 / 8e-3 * 1e3, "mA", within(1e-4), [](const Skew& k) {
                    return 1e3 * chopped(4e-3 * k.winding_inductance, 0.5, -24.0).ripple_A;
                  }});
  rows.push_back({"ripple-rms", "Rms of 1.5 A with 0.3 A of triangle on it",
                  circuits("√(I² + ΔI²/12)"), std::sqrt(2.25 + 0.09 / 12.0), "A", within(1e-6),
                  [](const Skew&) { return chopped(24 * 0.3 * 0.7 * 50e-6 / 0.3, 0.3, 0.0).rms_A; },
                  7});
}

/// 24 V on 4.6 ohm and 6 mH through two switches of 0.3 ohm, measured in 0.5 ohm against 0.5 V.
ChopperRig measuring(const Skew& k) {
  ChopperRig r;
  r.winding_ohm *= k.winding_resistance, r.inductance_H *= k.winding_inductance;
  return r;
}

void add_measured(std::vector<Row>& rows) {
  const ChopperRig r;
  const double peak_A = 1.0, low_A = r.falls(peak_A, 20e-6);
  rows.push_back(
      {"chopper-ripple", "Ripple of a fixed off-time of 20 µs: 1 A shorted through 5.2 Ω, 6 mH",
       circuits("I (1 - e^(-t/τ))"), 1e3 * (peak_A - low_A), "mA", within(2e-3), [](const Skew& k) {
         const Seen s = chopped(measuring(k), 1e-3, 2e-3);
         return 1e3 * (s.on_A.back() - s.off_A.back());
       }});
  rows.push_back({"chopper-on-time", "Time driven in each of its periods, 24 V and 5.7 Ω",
                  circuits("τ ln[(V/R - i_0)/(V/R - i_1)]"), 1e6 * r.rise_time(low_A, peak_A), "µs",
                  within(5e-3), [](const Skew& k) {
                    return 1e6 * chopped(measuring(k), 1e-3, 2e-3).on_s.back();
                  }});
  rows.push_back({"chopper-frequency", "Frequency of the same", circuits("1/(t_on + t_off)"),
                  1e-3 / (20e-6 + r.rise_time(low_A, peak_A)), "kHz", within(2e-3),
                  [](const Skew& k) {
                    const Seen s = chopped(measuring(k), 1e-3, 2e-3);
                    return 1e-3 / (s.on_s.back() + s.off_s.back());
                  }});
  rows.push_back({"chopper-overshoot", "Beyond 1 A for a comparator 2 µs late",
                  circuits("(V/R - I)(1 - e^(-t/τ))"), 1e3 * (r.rises(peak_A, 2e-6) - peak_A), "mA",
                  within(5e-3), [](const Skew& k) {
                    ChopperRig late = measuring(k);
                    late.law.delay_s = 2e-6;
                    return 1e3 * (chopped(late, 1e-3, 2e-3).on_A.back() - 1.0);
                  }});
  const double a = std::exp(-3e-6 * r.driven_ohm() / r.inductance_H),
               b = std::exp(-20e-6 * r.shorted_ohm() / r.inductance_H);
  rows.push_back({"chopper-least", "Least current that a blanking of 3 µs lets the loop reach",
                  circuits("(V/R)(1 - a)/(1 - a b), a = e^(-t_blank/τ1), b = e^(-t_off/τ2)"),
                  r.supply_V / r.driven_ohm() * (1 - a) / (1 - a * b), "A", within(5e-3),
                  [](const Skew& k) {
                    ChopperRig blind = measuring(k);
                    blind.law.blanking_s = 3e-6, blind.reference_V = 1e-3;
                    return chopped(blind, 14e-3, 15e-3).on_A.back();
                  }});
}

void add_method(std::vector<Row>& rows) {
  rows.push_back(
      {"order",
       "Order of the method: log2 of how the error falls at half the step",
       {"Kennedy, Carpenter, Appl. Numer. Math. 44, 2003, 139-181: order 3", Basis::published},
       3.0,
       "",
       by(0.1),
       [](const Skew&) {
         const double exact = smooth_state(0.05e-6);
         return std::log2(std::abs(smooth_state(1e-6) - exact) /
                          std::abs(smooth_state(0.5e-6) - exact));
       },
       3});
}

}  // namespace

Topic windings() {
  Topic t{"Current in a winding",
          "The integrator on circuits of one winding. Tolerances are those of the run: default "
          "where 0.1 %, else tight.",
          {}};
  add_rise(t.rows);
  add_slow_decay(t.rows);
  add_return(t.rows);
  add_square_wave(t.rows);
  add_chopping(t.rows);
  add_measured(t.rows);
  add_method(t.rows);
  return t;
}

}  // namespace pb::book
