// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What physics/extraction.cpp and its like assume where no sheet says: each row reads one of it
// back by measuring the model, finely enough that 2 % of the assumption is seen.
#include <cmath>

#include "judgement/protection.h"
#include "model/pair.h"
#include "physics/board_heat.h"
#include "physics/extraction.h"
#include "tests/book/one_part.h"
#include "tests/book/topics.h"

namespace pb::book {
namespace {

using namespace physics;

const Source kPractice{"common practice, no source", Basis::remembered};
constexpr double k25_K = 298.15;

/// 2 V at 250 µA, 0.1 Ω at 5 V; but for `more`, no other figure that matters here.
Part channel_part(std::map<std::string, double> more = {}) {
  std::map<std::string, double> figures{{"rds_gate", 5.0}, {"rds_max", 0.1},  {"vds_max", 60},
                                        {"ciss", 600e-12}, {"coss", 150e-12}, {"crss", 80e-12}};
  figures.merge(more);
  return part("n-mosfet", figures);
}
MosfetModel channel_model(double T_K) { return mosfet_model(channel_part(), 1, 2.0, 0.1, T_K); }
double drain_A(double gate_V, double T_K) {
  return channel_current(channel_model(T_K).channel, gate_V, 30.0).i_A;
}

/// The straight line of √I over the gate's voltage, far in saturation: I = β (V_G - V_T0)²/2n.
struct Straight {
  double meets_V, slope;
};
Straight root_of_current(double T_K) {
  const double low = std::sqrt(drain_A(5, T_K)), high = std::sqrt(drain_A(7, T_K)),
               slope = 0.5 * (high - low);
  return {5 - low / slope, slope};
}

void add_channels(std::vector<Row>& rows) {
  rows.push_back({"threshold-drift",
                  "Threshold at 125 °C less that at 25 °C, where the line of √I meets zero",
                  {"-3 mV/K: -2 to -4, common practice", Basis::remembered},
                  -300.0,
                  "mV",
                  by(2.0),
                  [](const Skew&) {
                    return 1e3 *
                           (root_of_current(k25_K + 100).meets_V - root_of_current(k25_K).meets_V);
                  }});
  rows.push_back({"mobility-hot",
                  "Slope of that line squared, at 100 °C over that at 25 °C: the mobility's",
                  {"(T/298.15 K)^-2, chosen for row on-resistance-3V", Basis::remembered},
                  298.15 * 298.15 / (373.15 * 373.15),
                  "",
                  within(2e-3),
                  [](const Skew&) {
                    const double hot = root_of_current(373.15).slope,
                                 cold = root_of_current(k25_K).slope;
                    return hot * hot / (cold * cold);
                  }});
  rows.push_back({"on-resistance-3V",
                  "On-resistance at 100 °C over that at 25 °C, 3 V of gate above the threshold",
                  {"published on-resistance curve of one low-voltage device; the exponent of "
                   "mobility was chosen by it: the fit, and no proof of it",
                   Basis::remembered},
                  1.45,
                  "",
                  within(0.006),
                  [](const Skew&) {
                    const Part p = channel_part();
                    return on_resistance_ohm(p, 1, 2.0, 0.1, 373.15) /
                           on_resistance_ohm(p, 1, 2.0, 0.1, k25_K);
                  },
                  4});
  rows.push_back(
      {"weak-inversion",
       "Gate voltage over a decade of current far below the threshold, 25 °C",
       {"n (kT/q) ln 10, 25.69258 mV; n 1.3 of power MOSFETs from memory", Basis::remembered},
       1.3 * 25.69258 * std::log(10.0),
       "mV/decade",
       within(2e-3),
       [](const Skew&) { return 50 / std::log10(drain_A(1.10, k25_K) / drain_A(1.05, k25_K)); }});
  rows.push_back({"threshold-current",
                  "Current at the stated threshold, gate on drain, of a sheet that states none",
                  {"registered figures of 2N7002: 250 µA", Basis::published},
                  250.0,
                  "µA",
                  within(5e-3),
                  [](const Skew&) {
                    return 1e6 * channel_current(channel_model(k25_K).channel, 2.0, 2.0).i_A;
                  }});
  rows.push_back(
      {"drain-capacity",
       "Gate-drain capacity at 0 V over that at the 14 V at which a sheet states it",
       {"√(1 + V/φ), abrupt junction (Sze, 1981, 2.3); φ 0.7 V from memory", Basis::remembered},
       std::sqrt(21.0),
       "",
       within(2e-3),
       [](const Skew&) {
         const Part p = channel_part({{"capacitance_vds", 14}});
         const Depletion d = mosfet_model(p, 1, 2.0, 0.1, k25_K).gate_drain;
         return d(0).slope / d(14).slope;
       }});
  rows.push_back({"capacity-at",
                  "Drain voltage of the stated capacities of a 60 V MOSFET, its sheet silent",
                  kMemory, 15.0, "V", within(5e-3),
                  [](const Skew&) { return capacitance_test_V(channel_part()); }, 3});
  rows.push_back(
      {"capacity-at-small", "The same of a 20 V MOSFET: half its rating", kMemory, 10.0, "V",
       within(5e-3),
       [](const Skew&) { return capacitance_test_V(part("n-mosfet", {{"vds_max", 20}})); }, 3});
}

double drop_V(const Junction& j, double i_A) {
  return solved(-1.0, 5.0, i_A, [&](double v) { return junction_current(j, v).value; });
}
double body_V(double i_A, double T_K) { return drop_V(channel_model(T_K).body, i_A); }

/// 0.62 V at 1 mA, at most 1 V at 100 mA.
double silicon_V(double i_A, double T_K, double scale = 1) {
  const Part p = part(
      "diode", {{"vf_low_typ", 0.62}, {"if_low", 1e-3}, {"vf_high_max", 1.0}, {"if_high", 0.1}});
  return drop_V(diode_model(p, scale, T_K).junction, i_A);
}

/// 660 mV at 2 mA, as BC847 typically; no transition frequency, no storage time.
Bipolar transistor(double T_K, std::map<std::string, double> more = {}) {
  std::map<std::string, double> figures{{"vbe_typ", 0.66},
                                        {"hfe_min", 200},
                                        {"beta_sat", 20},
                                        {"ic_sat", 10e-3},
                                        {"vce_sat_max", 0.25}};
  figures.merge(more);
  return bipolar_model(part("npn", figures), 1, 290, T_K).transistor;
}

void add_junction_drifts(std::vector<Row>& rows) {
  const Source drift{"-2 mV/K at constant current, from memory", Basis::remembered};
  rows.push_back({"diode-drift", "Drop of a silicon diode at 100 mA, at 75 °C less that at 25 °C",
                  drift, -100.0, "mV", by(1.0), [](const Skew&) {
                    return 1e3 * (silicon_V(0.1, k25_K + 50) - silicon_V(0.1, k25_K));
                  }});
  rows.push_back({"body-drift", "Drop of a body diode at 5 mA, at 75 °C less that at 25 °C", drift,
                  -100.0, "mV", by(1.0), [](const Skew&) {
                    return 1e3 * (body_V(5e-3, k25_K + 50) - body_V(5e-3, k25_K));
                  }});
  rows.push_back({"vbe-drift", "Base-emitter voltage at 2 mA, at 75 °C less that at 25 °C", drift,
                  -100.0, "mV", by(1.0), [](const Skew&) {
                    const auto v_be = [](double T_K) {
                      return solved(0.3, 1.0, 2e-3, [&](double v) {
                        return bipolar_current(transistor(T_K), v, v - 5).ic_A;
                      });
                    };
                    return 1e3 * (v_be(k25_K + 50) - v_be(k25_K));
                  }});
}

void add_junctions(std::vector<Row>& rows) {
  rows.push_back(
      {"diode-decade",
       "Drop of that diode over a decade of small currents, 25 °C",
       {"n (kT/q) ln 10, 25.69258 mV; n 1.05 from memory", Basis::remembered},
       1.05 * 25.69258 * std::log(10.0),
       "mV",
       within(5e-3),
       [](const Skew&) { return 1e3 * (silicon_V(1e-6, k25_K) - silicon_V(1e-7, k25_K)); }});
  rows.push_back({"diode-least",
                  "Drop at 1 mA of the unit of least drop, 0.7 of the greatest",
                  {"0.7/0.85 of the typical one: from memory", Basis::remembered},
                  0.62 * 14.0 / 17.0,
                  "V",
                  within(2e-3),
                  [](const Skew&) { return silicon_V(1e-3, k25_K, 0.7); }});
  rows.push_back({"body-usual", "Drop of a body diode at 0.5 A whose sheet does not say", kMemory,
                  0.9, "V", within(3e-4), [](const Skew&) { return body_V(0.5, k25_K); }, 4});
  rows.push_back({"body-two-decades", "Its drop at 5 mA less that", kMemory, -150.0, "mV", by(0.1),
                  [](const Skew&) { return 1e3 * (body_V(5e-3, k25_K) - body_V(0.5, k25_K)); }});
  rows.push_back({"body-decade",
                  "Its drop over a decade of small currents",
                  {"n (kT/q) ln 10, 25.69258 mV; n 1.1 from memory", Basis::remembered},
                  1.1 * 25.69258 * std::log(10.0),
                  "mV",
                  within(5e-3),
                  [](const Skew&) { return 1e3 * (body_V(1e-6, k25_K) - body_V(1e-7, k25_K)); }});
  rows.push_back(
      {"leakage-50K",
       "Leakage of a Schottky diode's leakiest unit at 75 over 25 °C",
       {"twice every 10 K: 2^5; 10 to 11 K, common practice", Basis::remembered},
       32.0,
       "",
       within(0.01),
       [](const Skew&) { return schottky_leaks_A(0.7, k25_K + 50) / schottky_leaks_A(0.7, k25_K); },
       4});
  rows.push_back(
      {"leakage-least",
       "Leakage of the unit of greatest drop over that of the leakiest",
       {"a tenth; typical units 0.1 to 0.3, from memory", Basis::remembered},
       0.1,
       "",
       within(5e-3),
       [](const Skew&) { return schottky_leaks_A(1.0, k25_K) / schottky_leaks_A(0.7, k25_K); },
       4});
}

void add_bipolars(std::vector<Row>& rows) {
  rows.push_back({"reverse-gain",
                  "Gain with emitter and collector exchanged",
                  {"5: planar switching types have 2 to 20, from memory", Basis::remembered},
                  5.0,
                  "",
                  within(2e-3),
                  [](const Skew&) {
                    const BipolarCurrent i = bipolar_current(transistor(k25_K), -5.0, 0.6);
                    return -(i.ic_A + i.ib_A) / i.ib_A;
                  },
                  4});
  rows.push_back({"transit-usual",
                  "Transit time of a transistor whose sheet gives no transition frequency",
                  {"1/(2π f_T), at least 100 MHz of BC847 and BC857", Basis::closed_form},
                  1.5915494,
                  "ns",
                  within(1e-3),
                  [](const Skew&) { return 1e9 * transistor(k25_K).forward_transit_s; }});
  rows.push_back(
      {"transit-reverse",
       "Reverse over forward transit time, no storage time given",
       {"100: 225 ns of a 2N3906 at 250 MHz ask for 110; no source for others", Basis::remembered},
       100.0,
       "",
       within(5e-3),
       [](const Skew&) {
         const Bipolar q = transistor(k25_K);
         return q.reverse_transit_s / q.forward_transit_s;
       },
       4});
  rows.push_back(
      {"base-emitter-at",
       "Collector current at the typical base-emitter voltage, test current not given",
       {"registered figures of BC847: 660 mV at 2 mA", Basis::published},
       2.0,
       "mA",
       within(2e-3),
       [](const Skew&) { return 1e3 * bipolar_current(transistor(k25_K), 0.66, -4.34).ic_A; },
       4});
}

double zener_V(const Part& p, double vz_V, double i_A) {
  const ZenerModel m = zener_model(p, vz_V, k25_K);
  return m.breakdown_V + solved(-m.breakdown_V, 5.0, i_A,
                                [&](double v) { return junction_current(m.reverse, v).value; });
}
double zener_ohm(const Part& p, double vz_V, double i_A) {
  const double d_A = 1e-3 * i_A;
  return (zener_V(p, vz_V, i_A + d_A) - zener_V(p, vz_V, i_A - d_A)) / (2 * d_A);
}

void add_zeners(std::vector<Row>& rows) {
  rows.push_back({"zener-soft",
                  "Slope at 1 mA of a 4.3 V zener (9 Ω at 58 mA), knee not given",
                  {"400 Ω as registered for that type of the 1N47xxA family", Basis::published},
                  400.0,
                  "Ω",
                  within(0.01),
                  [](const Skew&) {
                    return zener_ohm(part("zener", {{"vz", 4.3}, {"iz_test", 58e-3}, {"zz", 9}}),
                                     4.3, 1e-3);
                  },
                  4});
  const auto sharp = [] { return part("zener", {{"vz", 6.05}, {"iz_test", 40e-3}, {"zz", 5}}); };
  rows.push_back({"zener-sharp",
                  "Slope at 0.1 mA of one just above 6 V (5 Ω at 40 mA), knee not given",
                  {"n V_T/I with the 20 mV of an avalanche (common practice), and what is left of "
                   "5 Ω",
                   Basis::remembered},
                  200 + 4.5,
                  "Ω",
                  within(5e-3),
                  [sharp](const Skew&) { return zener_ohm(sharp(), 6.05, 1e-4); },
                  4});
  // 4.5 ohm down to a hundredth of 40 mA, and 20 mV ln 100.
  rows.push_back({"zener-begins",
                  "Where its breakdown begins, below its voltage at the test current",
                  {"at a hundredth of the test current: from memory", Basis::remembered},
                  1e3 * (4.5 * 0.0396 + 0.02 * std::log(100.0)),
                  "mV",
                  by(0.1),
                  [sharp](const Skew&) { return 1e3 * (6.05 - knee_V(sharp(), 6.05)); }});
}

Part electrolytic() {
  return part("electrolytic", {{"capacitance", 470e-6}, {"tolerance", 0.2}, {"esr", 0.1}});
}

void add_capacitors(std::vector<Row>& rows) {
  rows.push_back({"esr-cold",
                  "Series resistance of an electrolytic at -20 °C over that at 25 °C",
                  {"e times every 45 K: 2.2 times at -10 °C, 4 times at -40 °C, from memory",
                   Basis::remembered},
                  2.718281828,
                  "",
                  within(5e-3),
                  [](const Skew&) {
                    return esr_ohm(electrolytic(), 470e-6, 253.15) /
                           esr_ohm(electrolytic(), 470e-6, k25_K);
                  },
                  4});
  rows.push_back({"worn-capacity",
                  "Least capacitance of 470 µF ±20 % at the end of its life",
                  {"0.8 of the least new one: common practice", Basis::remembered},
                  300.8,
                  "µF",
                  within(2e-3),
                  [](const Skew&) { return 1e6 * least_capacitance_F(electrolytic()); },
                  4});
  rows.push_back({"worn-esr",
                  "Its series resistance then, over that when new",
                  {"twice: common practice", Basis::remembered},
                  2.0,
                  "",
                  within(2e-3),
                  [](const Skew&) {
                    return esr_ohm(electrolytic(), 300.8e-6, k25_K) /
                           esr_ohm(electrolytic(), 470e-6, k25_K);
                  },
                  4});
  rows.push_back({"ceramic-left",
                  "Capacity a ceramic has left at its rated 25 V, its sheet silent",
                  {"0.3: 50 to 80 % is lost, from memory", Basis::remembered},
                  0.3,
                  "",
                  within(5e-3),
                  [](const Skew&) {
                    const Ceramic law = ceramic_law(part("ceramic", {{"voltage_max", 25}}), 10e-6);
                    return law(25).slope / law(0).slope;
                  },
                  4});
}

/// What opens in the supply's lead, at 23 °C.
Protection protection(const char* kind) {
  Brief b;
  b.supply.protection = kind, b.supply.trip_time_s = 5, b.ambient.min_K = 296.15;
  return Protection(b);
}

void add_protection(std::vector<Row>& rows) {
  struct Longest {
    const char* text;
    double times, s;
  };
  for (const Longest& l : {Longest{"2.1", 2.1, 120}, Longest{"2.75", 2.75, 10}, Longest{"4", 4, 3},
                           Longest{"10", 10, 0.3}})
    rows.push_back(
        {std::string("fuse-") + l.text,
         std::string("Longest time of a time-lag fuse at ") + l.text +
             " times its rating (0: may never open)",
         {"IEC 60127-2 sheet 3, from memory", Basis::remembered},
         l.s,
         "s",
         within(2e-3),
         [l](const Skew&) { return protection("fuse").opens_within_s(l.times).value_or(0); },
         4});
  rows.push_back({"resettable-trips",
                  "A resettable fuse is sure to open beyond, times what it holds", kPractice, 2.0,
                  "", within(2e-3),
                  [](const Skew&) { return protection("resettable").sure_to_open(); }, 4});
  rows.push_back(
      {"resettable-five",
       "One that opens within 5 s at five times its rating: at ten times",
       {"τ ln[1/(1 - 0.2²)], 5 s = τ ln[1/(1 - 0.4²)]", Basis::closed_form},
       1.170668,
       "s",
       within(2e-3),
       [](const Skew&) { return protection("resettable").opens_within_s(10).value_or(0); }});
  rows.push_back({"resettable-warm",
                  "Share of its rating that it carries at 60 °C",
                  {"√[(125 - 60)/(125 - 23)], temperatures from memory", Basis::remembered},
                  0.798282,
                  "",
                  within(2e-3),
                  [](const Skew&) { return protection("resettable").carries(333.15); }});
}

void add_heat_of_two(std::vector<Row>& rows) {
  rows.push_back({"pair-power",
                  "Rated power of a dual transistor, both halves alike, over that of one half",
                  {"2R/(R + M); a quarter more, from memory", Basis::remembered},
                  1.25,
                  "",
                  within(1e-3),
                  [](const Skew&) {
                    const double m = mutual_K_W(part("n-mosfet-pair", {{"rth_ja", 400}}));
                    return 800 / (400 + m);
                  },
                  4});
  rows.push_back(
      {"board-time",
       "Time constant of a bare board of 1.6 mm",
       {"ρ c t/(2 h): 1850 kg/m³, 1100 J/(kg K), 10 W/(m² K), from memory", Basis::remembered},
       162.8,
       "s",
       within(2e-3),
       [](const Skew&) { return kBoard_s; },
       4});
}

}  // namespace

Topic taken_for_granted() {
  Topic t{"Taken for granted",
          "What no sheet of a part says and the models assume once: over temperature, with age, "
          "under bias, where a figure is missing. Mostly remembered, and read back from the models "
          "by measuring them: such a row says that the product assumes what it claims to, not that "
          "parts do.",
          {}};
  add_channels(t.rows);
  add_junction_drifts(t.rows);
  add_junctions(t.rows);
  add_bipolars(t.rows);
  add_zeners(t.rows);
  add_capacitors(t.rows);
  add_protection(t.rows);
  add_heat_of_two(t.rows);
  return t;
}

}  // namespace pb::book
