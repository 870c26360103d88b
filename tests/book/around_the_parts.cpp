// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What physics/assembly.cpp puts around the parts of a design, and what physics/spread.cpp takes
// for typical, read back from a shipped design as it is assembled. Where models are kept from
// leaving what is physical, read from the models.
#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "physics/assembly.h"
#include "physics/drive_table.h"
#include "tests/book/one_part.h"
#include "tests/book/topics.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace physics;

const Source kPractice{"common practice, no source", Basis::remembered};
constexpr double k25_K = 298.15;
/// kT/q there: SI brochure, 9th ed. 2019. [V]
constexpr double kVt_V = 25.69258e-3;

/// A small design that has a part of that class, with some of its figures missing.
struct Having {
  Design d;
  Place place;
  Part& part() { return d.parts.at(place.role); }
};
Having having(const std::string& part_class, const std::vector<const char*>& missing = {}) {
  for (const Template& t : test::shipped())
    for (const Place& p : t.places) {
      if (find_role(t, p.role)->part_class != part_class) continue;
      Having h{test::small_design(t), p};
      if (!h.d.parts.contains(p.role)) continue;
      for (const char* name : missing)
        h.part().figures.at(
            static_cast<std::size_t>(figure_index(*find_part_class(part_class), name))) = kNotGiven;
      return h;
    }
  throw std::out_of_range("no wiring has a " + part_class);
}

Circuit assembled(const Design& d, const PowerUp& power = {}) {
  const auto spreads = spreads_of(d);
  const Plan plan = plan_hold(d, standing_table(d, flows_of(d.settings.sequence).front(), 0), 0.1);
  return assemble(d, spreads, typical(spreads), {}, plan, power);
}
Circuit first_assembled(const PowerUp& power = {}) {
  return assembled(test::small_design(test::shipped().front()), power);
}

/// The capacitors that report under a name, in the order in which they were put there. [pF]
double capacitor_pF(const Circuit& c, const std::string& ref, int index = 0) {
  for (const CapacitorElement& e : c.capacitors)
    if (e.ref == ref && index-- == 0) return 1e12 * e.capacitance_F;
  return std::nan("");
}
double capacitor_pF(Having h, int index = 0) {
  return capacitor_pF(assembled(h.d), h.place.ref, index);
}

/// How long the first pin takes from one level to the other. [ns]
double pin_edge_ns() {
  for (const PinElement& p : first_assembled().pins)
    for (std::size_t k = 1; k < p.level_V.value.size(); ++k)
      if (p.level_V.value[k] - p.level_V.value[k - 1] > 1)
        return 1e9 * (p.level_V.t_s[k] - p.level_V.t_s[k - 1]);
  return std::nan("");
}

void add_capacities(std::vector<Row>& rows) {
  rows.push_back({"stray-capacity", "Capacity of a node that nothing else loads", kPractice, 1.0,
                  "pF", within(1e-9),
                  [](const Skew&) { return capacitor_pF(first_assembled(), ""); }, 2});
  rows.push_back({"base-collector", "Capacity of a transistor's collector, its sheet silent",
                  kMemory, 4.0, "pF", within(1e-9),
                  [](const Skew&) { return capacitor_pF(having("npn", {"cob"})); }, 2});
  rows.push_back({"base-emitter-capacity", "Capacity of its emitter", kMemory, 10.0, "pF",
                  within(1e-9), [](const Skew&) { return capacitor_pF(having("npn"), 1); }, 2});
  rows.push_back({"diode-capacity", "Capacity of a diode whose sheet is silent", kMemory, 10.0,
                  "pF", within(1e-9),
                  [](const Skew&) { return capacitor_pF(having("diode", {"cj"})); }, 2});
  rows.push_back({"zener-capacity", "Capacity of a zener", kMemory, 50.0, "pF", within(1e-9),
                  [](const Skew&) { return capacitor_pF(having("zener")); }, 2});
  rows.push_back(
      {"least-capacity",
       "Capacity of a MOSFET's drain whose sheet has output and reverse transfer capacity alike",
       {"1 pF, lest it be none: no source", Basis::remembered},
       1.0,
       "pF",
       within(1e-9),
       [](const Skew&) {
         const Part p = part("n-mosfet", {{"rds_gate", 5.0},
                                          {"rds_max", 0.1},
                                          {"vds_max", 60},
                                          {"ciss", 600e-12},
                                          {"coss", 80e-12},
                                          {"crss", 80e-12}});
         const auto m = mosfet_model(p, 1, 2.0, 0.1, k25_K);
         return 1e12 * m.drain_source(15).slope;
       },
       2});
}

/// The diode from a pin to the logic's supply, backwards. [V]
double protection_V(double i_A) {
  const Circuit c = first_assembled();
  const std::string& pin = c.pins.front().ref;
  const auto e = std::find_if(c.diodes.begin(), c.diodes.end(),
                              [&](const DiodeElement& d) { return d.ref == pin; });
  return solved(0, 5, i_A, [&](double v) { return junction_current(e->forward, v).value; });
}

void add_pins(std::vector<Row>& rows) {
  rows.push_back({"pin-edge",
                  "A controller pin takes from one level to the other",
                  {"a medium-speed setting, from memory", Basis::remembered},
                  50.0,
                  "ns",
                  within(1e-6),
                  [](const Skew&) { return pin_edge_ns(); },
                  2});
  rows.push_back({"pin-leaks", "What one in high impedance leaks at 5 V", kMemory, 50.0, "nA",
                  within(1e-9),
                  [](const Skew&) {
                    PowerUp dead;
                    dead.logic = false, dead.in_reset = true;
                    return 5e9 * first_assembled(dead).pins.front().conductance_S.value.front();
                  },
                  2});
  rows.push_back({"pin-diode-low", "Drop of its protection diode at 0.1 mA", kMemory, 0.6, "V",
                  within(2e-4), [](const Skew&) { return protection_V(1e-4); }, 4});
  rows.push_back({"pin-diode-high", "Its drop at 10 mA", kMemory, 0.9, "V", within(2e-4),
                  [](const Skew&) { return protection_V(10e-3); }, 4});
  rows.push_back({"pin-diode-decade",
                  "That diode's drop over a decade of small currents",
                  {"n (kT/q) ln 10; n 1.1 from memory", Basis::remembered},
                  1e3 * 1.1 * kVt_V * std::log(10.0),
                  "mV",
                  within(5e-3),
                  [](const Skew&) { return 1e3 * (protection_V(1e-7) - protection_V(1e-8)); }});
  const auto chip = [] {
    return chip_model(part("bridge-chip", {{"supply_min", 4}, {"quiescent", 1e-3}}), 1, 1.5, k25_K);
  };
  rows.push_back({"lockout",
                  "Undervoltage lockout of a chip of at least 4 V, its sheet silent",
                  {"0.85 of the least supply: from memory", Basis::remembered},
                  3.4,
                  "V",
                  within(1e-9),
                  [chip](const Skew&) { return chip().bridge.undervoltage_V; },
                  2});
  rows.push_back({"pull-down", "Pull-down of its inputs", kMemory, 100.0, "kΩ", within(1e-9),
                  [chip](const Skew&) { return 1e-3 * chip().pull_down_ohm; }, 3});
}

void add_supply(std::vector<Row>& rows) {
  rows.push_back(
      {"supply-blocks",
       "What a supply that takes nothing back loses for that at 1 A",
       {"1 mV ln(1 A/1 µA): no source, less than any cable's", Basis::remembered},
       std::log(1e6),
       "mV",
       within(1e-4),
       [](const Skew&) {
         const Design d = test::small_design(test::shipped().front());
         const Circuit c = assembled(d);
         const auto e = std::find_if(c.diodes.begin(), c.diodes.end(),
                                     [](const DiodeElement& x) { return x.ref == "supply"; });
         const double v =
             solved(0, 100, 1.0, [&](double at) { return junction_current(e->forward, at).value; });
         return 1e3 * (v - d.brief.supply.resistance_ohm);
       }});
}

/// Typical over least, or greatest, of a spread's figure that no sheet gives.
double typical_over(const Having& h, const std::string& what, double Spread::* end) {
  for (const Spread& s : spreads_of(h.d))
    if (s.name == h.place.role + "." + what) return s.typ / (s.*end);
  return std::nan("");
}

void add_typical(std::vector<Row>& rows) {
  rows.push_back({"typical-on", "On-resistance taken for typical, over the greatest", kMemory, 0.75,
                  "", within(1e-9),
                  [](const Skew&) {
                    return typical_over(having("n-mosfet", {"rds_typ"}), "on_resistance",
                                        &Spread::max);
                  },
                  2});
  rows.push_back({"typical-on-chip", "A driver chip's", kMemory, 0.75, "", within(1e-9),
                  [](const Skew&) {
                    return typical_over(having("bridge-chip", {"on_resistance_typ"}),
                                        "on_resistance", &Spread::max);
                  },
                  2});
  rows.push_back(
      {"typical-gain", "Gain taken for typical, over the least", kMemory, 1.7, "", within(1e-9),
       [](const Skew&) { return typical_over(having("npn", {"hfe_typ"}), "gain", &Spread::min); },
       2});
  rows.push_back({"greatest-gain",
                  "The greatest gain over that",
                  {"3 over 1.7: from memory", Basis::remembered},
                  3.0 / 1.7,
                  "",
                  within(1e-9),
                  [](const Skew&) {
                    return 1 / typical_over(having("npn", {"hfe_typ", "hfe_max"}), "gain",
                                            &Spread::max);
                  },
                  4});
  rows.push_back({"typical-drop", "A diode's drop taken for typical, over the greatest", kMemory,
                  0.85, "", within(1e-9),
                  [](const Skew&) { return typical_over(having("diode"), "drop", &Spread::max); },
                  2});
}

/// How far the switches of a driver chip are on that locks out below 2 V, so far above that, its
/// first input so far above its threshold; the second is low. The high switch of the first output.
double chip_on(double above_lockout_V, double above_threshold_V) {
  const BridgeChip chip{2.0, 1.5, 2.0, 1e-3};
  return bridge_switches(chip, 2.0 + above_lockout_V, 1.5 + above_threshold_V, 0.0).on[0];
}

void add_chips(std::vector<Row>& rows) {
  // Steps s(y) = 1/2 + 3y/4 - y^3/4 from -0.1 to 0.1 V; s(1/2) = 27/32.
  const Source smooth{"1/2 + 3y/4 - y³/4, y over 0.1 V: smoothed for the solver, no source",
                      Basis::remembered};
  rows.push_back({"chip-lockout-step", "How far a chip is on 50 mV above its lockout", smooth,
                  27.0 / 32, "", within(1e-9), [](const Skew&) { return chip_on(0.05, 3); }});
  rows.push_back(
      {"chip-input-step",
       "How far its switch is on 50 mV above its input's threshold",
       {"that step of 4 (27/32) - 3: before it, the other is off; no source", Basis::remembered},
       0.5 + 0.75 * 0.375 - 0.25 * 0.052734375,
       "",
       within(1e-9),
       [](const Skew&) { return chip_on(10, 0.05); }});
  rows.push_back({"chip-quiescent",
                  "Share of its quiescent current that it takes at 1 V",
                  {"tanh 1; a knee of 1 V, no source", Basis::remembered},
                  0.7615942,
                  "",
                  within(1e-6),
                  [](const Skew&) {
                    const double v[kBridgeTerminals] = {1, 0, 0, 0, 0, 0, 0};
                    return 1e3 * bridge_current({2.0, 1.5, 2.0, 1e-3}, v).i_A[kChipSupply];
                  }});
}

/// Forwards, of a 5.1 V type. [V]
double zener_forward_V(double i_A) {
  const Part p = part("zener", {{"vz", 5.1}, {"iz_test", 49e-3}, {"zz", 7}});
  const Junction j = zener_model(p, 5.1, k25_K).forward;
  return solved(0, 5, i_A, [&](double v) { return junction_current(j, v).value; });
}

void add_forward(std::vector<Row>& rows) {
  rows.push_back({"zener-forward-low", "Forward drop of a zener at 1 mA", kMemory, 0.65, "V",
                  within(2e-4), [](const Skew&) { return zener_forward_V(1e-3); }, 4});
  rows.push_back({"zener-forward-high", "Forward drop of a zener at 0.1 A", kMemory, 0.85, "V",
                  within(2e-4), [](const Skew&) { return zener_forward_V(0.1); }, 4});
  rows.push_back(
      {"zener-forward-decade",
       "That drop over a decade of small currents",
       {"n (kT/q) ln 10; n 1.1 from memory", Basis::remembered},
       1e3 * 1.1 * kVt_V * std::log(10.0),
       "mV",
       within(5e-3),
       [](const Skew&) { return 1e3 * (zener_forward_V(1e-6) - zener_forward_V(1e-7)); }});
}

/// A transistor of gains 5 and 5 and 100 MHz that stores for 200 ns: its reverse transit time as if
/// the forward gain were 20, by the storage time of charge control solved for it. [ns]
double least_gain_transit_ns() {
  const double forward_ns = 10 / (2 * 3.14159265358979), saturation_ns = 200 / std::log(4.0 / 3.0);
  return (saturation_ns * (1 + 20 + 5) - 20 * 6 * forward_ns) / (5 * 21);
}

void add_bounds(std::vector<Row>& rows) {
  const Source bound{"a bound of the model: no source", Basis::remembered};
  rows.push_back({"drop-least",
                  "Least voltage at which a zener's breakdown begins (1 V, 140 Ω at 10 mA, soft)",
                  bound, 20.0, "mV", within(1e-9),
                  [](const Skew&) {
                    const Part p = part("zener", {{"vz", 1}, {"iz_test", 10e-3}, {"zz", 140}});
                    return 1e3 * zener_model(p, 1, k25_K).breakdown_V;
                  },
                  3});
  rows.push_back(
      {"leakage-hottest",
       "Leakage of a Schottky diode's leakiest unit at 700 K over that at 450 K",
       {"2^5: doubled every 10 K up to 500 K; a bound of the model, no source", Basis::remembered},
       32.0,
       "",
       within(0.01),
       [](const Skew&) { return schottky_leaks_A(0.7, 700) / schottky_leaks_A(0.7, 450); },
       4});
  rows.push_back({"bipolar-hottest", "Temperature at which a transistor of 700 K is modelled",
                  bound, 500.0, "K", within(1e-5),
                  [](const Skew&) {
                    const Part p = part("npn", {{"vbe_typ", 0.66},
                                                {"hfe_min", 200},
                                                {"beta_sat", 20},
                                                {"ic_sat", 10e-3},
                                                {"vce_sat_max", 0.25}});
                    return k25_K * bipolar_model(p, 1, 290, 700).transistor.Vt_V / kVt_V;
                  },
                  5});
  rows.push_back({"storage-least-gain",
                  "Reverse transit time of a transistor of gains 5 and 5 that stores for 200 ns",
                  {"charge control (Moll, Proc. IRE 42, 1954, 1773-1784) at a gain of 20, below "
                   "which no tenth saturates: no source",
                   Basis::remembered},
                  least_gain_transit_ns(),
                  "ns",
                  within(1e-6),
                  [](const Skew&) {
                    const Part p = part("npn", {{"vbe_typ", 0.66},
                                                {"hfe_min", 5},
                                                {"beta_sat", 2},
                                                {"ic_sat", 10e-3},
                                                {"vce_sat_max", 0.25},
                                                {"ft", 100e6},
                                                {"storage_time", 200e-9}});
                    return 1e9 * bipolar_model(p, 1, 5, k25_K).transistor.reverse_transit_s;
                  }});
  rows.push_back(
      {"zener-least-series",
       "Slope at 1 A of a zener so soft that its junction would be all of it (3.3 V, "
       "100 Ω at 1 mA)",
       {"a hundredth of Z_ZT is resistance: a bound of the model, no source", Basis::remembered},
       1.0 + 0.099,
       "Ω",
       within(1e-3),
       [](const Skew&) {
         const Part p = part("zener", {{"vz", 3.3}, {"iz_test", 1e-3}, {"zz", 100}});
         const Junction j = zener_model(p, 3.3, k25_K).reverse;
         const auto at = [&](double i_A) {
           return solved(-5, 20, i_A, [&](double v) { return junction_current(j, v).value; });
         };
         return (at(1.001) - at(0.999)) / 0.002;
       },
       4});
  rows.push_back({"zener-falls",
                  "Share of its voltage that a zener of -0.2 %/K keeps at 700 K",
                  {"a half: no type's falls below; from memory", Basis::remembered},
                  0.5,
                  "",
                  within(1e-3),
                  [](const Skew&) {
                    const Part p = part(
                        "zener", {{"vz", 5.1}, {"iz_test", 49e-3}, {"zz", 7}, {"tempco", -2e-3}});
                    const ZenerModel m = zener_model(p, 5.1, 700);
                    return (m.breakdown_V + solved(-m.breakdown_V, 5, 49e-3,
                                                   [&](double v) {
                                                     return junction_current(m.reverse, v).value;
                                                   })) /
                           5.1;
                  },
                  3});
}

void add_motion(std::vector<Row>& rows) {
  rows.push_back({"held-before-release", "Least time a motor is held before it is let go", kMemory,
                  0.1, "s", within(1e-9),
                  [](const Skew&) {
                    return hold_before_release(
                        test::small_design(test::shipped().front()).brief.motion);
                  },
                  2});
  rows.push_back({"held-three-steps",
                  "The same of one that makes 10 steps a second",
                  {"three steps: no source", Basis::remembered},
                  0.3,
                  "s",
                  within(1e-9),
                  [](const Skew&) {
                    MotionBrief m = test::small_design(test::shipped().front()).brief.motion;
                    m.rate_steps_s = 10;
                    return hold_before_release(m);
                  },
                  2});
  rows.push_back({"brake-time", "Time for which a motor that is stopped is shorted", kPractice, 0.1,
                  "s", within(1e-9), [](const Skew&) { return kBrake_s; }, 2});
  rows.push_back({"restitution-usual", "Restitution of a stop of which the brief does not say",
                  kMemory, 0.5, "", within(1e-9),
                  [](const Skew&) { return contact_restitution(kNotGiven); }, 2});
  rows.push_back(
      {"stop-stiffness",
       "Part of a step by which the holding torque presses such a stop",
       {"T_h = 100 k/N of a step of π/(2N); 100 is no one's figure: no source", Basis::remembered},
       0.02 / 3.14159265358979,
       "step",
       within(1e-6),
       [](const Skew&) {
         const Brief b = test::small_design(test::shipped().front()).brief;
         const double holds_Nm = 0.05 * std::sqrt(2.0) * 0.1;  // K and the current of both windings
         return holds_Nm / contact_stiffness(b, kNotGiven) * 48 / (2 * 3.14159265358979);
       }});
  rows.push_back({"friction-smoothed",
                  "Friction torque at 0.05 rad/s over that at speed",
                  {"tanh 1; Coulomb's law smoothed over 0.05 rad/s, no source", Basis::remembered},
                  0.7615942,
                  "",
                  within(1e-6),
                  [](const Skew&) {
                    Rotor r;
                    r.friction_Nm = 1;
                    return motor_torque(r, 0, 0, 0.05, 0).friction_Nm /
                           motor_torque(r, 0, 0, 50, 0).friction_Nm;
                  }});
}

}  // namespace

Topic around_the_parts() {
  Topic t{"Around the parts",
          "What the circuit has beyond the parts and their sheets, what is taken for typical, and "
          "where the models stop short of what is not physical. Assumptions, and said to be: such "
          "a row says that the product assumes this and nothing else.",
          {}};
  add_capacities(t.rows);
  add_pins(t.rows);
  add_supply(t.rows);
  add_typical(t.rows);
  add_chips(t.rows);
  add_forward(t.rows);
  add_bounds(t.rows);
  add_motion(t.rows);
  return t;
}

}  // namespace pb::book
