// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/checks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "judgement/cost.h"
#include "physics/copper.h"

namespace pb {
namespace {

using namespace physics;
using Rows = std::vector<Measured>;

// Derating, "commercial" set: common practice, no source (from memory).
struct Derating {
  double junction_K, voltage, gate, resistor, capacitor;
};
Derating derating(const Case& c) {
  if (c.design.brief.rules.derating == "none") return {0, 1, 1, 1, 1};
  return {25, 0.9, 0.9, 0.6, 0.8};
}

/// Every place whose part is of one of the classes.
template <class F>
void for_parts(const Case& c, std::initializer_list<std::string_view> classes, F f) {
  for (const Place& p : c.design.wiring.places) {
    const auto part = c.design.parts.find(p.role);
    if (part == c.design.parts.end()) continue;
    if (std::find(classes.begin(), classes.end(), part->second.part_class) != classes.end())
      f(p, part->second);
  }
}

const PartFigures& of(const RunFigures& f, const std::string& ref) {
  static const PartFigures kNone;
  const auto p = f.parts.find(ref);
  return p == f.parts.end() ? kNone : p->second;
}

double temperature(const RunFigures& f, const std::string& ref) {
  const auto t = f.temperatures.junction_K.find(ref);
  return t == f.temperatures.junction_K.end() ? 0.0 : t->second;
}

double current_by_hand(const Case& c, const Point& p) {
  return value_of(c.spreads, p, "supply.voltage") /
         value_of(c.spreads, p, "motor.winding_resistance");
}

Rows gate_drive_on(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  const bool modelled = c.design.brief.rules.accept == "modelled";
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const auto s = e.move.figures.switches.find(p.ref);
    if (s == e.move.figures.switches.end() || s->second.on_states == 0) return;
    const double needed = modelled ? figure(part, "threshold_max") + 0.5 : figure(part, "rds_gate");
    out.push_back({p.ref, s->second.on_control_V, needed,
                   modelled ? Grade::modelled : Grade::guaranteed, "", 0});
  });
  return out;
}

Rows base_drive_on(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part&) {
    const auto s = e.move.figures.switches.find(p.ref);
    if (s == e.move.figures.switches.end() || s->second.on_states == 0) return;
    constexpr double kMost_V =
        1.2;  // a follower's V_BE plus what its pin sags; a saturated one is far below
    out.push_back({p.ref, s->second.on_drop_V, kMost_V, Grade::modelled, "V_BE + pin drop", 0.9});
  });
  return out;
}

Rows gate_off(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const auto s = e.move.figures.switches.find(p.ref);
    if (s == e.move.figures.switches.end() || s->second.off_states == 0) return;
    const double hot = std::max(temperature(e.move.figures, p.ref) - Temperatures::kDefault_K, 0.0);
    out.push_back({p.ref, s->second.off_control_V, figure(part, "threshold_min") - 3e-3 * hot,
                   Grade::guaranteed, "", 0});
  });
  return out;
}

double weakest_pulse_A(const Case& c, const Leg& leg) {
  double least = 1e300;
  for (const auto* side : {&leg.high, &leg.low})
    for (const std::string& ref : *side)
      if (const Place* p = find_place(c.design.wiring, ref)) {
        const Part& part = c.design.parts.at(p->role);
        const bool mos = part.part_class == "n-mosfet" || part.part_class == "p-mosfet";
        const double rating = figure(part, mos ? "drain_pulsed" : "ic_max");
        if (given(rating)) least = std::min(least, rating);
      }
  return least;
}

Rows shoot_through_edge(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for (const Leg& l : c.design.wiring.legs) {
    const double limit = weakest_pulse_A(c, l);
    const auto x = e.move.figures.leg_cross_A.find(l.output);
    if (limit < 1e299 && x != e.move.figures.leg_cross_A.end())
      out.push_back({l.output, x->second.value, limit, Grade::modelled, "", 0});
  }
  return out;
}

// A leg that conducts through while nothing moves heats for ever; 10 mA is a hundredth of what any
// of these switches carries, and far above any leakage.
constexpr double kStandingCross_A = 10e-3;

Rows standing_cross(const Case& c, const RunFigures& f) {
  Rows out;
  for (const Leg& l : c.design.wiring.legs) {
    const auto x = f.leg_settled_cross_A.find(l.output);
    if (x != f.leg_settled_cross_A.end())
      out.push_back({l.output, x->second, kStandingCross_A, Grade::assumed, "", 0});
  }
  return out;
}

Rows shoot_through_reset(const Case& c, const Point&, const Evidence& e) {
  return e.has_windows ? standing_cross(c, e.reset) : Rows{};
}

Rows partial_supply(const Case& c, const Point&, const Evidence& e) {
  if (!e.has_windows) return {};
  Rows out = standing_cross(c, e.rail_only);
  constexpr double kInjection_A = 5e-3;  // into an unpowered controller through its protection
                                         // diode; common practice, no source
  for (const Pin& p : c.design.wiring.pins)
    out.push_back({"into " + p.name, of(e.rail_only, p.name).current_A.value, kInjection_A,
                   Grade::assumed, "", 0});
  for (const Pin& p : c.design.wiring.pins) {
    const auto i = e.logic_only.pin_current_A.find(p.name);
    if (i != e.logic_only.pin_current_A.end())
      out.push_back({"from " + p.name, i->second.value,
                     c.design.brief.controller.pin_source_current_A, Grade::guaranteed, "", 0});
  }
  return out;
}

Rows pin_current(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  const ControllerBrief& k = c.design.brief.controller;
  for (const auto& [pin, peak] : e.move.figures.pin_current_A)
    out.push_back({pin, peak.value, std::min(k.pin_source_current_A, k.pin_sink_current_A),
                   Grade::guaranteed, "", 0});
  return out;
}

Rows pin_current_total(const Case& c, const Point&, const Evidence& e) {
  return {{"controller", e.move.figures.pin_total_A, c.design.brief.controller.total_current_A,
           Grade::guaranteed, "", 0}};
}

Rows switch_voltage(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  const Derating d = derating(c);
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " drain", of(e.move.figures, p.ref).voltage_V.value,
                   d.voltage * figure(part, "vds_max"), Grade::guaranteed, "", 0});
    out.push_back({p.ref + " gate", of(e.move.figures, p.ref).control_V.value,
                   d.gate * figure(part, "vgs_max"), Grade::guaranteed, "", 0});
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " collector", of(e.move.figures, p.ref).voltage_V.value,
                   d.voltage * figure(part, "vce_max"), Grade::guaranteed, "", 0});
  });
  return out;
}

Rows switch_peak(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const double limit = figure(part, "drain_pulsed");
    if (given(limit))
      out.push_back(
          {p.ref, of(e.move.figures, p.ref).current_A.value, limit, Grade::guaranteed, "", 0});
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref, of(e.move.figures, p.ref).current_A.value, figure(part, "ic_max"),
                   Grade::guaranteed, "", 0});
  });
  return out;
}

// Stands for "no temperature is consistent": above anything a part survives.
constexpr double kRunaway_K = 2000.0;

Rows junctions(const Case& c, const HeatedRun& r, const Point& point,
               std::initializer_list<std::string_view> classes) {
  Rows out;
  const Derating d = derating(c);
  for_parts(c, classes, [&](const Place& p, const Part& part) {
    const double rth = figure(part, "rth_ja"), loss = of(r.figures, p.ref).loss_W;
    const double T_K = r.runaway ? kRunaway_K : temperature(r.figures, p.ref);
    out.push_back({p.ref, kelvin_to_celsius(T_K),
                   kelvin_to_celsius(figure(part, "tj_max") - d.junction_K), Grade::modelled,
                   "T_a + R_th P",
                   kelvin_to_celsius(value_of(c.spreads, point, "ambient") + rth * loss)});
  });
  return out;
}

Rows switch_junction(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.move, p, {"n-mosfet", "p-mosfet", "npn", "pnp"});
}
Rows diode_junction(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.move, p, {"diode"});
}
Rows permanent_hold(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.hold, p, {"n-mosfet", "p-mosfet", "npn", "pnp", "diode", "zener"});
}

Rows diode_reverse(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref, of(e.move.figures, p.ref).voltage_V.value,
                   derating(c).voltage * figure(part, "vr_max"), Grade::guaranteed, "", 0});
  });
  return out;
}

Rows diode_current(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    out.push_back(
        {p.ref, of(e.move.figures, p.ref).rms_A, figure(part, "if_max"), Grade::guaranteed, "", 0});
  });
  return out;
}

bool across_rail(const Place& p) {
  const auto has = [&](const char* n) {
    return std::find(p.nodes.begin(), p.nodes.end(), n) != p.nodes.end();
  };
  return has(kRail) && has(kGround);
}

Rows clamp_standoff(const Case& c, const Point& point, const Evidence&) {
  Rows out;
  for_parts(c, {"zener"}, [&](const Place& p, const Part& part) {
    if (!across_rail(p)) return;
    const double vz = value_of(c.spreads, point, p.role + ".breakdown");
    const double knee = vz - figure(part, "zz") * figure(part, "iz_test");
    out.push_back({p.ref, knee, value_of(c.spreads, point, "supply.voltage"), Grade::guaranteed,
                   "V_Z - Z_Z I_ZT", knee});
  });
  return out;
}

Rows clamp_power(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"zener"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref,
                   std::max(of(e.move.figures, p.ref).loss_W, of(e.hold.figures, p.ref).loss_W),
                   derating(c).resistor * figure(part, "power_max"), Grade::guaranteed, "", 0});
  });
  return out;
}

/// Least rating of what stands across the rail; switches through their drain rating.
double rail_rating(const Case& c) {
  double least = 1e300;
  const Derating d = derating(c);
  for_parts(c, {"electrolytic", "ceramic"}, [&](const Place& p, const Part& part) {
    if (across_rail(p)) least = std::min(least, d.capacitor * figure(part, "voltage_max"));
  });
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place&, const Part& part) {
    least = std::min(least, d.voltage * figure(part, "vds_max"));
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place&, const Part& part) {
    least = std::min(least, d.voltage * figure(part, "vce_max"));
  });
  return least;
}

Rows rail_peak(const Case& c, const Point&, const Evidence& e) {
  return {{"rail", e.move.figures.rail_max_V, rail_rating(c), Grade::modelled, "", 0}};
}

Rows rail_dip(const Case& c, const Point& p, const Evidence& e) {
  // A rail that falls by a fifth at an edge resets what lives on it; common practice, no source.
  return {{"rail", e.move.figures.rail_min_V, 0.8 * value_of(c.spreads, p, "supply.voltage"),
           Grade::assumed, "", 0}};
}

Rows hot_plug(const Case& c, const Point&, const Evidence& e) {
  if (!e.has_windows) return {};
  return {{"rail", e.reset.rail_max_V, rail_rating(c), Grade::modelled, "", 0}};
}

Rows supply_mean(const Case& c, const Point& p, const Evidence& e) {
  const double limit = c.design.brief.supply.current_limit_A;
  if (!given(limit)) return {};
  const double windings = c.hold_flow.find('0') == std::string::npos ? 2.0 : 1.0;
  return {{"supply", std::max(e.move.figures.supply_mean_A, e.hold.figures.supply_mean_A), limit,
           Grade::modelled, "n V/R", windings * current_by_hand(c, p)}};
}

Rows supply_peak(const Case& c, const Point&, const Evidence& e) {
  const double limit = c.design.brief.supply.current_limit_A;
  if (!given(limit)) return {};
  return {{"supply", e.move.figures.supply_peak_A, 1.5 * limit, Grade::assumed, "", 0}};
}

Rows capacitor_ripple(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"electrolytic"}, [&](const Place& p, const Part& part) {
    const double limit = figure(part, "ripple_max");
    if (given(limit))
      out.push_back({p.ref, of(e.move.figures, p.ref).rms_A, limit, Grade::modelled, "", 0});
  });
  return out;
}

Rows capacitor_voltage(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"electrolytic", "ceramic"}, [&](const Place& p, const Part& part) {
    if (across_rail(p))
      out.push_back({p.ref, e.move.figures.rail_max_V,
                     derating(c).capacitor * figure(part, "voltage_max"), Grade::guaranteed, "",
                     0});
  });
  return out;
}

Rows winding_rms(const Case& c, const Point& p, const Evidence& e) {
  const double rated = c.design.brief.motor.rated_current_A;
  if (!given(rated)) return {};
  // A voltage drive at its highest supply and coldest winding exceeds the rated current by their
  // tolerances; what it does to the motor is judged by winding_temperature.
  const double limit = 1.5 * rated;
  return {{"a", std::max(e.move.figures.winding_a.rms_A, e.hold.figures.winding_a.rms_A), limit,
           Grade::assumed, "V/R", current_by_hand(c, p)},
          {"b", std::max(e.move.figures.winding_b.rms_A, e.hold.figures.winding_b.rms_A), limit,
           Grade::assumed, "V/R", current_by_hand(c, p)}};
}

Rows winding_peak(const Case& c, const Point& p, const Evidence& e) {
  const MotorBrief& m = c.design.brief.motor;
  const double limit = given(m.saturation_current_A) ? m.saturation_current_A
                       : given(m.rated_current_A)    ? 2.0 * m.rated_current_A
                                                     : 0.0;
  if (limit <= 0) return {};
  return {
      {"a", e.move.figures.winding_a.peak_A, limit, Grade::assumed, "V/R", current_by_hand(c, p)},
      {"b", e.move.figures.winding_b.peak_A, limit, Grade::assumed, "V/R", current_by_hand(c, p)}};
}

Rows winding_temperature(const Case& c, const Point&, const Evidence& e) {
  const bool holds = c.design.brief.motion.hold == "on";
  const double move_K = e.move.runaway ? kRunaway_K : e.move.figures.temperatures.winding_K;
  const double hold_K = !holds           ? 0.0
                        : e.hold.runaway ? kRunaway_K
                                         : e.hold.figures.temperatures.winding_K;
  return {{"windings", kelvin_to_celsius(std::max(move_K, hold_K)),
           kelvin_to_celsius(c.design.brief.motor.max_winding_temperature_K), Grade::modelled, "",
           0}};
}

Rows torque_margin(const Case& c, const Point&, const Evidence& e) {
  if (e.torque_factor <= 0 && !e.has_windows) return {};
  if (c.design.brief.load.torque_Nm <= 0 && c.design.brief.load.gravity_torque_Nm == 0) return {};
  if (e.scan_lag_step.empty() && e.torque_factor == 0) return {};
  return {
      {"rotor", e.torque_factor - 1.0, c.design.brief.rules.torque_margin, Grade::modelled, "", 0}};
}

// Beyond two steps of lag the torque of the state that is on pulls the wrong way: Acarnley,
// Stepping Motors, ch. 4.
constexpr double kPullOutLag_step = 2.0;

Rows start_rate_check(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", e.move.figures.lag_max_step, kPullOutLag_step, Grade::modelled, "", 0}};
}

Rows resonance(const Case&, const Point&, const Evidence& e) {
  if (e.scan_lag_step.empty()) return {};
  return {{"rotor", *std::max_element(e.scan_lag_step.begin(), e.scan_lag_step.end()),
           kPullOutLag_step, Grade::modelled, "", 0}};
}

Rows lost_steps(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.steps_commanded - e.move.figures.steps_made) * 1.0, 0.5,
           Grade::modelled, "", 0}};
}

Rows end_position(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.end_error_step), 0.5, Grade::modelled, "", 0}};
}

Rows rest_position(const Case&, const Point&, const Evidence& e) {
  return {{"rotor", std::abs(e.move.figures.settle_error_step), 1.5, Grade::modelled, "", 0}};
}

Rows resistor_power(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"resistor"}, [&](const Place& p, const Part& part) {
    const double loss =
        std::max(of(e.move.figures, p.ref).loss_W, of(e.hold.figures, p.ref).loss_W);
    out.push_back(
        {p.ref, loss, derating(c).resistor * figure(part, "power_max"), Grade::guaranteed, "", 0});
  });
  return out;
}

double path_rms_A(const Evidence& e) {
  double most = 0;
  for (const RunFigures* f : {&e.move.figures, &e.hold.figures})
    most = std::max({most, f->winding_a.rms_A, f->winding_b.rms_A, f->supply_mean_A});
  return most;
}

Rows trace(const Case& c, const Point&, const Evidence& e) {
  const Brief& b = c.design.brief;
  constexpr double kRouted_m = 1.0e-3;  // width this tool asks the layout for
  const double area = trace_area_m2(path_rms_A(e), b.rules.trace_rise_K, kOuterTrace);
  return {
      {"rail and outputs", area / b.build.copper_thickness_m, kRouted_m, Grade::assumed, "", 0}};
}

Rows via(const Case& c, const Point&, const Evidence& e) {
  constexpr double kHole_m = 0.3e-3, kPlating_m = 25e-6;
  return {{"rail and outputs, two vias", path_rms_A(e),
           2.0 * trace_current_A(via_area_m2(kHole_m, kPlating_m),
                                 c.design.brief.rules.trace_rise_K, kInnerTrace),
           Grade::assumed, "", 0}};
}

Rows wire(const Case&, const Point&, const Evidence& e) {
  constexpr double kAwg26_A = 2.5;  // single wire, MIL-STD-975M appendix A
  return {{"motor and supply leads, AWG 26", path_rms_A(e), kAwg26_A, Grade::assumed, "", 0}};
}

Rows pins(const Case& c, const Point&, const Evidence&) {
  const double used = static_cast<double>(c.design.wiring.pins.size());
  return {{"controller", used, c.design.brief.controller.pins, Grade::guaranteed, "count", used}};
}

Rows cost_target(const Case& c, const Point&, const Evidence&) {
  const double target = c.design.brief.build.target_cost;
  if (!given(target)) return {};
  std::map<std::string, int> places;
  for (const Place& p : c.design.wiring.places) ++places[p.role];
  std::vector<CostLine> lines;
  lines.reserve(c.design.parts.size());
  for (const auto& entry : c.design.parts) lines.push_back({&entry.second, places[entry.first]});
  // A board that cannot be priced has no number: the proof is then undecided, not silent.
  if (!cost_faults(c.design.brief, lines).empty())
    return {{"board", kNotGiven, target, Grade::guaranteed, "", 0}};
  return {{"board", landed_cost(c.design.brief, lines).total, target, Grade::guaranteed, "", 0}};
}

constexpr std::string_view kSheet = "data sheet of the part",
                           kPractice = "common practice, no source", kBrief = "brief";
constexpr Sense kMax = Sense::max, kMin = Sense::min;

constexpr auto kRows = std::to_array<CheckRow>({
    {"gate_drive_on", "V", kMin, kSheet,
     "gate-source voltage while a switch carries: at least the one its on-resistance is guaranteed "
     "at",
     gate_drive_on},
    {"base_drive_on", "V", kMax, kPractice,
     "collector-emitter voltage of a bipolar switch while it carries", base_drive_on},
    {"gate_off", "V", kMax, kSheet,
     "gate-source voltage of a switch that is off: below its least threshold, hot", gate_off},
    {"shoot_through_edge", "A", kMax, kSheet,
     "current through both switches of a leg at an edge, against the weaker one's pulse rating",
     shoot_through_edge},
    {"shoot_through_reset", "A", kMax, kPractice,
     "standing current through a leg while the controller is in reset", shoot_through_reset},
    {"partial_supply", "A", kMax, kPractice,
     "one supply present without the other: standing current through a leg, current into and out "
     "of pins",
     partial_supply},
    {"pin_current", "A", kMax, kBrief, "peak current of each controller pin", pin_current},
    {"pin_current_total", "A", kMax, kBrief, "all pins together", pin_current_total},
    {"switch_voltage", "V", kMax, kSheet,
     "peak drain-source, gate-source and collector-emitter voltage", switch_voltage},
    {"switch_peak", "A", kMax, kSheet, "peak current of a switch", switch_peak},
    {"switch_junction", "degC", kMax, kSheet, "junction while moving without pause",
     switch_junction},
    {"diode_reverse", "V", kMax, kSheet, "peak voltage across a diode", diode_reverse},
    {"diode_current", "A", kMax, kSheet, "current of a diode, rms", diode_current},
    {"diode_junction", "degC", kMax, kSheet, "junction while moving without pause", diode_junction},
    {"clamp_standoff", "V", kMin, kSheet, "the clamp's knee stays above the highest supply",
     clamp_standoff},
    {"clamp_power", "W", kMax, kSheet, "mean loss of a breakdown diode", clamp_power},
    {"rail_peak", "V", kMax, kSheet, "highest rail voltage against the weakest part across it",
     rail_peak},
    {"rail_dip", "V", kMin, kPractice, "lowest rail voltage", rail_dip},
    {"hot_plug", "V", kMax, kSheet, "rail peak when the supply is plugged in", hot_plug},
    {"supply_mean", "A", kMax, kBrief, "mean supply current, moving or holding", supply_mean},
    {"supply_peak", "A", kMax, kPractice,
     "peak supply current, against one and a half times the limit: the bulk covers less than a "
     "step",
     supply_peak},
    {"capacitor_ripple", "A", kMax, kSheet, "rms current of a capacitor", capacitor_ripple},
    {"capacitor_voltage", "V", kMax, kSheet, "peak voltage of a capacitor across the rail",
     capacitor_voltage},
    {"winding_rms", "A", kMax, kPractice, "rms winding current, moving or holding", winding_rms},
    {"winding_peak", "A", kMax, kPractice, "peak winding current", winding_peak},
    {"winding_temperature", "degC", kMax, kBrief,
     "windings, moving without pause (and holding, where the brief holds)", winding_temperature},
    {"torque_margin", "1", kMin, kBrief,
     "load torque that is still carried at the running rate, over the load's, less one",
     torque_margin},
    {"start_rate", "step", kMax, "Acarnley, Stepping Motors, 4th ed. 2002, ch. 4",
     "greatest lag of the rotor behind the drive, from the first step on", start_rate_check},
    {"resonance", "step", kMax, "Acarnley, Stepping Motors, 4th ed. 2002, ch. 4",
     "greatest lag over a scan of rate and damping", resonance},
    {"lost_steps", "step", kMax, "half a step", "steps asked for and not made", lost_steps},
    {"end_position", "step", kMax, "half a step", "error at the end of the move", end_position},
    {"rest_position", "step", kMax, kPractice, "error after the current is taken away",
     rest_position},
    {"permanent_hold", "degC", kMax, kSheet,
     "junctions when the program freezes with the windings on", permanent_hold},
    {"resistor_power", "W", kMax, kSheet, "mean loss of a resistor", resistor_power},
    {"trace", "m", kMax, "IPC-2221A (2003) 6.2; width asked of the layout",
     "trace width the current needs", trace},
    {"via", "A", kMax, "IPC-2221A (2003) 6.2, barrel as inner trace", "current of two vias", via},
    {"wire", "A", kMax, "MIL-STD-975M (1994) appendix A, single wire", "current of a lead", wire},
    {"pins", "1", kMax, kBrief, "controller pins used", pins},
    {"cost_target", "1", kMax, kBrief, "landed cost", cost_target},
});

constexpr std::string_view kContract[] = {"gate_drive_on",
                                          "base_drive_on",
                                          "gate_off",
                                          "shoot_through_edge",
                                          "shoot_through_reset",
                                          "shoot_through_fault",
                                          "partial_supply",
                                          "pin_current",
                                          "pin_current_total",
                                          "switch_voltage",
                                          "switch_peak",
                                          "switch_rms",
                                          "switch_junction",
                                          "switch_soa",
                                          "diode_reverse",
                                          "diode_current",
                                          "diode_junction",
                                          "clamp_standoff",
                                          "clamp_energy",
                                          "clamp_power",
                                          "rail_peak",
                                          "rail_dip",
                                          "hot_plug",
                                          "supply_mean",
                                          "supply_peak",
                                          "supply_inrush",
                                          "capacitor_ripple",
                                          "capacitor_voltage",
                                          "winding_rms",
                                          "winding_peak",
                                          "winding_temperature",
                                          "torque_margin",
                                          "start_rate",
                                          "resonance",
                                          "lost_steps",
                                          "end_position",
                                          "rest_position",
                                          "permanent_hold",
                                          "resistor_power",
                                          "trace",
                                          "via",
                                          "wire",
                                          "pins",
                                          "cost_target"};

}  // namespace

std::span<const CheckRow> check_rows() { return kRows; }

std::vector<std::string> ids_not_judged() {
  std::vector<std::string> out;
  for (std::string_view id : kContract)
    if (std::none_of(kRows.begin(), kRows.end(), [&](const CheckRow& r) { return r.id == id; }))
      out.emplace_back(id);
  return out;
}

}  // namespace pb
