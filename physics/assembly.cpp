// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/assembly.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "base/check.h"
#include "physics/canonical.h"
#include "physics/decay.h"
#include "physics/extraction.h"
#include "physics/sense_path.h"

namespace pb::physics {
namespace {

constexpr double kPinEdge_s = 50e-9;  // of a controller pin; a medium-speed setting; from memory
constexpr double kPinLeak_S = 1e-8;   // a high-impedance pin: 50 nA at 5 V; from memory
constexpr double kStray_F = 1e-12;    // of a node nothing else loads

struct Build {
  const Design& d;
  const std::vector<Spread>& spreads;
  const Point& point;
  const Temperatures& temperatures;
  Circuit c;

  double value(const std::string& name) const { return value_of(spreads, point, name); }
  double value(const Place& place, const std::string& figure) const {
    return place_value(spreads, point, place, figure);
  }
  double ambient() const { return value("ambient"); }
  double junction(const std::string& ref) const {
    const auto t = temperatures.junction_K.find(ref);
    return t == temperatures.junction_K.end() ? ambient() : t->second;
  }
  int node(const std::string& name) {
    const int n = c.find_node(name);
    return n >= 0 ? n : c.add_node(name);
  }
  /// Whether timers of the controller chop, by its pins.
  bool latched_pins() const {
    return !d.wiring.measures.empty() && !d.wiring.measures.front().reached.empty();
  }
  void capacitor(const std::string& ref, int a, int b, double farad) {
    c.capacitors.push_back({ref, a, b, farad});
  }
};

using Nodes = std::vector<int>;
struct PlaceInfo {
  const Place& place;
  const Part& part;
  Nodes n;
};

void add_mosfet(Build& b, const PlaceInfo& p, double sign) {
  const std::string& ref = p.place.ref;
  const MosfetModel m = mosfet_model(p.part, sign, b.value(p.place, "threshold"),
                                     b.value(p.place, "on_resistance"), b.junction(ref));
  int drain = p.n[0];
  if (m.series_ohm > 0) {
    drain = b.c.add_node("inside " + ref);
    b.c.resistors.push_back({ref, drain, p.n[0], 1.0 / m.series_ohm});
  }
  b.c.mosfets.push_back({ref, drain, p.n[1], p.n[2], m.channel});
  const int anode = sign > 0 ? p.n[2] : drain, cathode = sign > 0 ? drain : p.n[2];
  b.c.diodes.push_back({ref, anode, cathode, m.body, 0, {}});
  b.capacitor(ref, p.n[1], p.n[2], m.cgs_F);
  // What blocks widens with the voltage that it blocks.
  const auto depletion = [&](int other, const Depletion& law) {
    b.c.depletions.push_back({ref, sign > 0 ? drain : other, sign > 0 ? other : drain, law});
  };
  depletion(p.n[1], m.gate_drain);
  depletion(p.n[2], m.drain_source);
}

void add_bipolar(Build& b, const PlaceInfo& p, double sign) {
  const std::string& ref = p.place.ref;
  const BipolarModel m = bipolar_model(p.part, sign, b.value(p.place, "gain"), b.junction(ref));
  int collector = p.n[0];
  if (m.collector_ohm > 0) {
    collector = b.c.add_node("inside " + ref);
    b.c.resistors.push_back({ref, collector, p.n[0], 1.0 / m.collector_ohm});
  }
  b.c.bipolars.push_back({ref, collector, p.n[1], p.n[2], m.transistor});
  const double cob = figure(p.part, "cob");
  b.capacitor(ref, p.n[1], collector, given(cob) ? cob : 4e-12);
  b.capacitor(ref, p.n[1], p.n[2], 10e-12);  // emitter depletion; from memory
}

void add_diode(Build& b, const PlaceInfo& p) {
  const DiodeModel m = diode_model(p.part, b.value(p.place, "drop"), b.junction(p.place.ref));
  b.c.diodes.push_back({p.place.ref, p.n[0], p.n[1], m.junction, 0, {}});
  // By what the part gives, not by how much it leaks: units of a batch have to be wired alike.
  if (given(figure(p.part, "ir_max")))
    b.c.resistors.push_back({p.place.ref, p.n[0], p.n[1], m.leak_S});
  const double cj = figure(p.part, "cj");
  b.capacitor(p.place.ref, p.n[0], p.n[1], given(cj) ? cj : 10e-12);
}

void add_zener(Build& b, const PlaceInfo& p) {
  const ZenerModel m = zener_model(p.part, b.value(p.place, "breakdown"), b.junction(p.place.ref));
  b.c.diodes.push_back({p.place.ref, p.n[0], p.n[1], m.forward, m.breakdown_V, m.reverse});
  b.capacitor(p.place.ref, p.n[0], p.n[1], 50e-12);  // from memory
}

void add_resistor(Build& b, const PlaceInfo& p) {
  b.c.resistors.push_back({p.place.ref, p.n[0], p.n[1], 1.0 / b.value(p.place, "resistance")});
}

void add_capacitor(Build& b, const PlaceInfo& p) {
  const double farad = b.value(p.place, "capacitance"), esr = esr_ohm(p.part, farad, b.ambient());
  constexpr double kWorthANode_s = 1e-8;  // ESR times C below this is faster than any edge here
  int plus = p.n[0];
  if (esr * farad > kWorthANode_s) {
    plus = b.c.add_node("inside " + p.place.ref);
    b.c.resistors.push_back({p.place.ref, p.n[0], plus, 1.0 / esr});
  }
  if (p.part.part_class == "ceramic")
    b.c.ceramics.push_back({p.place.ref, plus, p.n[1], ceramic_law(p.part, farad)});
  else
    b.c.capacitors.push_back({p.place.ref, plus, p.n[1], farad});
}

/// The bridges of a chip: terminals are supply, ground, the inputs, as many outputs.
void add_chip(Build& b, const PlaceInfo& p) {
  const std::string& ref = p.place.ref;
  const PartClass& c = *find_part_class(p.part.part_class);
  ChipModel m = chip_model(p.part, b.value(p.place, "on_resistance"),
                           b.value(p.place, "input_threshold"), b.junction(ref));
  const bool measures = is_chopper_chip(c);
  const int supply = p.n[0], ground = p.n[1], inputs = static_cast<int>(c.inputs.size());
  for (int k = 0; k < inputs; k += 2) {
    const int low_return = measures ? p.n[2 + 2 * inputs + k / 2] : ground;
    BridgeElement e{ref,
                    {supply, ground, p.n[2 + k], p.n[3 + k], p.n[2 + inputs + k],
                     p.n[3 + inputs + k], low_return},
                    m.bridge,
                    {input_name(ref, c.inputs[k]), input_name(ref, c.inputs[k + 1])}};
    for (int side : {kChipOut1, kChipOut2}) {
      const int out = e.node[side];
      b.c.diodes.push_back({ref, out, supply, m.body, 0, {}});
      b.c.diodes.push_back({ref, low_return, out, m.body, 0, {}});
    }
    for (int side : {kChipIn1, kChipIn2})
      b.c.resistors.push_back({ref, e.node[side], ground, 1.0 / m.pull_down_ohm});
    b.c.bridges.push_back(std::move(e));
    m.bridge.quiescent_A = 0;  // the package's, once
  }
}

/// Its supply current; its inputs take none, and its output is listened to where the chopper is.
void add_comparator(Build& b, const PlaceInfo& p) {
  const double volts = b.d.brief.controller.logic_voltage_V;
  b.c.resistors.push_back({p.place.ref, p.n[0], p.n[1], figure(p.part, "quiescent") / volts});
}

struct ClassRow {
  std::string_view part_class;
  void (*add)(Build&, const PlaceInfo&);
};
constexpr std::array kClassRows = {
    ClassRow{"n-mosfet", [](Build& b, const PlaceInfo& p) { add_mosfet(b, p, +1.0); }},
    ClassRow{"p-mosfet", [](Build& b, const PlaceInfo& p) { add_mosfet(b, p, -1.0); }},
    ClassRow{"npn", [](Build& b, const PlaceInfo& p) { add_bipolar(b, p, +1.0); }},
    ClassRow{"pnp", [](Build& b, const PlaceInfo& p) { add_bipolar(b, p, -1.0); }},
    ClassRow{"diode", add_diode},
    ClassRow{"zener", add_zener},
    ClassRow{"resistor", add_resistor},
    ClassRow{"electrolytic", add_capacitor},
    ClassRow{"ceramic", add_capacitor},
    ClassRow{"bridge-chip", add_chip},
    ClassRow{"dual-bridge-chip", add_chip},
    ClassRow{"dual-chopper-chip", add_chip},
    ClassRow{"buffers", add_chip},
    ClassRow{"comparator", add_comparator},
};

int add_driven(Circuit& c, const std::string& name, Profile p) {
  const int n = c.add_node(name);
  c.nodes[n].driven = true;
  c.nodes[n].voltage_V = std::move(p);
  return n;
}

/// A supply that acts on its current limit.
void add_limited_supply(Circuit& c, const SupplyBrief& s, int source, int cable) {
  Hiccup hiccup;
  if (s.limit_behaviour == "hiccup") hiccup.on_s = hiccup_on(s), hiccup.off_s = hiccup_off(s);
  c.limiters.push_back({"supply", source, cable,
                        supply_limit_of(s.resistance_ohm, s.current_limit_A, s.can_sink == "yes"),
                        hiccup});
}

void add_supplies(Build& b, double t0, const PowerUp& up) {
  const double logic_V = up.logic ? b.value("controller.logic_voltage") : 0.0;
  const double rail_V = up.rail ? b.value("supply.voltage") : 0.0;
  add_driven(b.c, kGround, {{0.0}, {0.0}});
  const auto rise = [&](double at, double duration, double to) {
    return Profile{{t0 + at, t0 + at + duration}, {0.0, to}};
  };
  add_driven(b.c, kLogic, rise(up.logic_at_s, up.logic_rise_s, logic_V));
  const int source = add_driven(b.c, "inside supply", rise(up.rail_at_s, up.rail_rise_s, rail_V));
  const int cable = b.c.add_node("inside supply cable"), rail = b.c.add_node(kRail);
  const SupplyBrief& s = b.d.brief.supply;
  if (limits(s)) {
    add_limited_supply(b.c, s, source, cable);
  } else if (s.can_sink == "yes") {
    b.c.resistors.push_back({"supply", source, cable, 1.0 / s.resistance_ohm});
  } else {
    // A source that cannot take current back: a junction of 1 mV a decade fold, so that nothing is
    // lost in it.
    b.c.diodes.push_back(
        {"supply", source, cable, prepared({1e-6, 1e-3, s.resistance_ohm, 0}), 0, {}});
  }
  b.c.inductors.push_back({"supply cable", cable, rail, s.cable_inductance_H, 0.0});
  // Where the supply blocks, that would ring with a stray capacitance for ever; a real cable is
  // lossy at a hundred megahertz. From memory.
  b.c.resistors.push_back(
      {"supply cable loss", cable, rail, std::sqrt(kStray_F / s.cable_inductance_H)});
}

/// When the controller begins to drive its pins: everything is up.
double first_drive_s(double t0, const PowerUp& up) {
  return t0 + std::max(up.logic_at_s + up.logic_rise_s, up.rail_at_s + up.rail_rise_s);
}

/// A timer toggles the pin for as long as the program runs, whatever the drive code does.
void add_clock(PinElement& p, const Plan& plan, double logic_V, double driven_S, double from_s) {
  p.conductance_S.hold_then_go(from_s, kPinEdge_s, driven_S);
  const double half_s = 0.5 / plan.clock_Hz;
  for (long n = 0;; ++n) {
    const double t = std::max(clock_from_s(plan), from_s) + static_cast<double>(n) * half_s;
    if (t > plan.end_s) return;
    p.level_V.hold_then_go(t, kPinEdge_s, n % 2 == 0 ? logic_V : 0.0);
  }
}

/// What the drive code does with one pin, from the moment the supplies are up.
void add_pin(Build& b, std::size_t index, const Plan& plan, double t0, const PowerUp& up) {
  const Pin& pin = b.d.wiring.pins[index];
  const ControllerBrief& k = b.d.brief.controller;
  const double logic_V = up.logic ? b.value("controller.logic_voltage") : 0.0,
               driven_S = 1.0 / k.pin_resistance_ohm;
  const int node = b.node(pin.node);
  PinElement p{pin.name, node, {{t0}, {0.0}}, {{t0}, {kPinLeak_S}}};
  const auto protect = [&](int from, int to) {
    b.c.diodes.push_back(
        {pin.name, from, to, junction_from_points(0.6, 1e-4, 0.9, 0.01, 1.1, b.ambient()), 0, {}});
  };
  protect(node, b.node(kLogic));
  protect(0, node);
  if (plan.measured && b.latched_pins()) {  // a chopper steers it
    b.c.pins.push_back(std::move(p));
    return;
  }
  if (up.in_reset || !up.logic) {
    const double pull_S = k.reset == "floating" ? kPinLeak_S : 1.0 / k.reset_pull_resistance_ohm;
    const double level = k.reset == "pull-up" ? logic_V : 0.0;
    p.level_V.hold_then_go(t0 + up.logic_at_s, up.logic_rise_s, level);
    p.conductance_S = {{t0}, {up.logic ? pull_S : kPinLeak_S}};
  } else if (pin.clock_Hz > 0) {
    add_clock(p, plan, logic_V, driven_S, first_drive_s(t0, up));
  } else {
    const double first = first_drive_s(t0, up);
    char before = 'z';
    const auto go = [&](double t, char level) {
      if (level == before) return;
      if (level != 'z') p.level_V.hold_then_go(t, kPinEdge_s, level == '1' ? logic_V : 0.0);
      p.conductance_S.hold_then_go(t, kPinEdge_s, level == 'z' ? kPinLeak_S : driven_S);
      before = level;
    };
    char at_first = 'z';  // several writes may come while the supplies are still rising
    bool up_yet = false;
    for (const PinWrite& w : plan.writes) {
      if (w.pin != static_cast<int>(index)) continue;
      const double t = static_cast<double>(w.tick) * plan.tick_s;
      if (t <= first + kPinEdge_s) {
        at_first = w.level;
        continue;
      }
      if (!std::exchange(up_yet, true)) go(first, at_first);
      go(t, w.level);
    }
    if (!up_yet) go(first, at_first);
  }
  b.c.pins.push_back(std::move(p));
}

/// A controller's analog output: one level after the other behind a pin's resistance.
void add_reference(Build& b, int winding, const Plan& plan, double t0, const PowerUp& up) {
  const Measure& m = b.d.wiring.measures[static_cast<std::size_t>(winding)];
  const double logic_V = up.logic ? b.value("controller.logic_voltage") : 0.0;
  PinElement p{"reference_" + m.winding, b.node(m.reference), {{t0}, {0.0}}, {{t0}, {}}};
  p.conductance_S.value = {1.0 / b.d.brief.controller.pin_resistance_ohm};
  const double first = first_drive_s(t0, up);
  double now_V = 0;
  for (const ReferenceWrite& w : plan.references) {
    if (w.winding != winding) continue;
    const double to_V = w.share * logic_V,
                 t = std::max(static_cast<double>(w.tick) * plan.tick_s, first);
    if (to_V == now_V) continue;
    if (t <= p.level_V.t_s.back()) {  // what came while supplies were still rising
      p.level_V.value.back() = now_V = to_V;
      continue;
    }
    p.level_V.hold_then_go(t, kPinEdge_s, now_V = to_V);
  }
  b.c.pins.push_back(std::move(p));
}

char level_of(const PlannedState& s, std::size_t pin) { return s.levels[pin]; }

/// The pins that steer one winding, and their levels in every state of the plan.
ChoppedPins chopped_pins(const Build& b, int winding, const Plan& plan, double from_s) {
  const Template& t = b.d.wiring;
  ChoppedPins out;
  std::vector<std::size_t> pins;
  for (const DriveGroup& g : t.groups)
    for (const std::string& name : g.pins)
      if (g.windings == (winding == 0 ? "a" : "b")) {
        const Pin* pin = find_pin(t, name);
        pins.push_back(static_cast<std::size_t>(pin - t.pins.data()));
        out.off += pin->off;
        const auto element = std::find_if(b.c.pins.begin(), b.c.pins.end(),
                                          [&](const PinElement& e) { return e.ref == name; });
        PB_CHECK(element != b.c.pins.end(), name);
        out.pins.push_back(static_cast<int>(element - b.c.pins.begin()));
      }
  const auto levels = [&](const std::string& flow) {
    PlannedState s;
    if (!find_state(t, flow, s)) return std::string{};
    std::string text;
    for (std::size_t k : pins) text += level_of(s, k);
    return text;
  };
  const std::string& decay = b.d.settings.decay;
  for (std::size_t k = 0; k < plan.states.size(); ++k) {
    const PlannedState& s = plan.states[k];
    const char sign = s.flow[static_cast<std::size_t>(winding)];
    ChoppedState at{k == 0 ? -plan.settle_s : s.t_s,
                    levels(s.flow),
                    {},
                    {},
                    static_cast<int>(k) < plan.moving_states && (sign == '+' || sign == '-')};
    if (at.chops) {
      at.slow = levels(relaxed_flow(s.flow, decay));
      at.fast = levels(relaxed_flow(s.flow, decay == "mixed" ? "fast" : decay));
    }
    out.states.push_back(std::move(at));
  }
  const ControllerBrief& c = b.d.brief.controller;
  out.from_s = from_s, out.dead_s = plan.dead_s, out.edge_s = kPinEdge_s;
  out.high_V = b.value("controller.logic_voltage");
  out.driven_S = 1.0 / c.pin_resistance_ohm, out.floating_S = kPinLeak_S;
  return out;
}

/// The latch of one winding, of its chip or of the controller's timers.
void add_chopper(Build& b, int winding, const Plan& plan, double from_s) {
  const Comparison what = comparison_of(b.d.wiring, winding);
  const Part& part = b.d.parts.at(what.place->role);
  const RegulationBrief& r = b.d.brief.regulation;
  ChopperElement e;
  e.ref = what.place->ref, e.winding = winding;
  e.sense = b.node(what.sense), e.reference = b.node(what.reference);
  e.offset_V = b.value(*what.place, "offset");
  e.law.delay_s = b.value(*what.place, "delay");
  if (is_chopper_chip(*find_part_class(part.part_class))) {
    const double timing = b.value(*what.place, "timing");
    e.ratio = b.value(*what.place, "reference_ratio");
    e.law.blanking_s = timing * figure(part, "blanking");
    e.law.off_s = timing * figure(part, "off_time");
    const auto bridge = std::find_if(b.c.bridges.begin(), b.c.bridges.end(),
                                     [&](const BridgeElement& x) { return x.ref == e.ref; });
    e.bridge = static_cast<int>(bridge - b.c.bridges.begin()) + what.channel;
  } else {
    e.law.delay_s += r.reaction_s;
    e.law.blanking_s = r.blanking_s;
    e.law.off_s = r.off_time_s;
    if (r.timing == "frequency") {
      e.law.period_s = 1.0 / r.frequency_Hz;
      e.law.phase_s = winding == 0 ? 0.0 : 0.5 * e.law.period_s;
    }
    e.pins = chopped_pins(b, winding, plan, from_s);
    // What turns on waits for its partner first.
    if (b.d.settings.decay == "slow" || b.d.settings.decay == "mixed")
      e.law.blanking_s += plan.dead_s;
  }
  const std::string& decay = b.d.settings.decay;
  e.law.fast_s = decay == "fast" ? kNever_s : decay == "mixed" ? r.fast_share * e.law.off_s : 0.0;
  b.c.choppers.push_back(std::move(e));
}

/// An end stop, and a load that its gear's play makes a body of its own. At the rotor: an angle
/// times n, a stiffness over n^2 and the efficiency.
void add_contacts(Build& b, const Plan& plan) {
  const Brief& brief = b.d.brief;
  const LoadBrief& load = brief.load;
  const double n = load.gear_ratio, through = 1.0 / (n * n * load.gear_efficiency);
  const auto contact = [&](double stiffness_Nm_rad, double restitution) {
    return contact_of(through * contact_stiffness(brief, stiffness_Nm_rad),
                      contact_restitution(restitution));
  };
  Rotor& m = b.c.rotor;
  if (load.backlash_rad > 0.0) {
    const double inertia = b.value("load.inertia") / (n * n),
                 viscous = load.viscous_friction_Nms / (n * n);
    b.c.loose_load = {contact(load.flank_stiffness_Nm_rad, load.flank_restitution),
                      n * load.backlash_rad,
                      inertia,
                      viscous,
                      m.friction_Nm,
                      m.gravity_Nm};
    m.inertia_kgm2 = brief.motor.rotor_inertia_kgm2;
    m.viscous_Nms = brief.motor.viscous_friction_Nms;
    m.friction_Nm = m.gravity_Nm = 0.0;
  }
  if (!given(load.end_stop_rad)) return;
  const double step_rad = 0.5 * kPi / m.teeth,
               way_rad = n * load.end_stop_rad - plan.left_out_steps * step_rad;
  b.c.end_stop = {contact(load.end_stop_stiffness_Nm_rad, load.end_stop_restitution),
                  b.c.theta0_rad + std::max(way_rad, 0.0)};
}

/// The windings with a resistance R_m across inductance and EMF for the losses of iron, as seen
/// from the leads: with g = R_m/(R + R_m), a winding of R/g, L/g^2 and K/g beside a resistor R +
/// R_m is, lead for lead and at any waveform, the same. Derived; its current is g times that which
/// magnetises. Gives back g; 1 where the brief has no R_m.
double add_windings(Build& b, double r_ohm, double l_H) {
  const double iron_ohm = b.d.brief.motor.iron_loss_resistance_ohm;
  const double g = given(iron_ohm) ? iron_ohm / (iron_ohm + r_ohm) : 1.0;
  const char* ref = "winding_a";
  for (const auto* w : {&b.d.wiring.winding_a, &b.d.wiring.winding_b}) {
    const int start = b.node((*w)[0]), finish = b.node((*w)[1]);
    b.c.windings.push_back({start, finish, r_ohm / g, l_H / (g * g)});
    if (g < 1.0) b.c.resistors.push_back({ref, start, finish, 1.0 / (iron_ohm + r_ohm)});
    ref = "winding_b";
  }
  return g;
}

void add_motor(Build& b, const Plan& plan) {
  const Brief& brief = b.d.brief;
  const double g =
      add_windings(b, b.value("motor.winding_resistance") * copper_ratio(b.temperatures.winding_K),
                   b.value("motor.winding_inductance"));
  Rotor& m = b.c.rotor;
  const LoadBrief& load = brief.load;
  const double n = load.gear_ratio, through = 1.0 / (n * load.gear_efficiency);
  m.teeth = rotor_teeth(brief.motor);
  m.motor_constant_Vs =
      b.value("motor.constant") / g *
      (1.0 + brief.motor.magnet_tempco_1_K * (b.temperatures.winding_K - kDataSheet_K));
  m.inertia_kgm2 = brief.motor.rotor_inertia_kgm2 + b.value("load.inertia") / (n * n);
  m.viscous_Nms = brief.motor.viscous_friction_Nms + load.viscous_friction_Nms / (n * n);
  m.detent_Nm = brief.motor.detent_torque_Nm;
  m.friction_Nm = b.value("load.torque") * through;
  m.gravity_Nm = load.gravity_torque_Nm * through;
  if (given(brief.motor.saturation_current_A))
    b.c.iron = iron_of(b.c.windings.front().inductance_H, m.motor_constant_Vs, m.teeth,
                       g * brief.motor.saturation_current_A);
  m.locked = plan.rotor_locked;
  const std::string& f = plan.states.front().flow;
  const auto sign = [](char s) { return s == '+' ? 1.0 : s == '-' ? -1.0 : 0.0; };
  b.c.theta0_rad = std::atan2(sign(f[1]), sign(f[0])) / m.teeth;
  add_contacts(b, plan);
}

/// Nodes without any capacitance get a stray one: Newton then has something to hold on to, as the
/// real node has.
void add_strays(Circuit& c) {
  std::vector<bool> has(c.nodes.size(), false);
  const auto hold = [&](const auto& list) {
    for (const auto& e : list) has[e.a] = has[e.b] = true;
  };
  hold(c.capacitors), hold(c.depletions), hold(c.ceramics);
  for (std::size_t n = 0; n < c.nodes.size(); ++n)
    if (!has[n] && !c.nodes[n].driven)
      c.capacitors.push_back({"", static_cast<int>(n), 0, kStray_F});
}

}  // namespace

double copper_ratio(double T_K) {
  constexpr double kAlpha20_1_K = 0.00393, k20_K = 293.15;
  return (1.0 + kAlpha20_1_K * (T_K - k20_K)) / (1.0 + kAlpha20_1_K * (kDataSheet_K - k20_K));
}

Circuit assemble(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                 const Temperatures& temperatures, const Plan& plan, const PowerUp& power) {
  Build b{d, spreads, point, temperatures, {}};
  const double t0 = -plan.settle_s;
  add_supplies(b, t0, power);
  const CanonicalOrder order = canonical_order(d);
  for (std::size_t k : order.places) {
    const Place& place = d.wiring.places[k];
    const auto part = d.parts.find(place.role);
    if (part == d.parts.end()) continue;  // an optional role left out
    PlaceInfo info{place, part->second, {}};
    for (const std::string& n : place.nodes) info.n.push_back(b.node(n));
    const auto row = std::find_if(kClassRows.begin(), kClassRows.end(), [&](const ClassRow& r) {
      return r.part_class == part->second.part_class;
    });
    PB_CHECK(row != kClassRows.end(), part->second.part_class);
    row->add(b, info);
  }
  for (std::size_t k : order.pins) add_pin(b, k, plan, t0, power);
  for (std::size_t w = 0; w < d.wiring.measures.size(); ++w)
    add_reference(b, static_cast<int>(w), plan, t0, power);
  if (plan.measured)
    for (int w : {0, 1}) add_chopper(b, w, plan, first_drive_s(t0, power));
  add_motor(b, plan);
  add_strays(b.c);
  return std::move(b.c);
}

}  // namespace pb::physics
