// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/hand.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "physics/drive_table.h"
#include "physics/extraction.h"

namespace pb::checks {
namespace {

using namespace physics;
using std::numbers::pi;

bool is_mosfet(const Part& p) { return p.part_class == "n-mosfet" || p.part_class == "p-mosfet"; }
bool is_bipolar(const Part& p) { return p.part_class == "npn" || p.part_class == "pnp"; }

bool among(const std::vector<std::string>& list, const std::string& what) {
  return std::find(list.begin(), list.end(), what) != list.end();
}

const std::string* other_end(const Place& p, const std::string& node) {
  if (p.nodes.size() != 2) return nullptr;
  return p.nodes[0] == node ? &p.nodes[1] : p.nodes[1] == node ? &p.nodes[0] : nullptr;
}

std::vector<PlannedState> states(const Case& c) {
  std::vector<PlannedState> out;
  for (const std::string& flow : flows_of(c.design.settings.sequence)) {
    PlannedState s;
    if (find_state(c.design.wiring, flow, s)) out.push_back(std::move(s));
  }
  return out;
}

}  // namespace

bool Paper::at_ground(const std::string& node) const {
  return node == kGround ||
         std::any_of(c_.design.wiring.measures.begin(), c_.design.wiring.measures.end(),
                     [&](const Measure& m) { return m.sense == node; });
}

const Part* Paper::part_of(const Place& place) const {
  const auto p = c_.design.parts.find(place.role);
  return p == c_.design.parts.end() ? nullptr : &p->second;
}

double Paper::settled_A() const {
  double volts = supply_V(), ohms = value("motor.winding_resistance");
  PlannedState s;
  if (!find_state(c_.design.wiring, c_.hold_flow, s)) return volts / ohms;
  const auto& ends =
      c_.hold_flow[0] != '0' ? c_.design.wiring.winding_a : c_.design.wiring.winding_b;
  for (const Place& p : c_.design.wiring.places)  // a chip at this winding: both switches together
    if (const Part* part = part_of(p);
        part && is_driver_chip(*find_part_class(part->part_class)) && among(p.nodes, ends.front()))
      ohms += value(p.role + ".on_resistance");
  for (const Leg& l : c_.design.wiring.legs) {
    if (!among(ends, l.output)) continue;
    for (const auto* side : {&l.high, &l.low})
      for (const std::string& ref : *side) {
        const Place* place = find_place(c_.design.wiring, ref);
        const Part* part = place ? part_of(*place) : nullptr;
        if (!part || !among(s.on, ref)) continue;
        if (is_mosfet(*part)) {
          ohms += value(place->role + ".on_resistance");
          volts -= lost_threshold_V(*place);
        }
        if (is_bipolar(*part))
          volts -= figure(*part, place->nodes[2] == l.output ? "vbe_typ" : "vce_sat_max");
      }
  }
  const double rests_A = std::max(volts, 0.0) / ohms;
  if (measures_current(c_.design.brief))
    return std::min(rests_A, regulated_current(c_.design.brief));
  return rests_A * mean_share();
}

double Paper::mean_share() const {
  const Brief& b = c_.design.brief;
  if (!chops_by_duty(b)) return 1.0;
  const double duty = peak_duty(b, c_.design.settings.decay);
  return c_.design.settings.decay == "fast" ? 2.0 * duty - 1.0 : duty;
}

double Paper::lost_threshold_V(const Place& place) const {
  const std::string& source = place.nodes[2];
  if (part_of(place)->part_class != "n-mosfet" || at_ground(source)) return 0;
  return std::max(supply_V() - (logic_V() - value(place.role + ".threshold")), 0.0);
}

double Paper::windings() const { return c_.hold_flow.find('0') == std::string::npos ? 2.0 : 1.0; }

double Paper::winding_energy_J() const {
  return windings() * 0.5 * value("motor.winding_inductance") * square(winding_A());
}

double Paper::pull_out_Nm() const {
  const Brief& b = c_.design.brief;
  const double rate = b.motion.rate_steps_s, k = value("motor.constant");
  const double w = rate * 2.0 * pi / b.motor.steps_per_turn,
               x = 2.0 * pi / 4.0 * rate * value("motor.winding_inductance"),
               r = value("motor.winding_resistance"), z2 = r * r + x * x;
  const double by_voltage =
      k * (4.0 / pi) * mean_share() * supply_V() / std::sqrt(z2) - k * k * w * r / z2;
  // Sinusoids of the fundamental of a square of the regulated current.
  return measures_current(b) ? std::min(by_voltage, k * (4.0 / pi) * regulated_current(b))
                             : by_voltage;
}

double Paper::load_Nm() const {
  const LoadBrief& l = c_.design.brief.load;
  return (value("load.torque") + l.gravity_torque_Nm) / (l.gear_ratio * l.gear_efficiency);
}

double Paper::static_lag_step() const {
  const double most = std::sqrt(windings()) * value("motor.constant") * winding_A();
  return std::asin(std::clamp(load_Nm() / most, -1.0, 1.0)) * 2.0 / pi;
}

double Paper::natural_Hz() const {
  const Brief& b = c_.design.brief;
  const double stiffness =
      rotor_teeth(b.motor) * std::sqrt(windings()) * value("motor.constant") * winding_A();
  const double inertia =
      b.motor.rotor_inertia_kgm2 + value("load.inertia") / square(b.load.gear_ratio);
  return std::sqrt(stiffness / inertia) / (2.0 * pi);
}

double Paper::duty(const std::string& ref) const {
  const auto all = states(c_);
  const auto on = std::count_if(all.begin(), all.end(),
                                [&](const PlannedState& s) { return among(s.on, ref); });
  return all.empty() ? 0.0 : static_cast<double>(on) / static_cast<double>(all.size());
}

double Paper::longest_on_s() const {
  // Every sequence keeps a switch on for at most half an electrical cycle, which is four steps.
  const double steps = c_.design.settings.sequence == "one-phase" ? 1.0 : 2.0;
  return steps / start_rate(c_.design.brief.motion);
}

double Paper::lasting_W(std::span<const ThermalStage> stages, double move_W, double hold_W,
                        double idle_W) const {
  const MotionBrief& m = c_.design.brief.motion;
  const std::optional<DutyCycle> cycle = cycle_of(m);
  if (!cycle) return move_W;
  return hottest_W(*cycle, {move_W, hold_W, m.hold == "off" ? idle_W : hold_W}, stages);
}

bool Paper::on_in_hold(const std::string& ref) const {
  PlannedState s;
  return find_state(c_.design.wiring, c_.hold_flow, s) && among(s.on, ref);
}

bool Paper::in_a_leg(const std::string& ref) const {
  const auto& legs = c_.design.wiring.legs;
  return std::any_of(legs.begin(), legs.end(),
                     [&](const Leg& l) { return among(l.high, ref) || among(l.low, ref); });
}

double Paper::on_drop_V(const Place& place) const {
  const Part* part = part_of(place);
  if (!part) return 0;
  const double i = winding_A();
  if (is_mosfet(*part)) return i * value(place.role + ".on_resistance") + lost_threshold_V(place);
  const bool follows = std::any_of(c_.design.wiring.legs.begin(), c_.design.wiring.legs.end(),
                                   [&](const Leg& l) { return place.nodes[2] == l.output; });
  if (!follows) return figure(*part, "vce_sat_max") * i / figure(*part, "ic_sat");
  return figure(*part, "vbe_typ") +
         i / value(place.role + ".gain") * c_.design.brief.controller.pin_resistance_ohm;
}

double Paper::on_loss_W(const Place& place) const { return winding_A() * on_drop_V(place); }

double Paper::conductance_S(const std::string& node, const std::string& other) const {
  double sum = 0;
  for (const Place& p : c_.design.wiring.places) {
    const Part* part = part_of(p);
    const std::string* end = other_end(p, node);
    if (part && end && part->part_class == "resistor" && (other.empty() || *end == other))
      sum += 1.0 / value(p.role + ".resistance");
  }
  return sum;
}

double Paper::gate_V(const Place& place, bool on) const {
  const Part* part = part_of(place);
  const std::string &gate = place.nodes[1], &source = place.nodes[2];
  const bool p_channel = part->part_class == "p-mosfet";
  const double to_source = conductance_S(gate, source), all = conductance_S(gate);
  const double share = all > 0 ? 1.0 - to_source / all : 1.0;
  // Straight from a pin, or through something that inverts or shifts its level.
  bool direct = false;
  for (const Pin& pin : c_.design.wiring.pins)
    direct = direct || pin.node == gate || conductance_S(gate, pin.node) > 0;
  // Pulled on by a current, not by a divider: resistors alone do not tell.
  if (p_channel && on && !(share > 0)) return kNotGiven;
  if (p_channel)
    return on ? share * supply_V() : (direct ? share * std::max(supply_V() - logic_V(), 0.0) : 0.0);
  if (!on) return 0.0;
  if (at_ground(source)) return share * logic_V();
  const double threshold = value(place.role + ".threshold");
  return std::max(logic_V() - supply_V(), threshold);
}

template <class F>
void Paper::for_rail_capacitors(F visit) const {
  for (const Place& p : c_.design.wiring.places)
    if (const Part* part = part_of(p);
        part && is_capacitor(part->part_class) && among(p.nodes, kRail) && among(p.nodes, kGround))
      visit(*part, value(p.role + ".capacitance"));
}

double Paper::rail_F() const {
  double charge_C = 0;
  for_rail_capacitors([&](const Part& part, double farad) {
    charge_C += physics::filled_to(part, farad, supply_V()).charge_C;
  });
  return charge_C / supply_V();
}

double Paper::rail_stored_J(double v) const {
  double energy_J = 0;
  for_rail_capacitors([&](const Part& part, double farad) {
    energy_J += physics::filled_to(part, farad, v).energy_J;
  });
  return energy_J;
}

double Paper::rail_esr_ohm() const {
  double most = 0, esr = 0;
  for_rail_capacitors([&](const Part& part, double farad) {
    if (farad > most) most = farad, esr = physics::esr_ohm(part, farad, value("ambient"));
  });
  return esr;
}

double Paper::swallowed_V() const {
  return std::sqrt(square(supply_V()) + 2.0 * winding_energy_J() / std::max(rail_F(), 1e-12));
}

}  // namespace pb::checks
