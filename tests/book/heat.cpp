// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/heat.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "physics/board_heat.h"
#include "physics/run.h"
#include "tests/book/topics.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace physics;

const Source kCopper{"IEC 60028:1925, NBS Handbook 100: 0.00393/K at 20 °C", Basis::published_law};
const Source kPulse{
    "thermal impedance of a SOT-23 on little copper, of 350 K/W: common practice, from memory",
    Basis::remembered};

/// A coefficient 2 % too great is a temperature 2 % further from 25 °C, where the product's copper
/// starts.
double copper(const Skew& k, double T_degC) {
  return copper_ratio(298.15 + (T_degC - 25) * k.copper_coefficient);
}

void add_copper(std::vector<Row>& rows) {
  struct Point {
    const char* text;
    double T_degC, ratio;
  };
  // Sheet resistance of 35 um and a trace of 50 by 1 mm, as tabulated at these temperatures.
  for (const Point& p : {Point{"70", 70, 0.589409 / 0.492611}, Point{"85", 85, 30.9224 / 24.6305},
                         Point{"100", 100, 0.647488 / 0.492611}})
    rows.push_back({std::string("copper-") + p.text,
                    std::string("Copper at ") + p.text + " °C over that at 20 °C", kCopper, p.ratio,
                    "", within(5e-6),
                    [p](const Skew& k) { return copper(k, p.T_degC) / copper(k, 20); }});
  rows.push_back({"copper-zero", "Temperature at which copper's straight line meets zero", kCopper,
                  -234.453, "°C", within(1e-5), [](const Skew& k) {
                    const double slope = copper(k, 26) - copper(k, 25);
                    return 25 - 1 / slope;
                  }});
}

/// The first part of a small design that has a thermal resistance.
struct Warm {
  Design d = test::small_design(test::shipped().front());
  Place place;
  Part* part = nullptr;
  Warm() {
    for (const Place& p : d.wiring.places) {
      const auto found = d.parts.find(p.role);
      if (part || found == d.parts.end()) continue;
      const int k = figure_index(*find_part_class(found->second.part_class), "rth_ja");
      if (k < 0) continue;
      place = p, part = &found->second;
      rth = &part->figures.at(static_cast<std::size_t>(k));
    }
  }
  double* rth = nullptr;
};

void add_steady(std::vector<Row>& rows) {
  rows.push_back({"junction-steady",
                  "Junction of 0.3 W on 350 K/W at 50 °C",
                  {"T_a + P R_th", Basis::closed_form},
                  155.0,
                  "°C",
                  within(1e-9),
                  [](const Skew& k) {
                    Warm w;
                    *w.rth = 350 * k.thermal_resistance;
                    w.d.brief.build.board_area_m2 = 76.2e-3 * 114.3e-3;
                    RunFigures f;
                    f.parts[w.place.ref].loss_W = 0.3;
                    return heated(w.d, 323.15, f).junction_K.at(w.place.ref) - 273.15;
                  }});
  // The same part alone, 0.5 W elsewhere, on a board of 10 cm2 with 10 W/(m2 K) from both faces:
  // 50 K/W, of which the coupon of the data sheet had 5.741.
  rows.push_back({"junction-beside-others",
                  "That junction on a board of 10 cm² that others heat with 0.5 W",
                  {"T_a + ΣP/(2 h A) + (R_th - 1/(2 h A_c)) P", Basis::closed_form},
                  50 + 0.8 * 50 + 0.3 * (350 - 5.7407),
                  "°C",
                  within(1e-6),
                  [](const Skew& k) {
                    Warm w;
                    *w.rth = 350;
                    w.d.brief.build.board_area_m2 = 1e-3 / k.thermal_resistance;
                    RunFigures f;
                    f.parts[w.place.ref].loss_W = 0.3;
                    for (const Place& p : w.d.wiring.places)
                      if (p.ref != w.place.ref) {
                        f.parts[p.ref].loss_W = 0.5;
                        break;
                      }
                    return heated(w.d, 323.15, f).junction_K.at(w.place.ref) - 273.15;
                  }});
  rows.push_back(
      {"board-least",
       "Resistance from a junction to its board, of a part of 5 K/W in all",
       {"a tenth at the least, no sheet's being all the board's: no source", Basis::remembered},
       0.5,
       "K/W",
       within(1e-9),
       [](const Skew&) { return without_board_K_W(5); },
       2});
}

/// A motor whose windings are taken off the bridge and put on a source of their own: constant
/// current, or constant voltage. Heat and resistance are iterated as in any proof.
struct Winding {
  bool current;
  double level, R25_ohm, Rth_K_W, ambient_degC;
};
/// Run, not merely settled, where a winding's temperature to begin with is given.
HeatedRun settled(const Skew& k, const Winding& w, std::optional<double> from_K = {}) {
  Design d = test::small_design(test::shipped().front());
  d.brief.motor.winding_resistance_ohm = w.R25_ohm * k.winding_resistance;
  d.brief.motor.thermal_resistance_K_W = w.Rth_K_W * k.thermal_resistance;
  auto spreads = spreads_of(d);
  Point point = typical(spreads);
  for (std::size_t n = 0; n < spreads.size(); ++n)
    if (spreads[n].name == "ambient") point.value[n] = w.ambient_degC + 273.15;
  RunRequest r;
  r.plan = plan_hold(d, standing_table(d, flows_of(d.settings.sequence).front(), 0), 0.1);
  r.settled_K = 1e-6;
  r.alter = [&](Circuit& c) {
    // Makes a current source of a high voltage; of one that a run can follow, if it runs.
    const double stiff_S = from_K ? 1e-4 : 1e-7;
    for (WindingElement& e : c.windings) {
      const int source = c.add_node("book source " + std::to_string(c.nodes.size()));
      c.nodes[static_cast<std::size_t>(source)].driven = true;
      c.nodes[static_cast<std::size_t>(source)].voltage_V = {
          {0.0}, {w.current ? w.level / stiff_S : w.level}};
      e.a = source, e.b = 0;
      if (!w.current) continue;
      e.a = c.add_node("book feed " + std::to_string(c.nodes.size()));
      c.resistors.push_back({"book", source, e.a, stiff_S});
      c.capacitors.push_back({"book", e.a, 0, 1e-9});
    }
  };
  if (!from_K) return stand_heated(d, spreads, point, r);
  r.settled_K = 0.01;
  Temperatures from;
  from.winding_K = *from_K;
  return run_heated(d, spreads, point, r, {}, &from);
}

/// Copper's coefficient about 25 °C, from that at 20 °C.
constexpr double kA25 = 0.00393 / (1 + 0.00393 * 5);

void add_runaway(std::vector<Row>& rows) {
  // Two windings of 2 ohm on 5 K/W at 40 °C; half the current of runaway, and a little more than
  // all of it.
  const double runaway_A = 1 / std::sqrt(5.0 * 2 * 2.0 * kA25), i = 0.5 * runaway_A,
               watts = 2 * i * i * 2.0,
               hot = (40 + 5 * watts * (1 - 25 * kA25)) / (1 - 5 * watts * kA25);
  const Source closed{"[T_a + R_th I²R25 (1 - 25a)]/(1 - R_th I²R25 a), derived",
                      Basis::closed_form};
  const Winding half{true, i, 2, 5, 40};
  rows.push_back({"self-heating", "Windings at half the current of runaway, heat iterated", closed,
                  hot, "°C", within(1e-4), [half](const Skew& k) {
                    return settled(k, half).figures.temperatures.winding_K - 273.15;
                  }});
  rows.push_back({"self-heating-loss",
                  "Loss of those windings",
                  {"2 I² R(T)", Basis::closed_form},
                  watts * (1 + kA25 * (hot - 25)),
                  "W",
                  within(1e-4),
                  [half](const Skew& k) { return settled(k, half).figures.winding_loss_W; }});
  // From there the next round is beyond what any part stands: taken for a runaway, were it not
  // begun again from cold.
  rows.push_back({"self-heating-from-hot", "Those windings, begun at 3000 K", closed, hot, "°C",
                  within(2e-3), [half](const Skew& k) {
                    const HeatedRun r = settled(k, half, 3000.0);
                    return r.runaway ? 1e9 : r.figures.temperatures.winding_K - 273.15;
                  }});
  const Winding over{true, 1.05 * runaway_A, 2, 5, 40};
  rows.push_back({"runaway",
                  "1.05 times the current of runaway is called one (1: yes)",
                  {"I = 1/√(R_th R25 a), derived", Basis::closed_form},
                  1,
                  "",
                  by(0),
                  [over](const Skew& k) { return settled(k, over).runaway ? 1.0 : 0.0; },
                  1});
  // Constant voltage: x (1 + a x') with x = T - T_a is a quadratic.
  const double cold = 1 + kA25 * 15, pull = 5 * 2 * 9 / 2.0,
               rise = (-cold + std::sqrt(cold * cold + 4 * kA25 * pull)) / (2 * kA25);
  rows.push_back({"hold-voltage",
                  "Windings of a motor held for ever on 3 V (2 Ω each, 5 K/W, 40 °C)",
                  {"x (1 + a (T_a - 25) + a x) = R_th 2V²/R25, derived", Basis::closed_form},
                  40 + rise,
                  "°C",
                  within(1e-4),
                  [](const Skew& k) {
                    return settled(k, {false, 3, 2, 5, 40}).figures.temperatures.winding_K - 273.15;
                  }});
}

/// Rise of a junction under pulses of 1 W on 1 K/W, once it repeats itself: at the end of a pulse.
double pulsed(const Skew& k, double period_s, double duty) {
  ThermalRipple chain;
  std::array<double, kPackage.size()> on{}, off{};
  for (std::size_t i = 0; i < kPackage.size(); ++i) {
    on[i] = std::exp(-duty * period_s / kPackage[i].time_s);
    off[i] = std::exp(-(1 - duty) * period_s / kPackage[i].time_s);
  }
  double crest = 0;
  for (double t = 0; t < 1500; t += period_s) {
    chain.step(1, on);
    crest = chain.now_W;
    chain.step(0, off);
  }
  return crest * k.thermal_resistance;
}
constexpr double kTenK_ln2_K = 10 / 0.69314718055994531;

/// One diode of a driver, taken off it and put in reverse on a source of its rated voltage, on 100
/// K/W at 40 °C. Its loss at that temperature: `share` of the greatest that settles.
struct Leaking {
  bool runaway;
  double T_degC;
};
Leaking leaking(const Skew& k, double share) {
  for (const Template& t : test::shipped()) {
    const auto place = std::find_if(t.places.begin(), t.places.end(), [&](const Place& p) {
      return find_role(t, p.role)->part_class == "diode";
    });
    if (place == t.places.end()) continue;
    Design d = test::small_design(t);
    d.brief.build.board_area_m2 = 1e6;  // which others do not warm; its data sheet's had 5.741 K/W
    Part& part = d.parts.at(place->role);
    const auto set = [&](const char* name, double to) {
      part.figures.at(static_cast<std::size_t>(figure_index(*find_part_class("diode"), name))) = to;
    };
    const double loss_W = share * kTenK_ln2_K / std::exp(1.0) / 100;  // at 40 °C
    set("vr_max", 12), set("ir_max", loss_W / 12 / std::exp2(1.5));
    set("rth_ja", 5.7407 + 100 * k.thermal_resistance);
    const auto spreads = spreads_of(d);
    Point point = typical(spreads);
    for (std::size_t n = 0; n < spreads.size(); ++n) {
      if (spreads[n].name == "ambient") point.value[n] = 313.15;
      if (spreads[n].name == place->role + ".drop") point.value[n] = spreads[n].min;
    }
    RunRequest r;
    r.plan = plan_hold(d, standing_table(d, flows_of(d.settings.sequence).front(), 0), 0.1);
    r.settled_K = 1e-3;
    r.alter = [ref = place->ref](Circuit& c) {
      const int source = c.add_node("book source");
      c.nodes[static_cast<std::size_t>(source)].driven = true;
      c.nodes[static_cast<std::size_t>(source)].voltage_V = {{0.0}, {12.0}};
      for (DiodeElement& e : c.diodes)
        if (e.ref == ref) e.anode = 0, e.cathode = source;
      for (ResistorElement& e : c.resistors)
        if (e.ref == ref) e.a = 0, e.b = source;
    };
    const HeatedRun out = stand_heated(d, spreads, point, r);
    return {out.runaway, out.figures.temperatures.junction_K.at(place->ref) - 273.15};
  }
  return {};
}

/// x = T - T_a where P_a R_th 2^(x/10 K) = x meets itself first.
double leaking_rise_K(double share) {
  double low = 0, high = 1;
  for (int n = 0; n < 100; ++n) {
    const double y = 0.5 * (low + high);
    (y * std::exp(1 - y) < share ? low : high) = y;
  }
  return kTenK_ln2_K * low;
}

void add_leaking_diode(std::vector<Row>& rows) {
  const Source met{"x = P R_th 2^(x/10 K), the lower root; derived, doubled every 10 K from memory",
                   Basis::closed_form};
  rows.push_back(
      {"leakage-settled",
       "Diode that leaks at its rated voltage, 0.6 of the loss of runaway, heat iterated", met,
       40 + leaking_rise_K(0.6), "°C", within(2e-4), [](const Skew& k) {
         const Leaking r = leaking(k, 0.6);
         return r.runaway ? 1e9 : r.T_degC;
       }});
  const Source edge{"R_th dP/dT = 1 at x = 10 K/ln 2, derived", Basis::closed_form};
  rows.push_back({"leakage-holds", "0.8 of that loss is not called a runaway (0: no)", edge, 0, "",
                  by(0), [](const Skew& k) { return leaking(k, 0.8).runaway ? 1.0 : 0.0; }, 1});
  rows.push_back({"leakage-runaway", "1.05 times that loss is called one (1: yes)", edge, 1, "",
                  by(0), [](const Skew& k) { return leaking(k, 1.05).runaway ? 1.0 : 0.0; }, 1});
}

double worst_decade() {
  StageDecay chain;
  double worst = -1, at_s = 1e-5;
  for (int i = 0; i < 7; ++i, at_s *= 10) {
    const double left = std::log(chain.over(at_s)[static_cast<std::size_t>(i)]);
    if (std::abs(left + 1) > std::abs(worst + 1)) worst = left;
  }
  return worst;
}

void add_pulses(std::vector<Row>& rows) {
  struct Point {
    const char* text;
    double t_s, K_W;
  };
  for (const Point& p : {Point{"1 ms", 1e-3, 10}, Point{"10 ms", 1e-2, 25},
                         Point{"100 ms", 0.1, 65}, Point{"1 s", 1, 130}})
    rows.push_back({std::string("pulse-") + std::to_string(static_cast<int>(1e3 * p.t_s)),
                    std::string("Thermal impedance of a small package after ") + p.text, kPulse,
                    p.K_W, "K/W", within(0.2),
                    [p](const Skew& k) { return 350 * k.thermal_resistance * pulse_share(p.t_s); },
                    3});
  rows.push_back({"pulse-root",
                  "Factor by which that impedance rises from 0.1 to 0.4 ms",
                  {"heat into a half space goes with √t: Carslaw, Jaeger, Conduction of Heat in "
                   "Solids, 1959, 2.9 (from memory)",
                   Basis::closed_form},
                  2.0,
                  "",
                  within(0.2),
                  [](const Skew&) { return pulse_share(4e-4) / pulse_share(1e-4); },
                  3});
  rows.push_back({"pulse-for-ever",
                  "That impedance after an hour, over the steady one",
                  {"Z(∞) = R_th", Basis::closed_form},
                  1.0,
                  "",
                  by(1e-6),
                  [](const Skew&) { return pulse_share(3600); }});
  rows.push_back({"pulse-last",
                  "Factor by which what it lacks falls from 300 to 360 s",
                  {"e: the board's minute, from memory, is all that is left", Basis::remembered},
                  std::exp(1.0),
                  "",
                  within(1e-3),
                  [](const Skew&) { return (1 - pulse_share(300)) / (1 - pulse_share(360)); }});
  rows.push_back({"pulse-decades",
                  "Stages of its chain from 10 µs to 10 s, a decade apart: logarithm of what the "
                  "worst has left after its time",
                  {"e^(-t/τ) at t = τ; decades, from memory", Basis::remembered},
                  -1.0,
                  "",
                  by(1e-6),
                  [](const Skew&) { return worst_decade(); }});
  const Source superposed{
      "Σ a_i (1 - e^(-DT/τ_i))/(1 - e^(-T/τ_i)), superposition (Stout, 2007): the fitted chain, "
      "evaluated in another language",
      Basis::closed_form};
  struct Pulses {
    int every_ms;
    double crest;
  };
  for (const Pulses& p : {Pulses{10, 0.52344221430581}, Pulses{1000, 0.6182487485775994}})
    rows.push_back({"pulses-" + std::to_string(p.every_ms),
                    "Crest under pulses, half on, every " + std::to_string(p.every_ms) +
                        " ms, over the rise for ever",
                    superposed, p.crest, "", within(1e-6),
                    [p](const Skew& k) { return pulsed(k, 1e-3 * p.every_ms, 0.5); }});
}

}  // namespace

Topic heat() {
  Topic t{"Heat",
          "Copper, junctions and windings. The impedance of a package is a fit to remembered "
          "values: its tolerance is 20 %, and no numerics make it better.",
          {}};
  add_copper(t.rows);
  add_steady(t.rows);
  add_runaway(t.rows);
  add_leaking_diode(t.rows);
  add_pulses(t.rows);
  return t;
}

}  // namespace pb::book
