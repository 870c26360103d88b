// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/screens.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <vector>

#include "judgement/checks.h"
#include "physics/extraction.h"

namespace pb {
namespace {

bool is_mosfet(const std::string& c) { return c == "n-mosfet" || c == "p-mosfet"; }
bool is_bipolar(const std::string& c) { return c == "npn" || c == "pnp"; }

double share(const Brief& b, double commercial) {
  return b.rules.derating == "none" ? 1.0 : commercial;
}
double highest_supply(const Brief& b) { return b.supply.voltage_V * (1.0 + b.supply.tolerance); }
double lowest_supply(const Brief& b) { return b.supply.voltage_V * (1.0 - b.supply.tolerance); }
double lowest_logic(const Brief& b) {
  return b.controller.logic_voltage_V * (1.0 - b.controller.tolerance);
}

bool in_a_leg(const Template& t, const std::string& ref) {
  return std::any_of(t.legs.begin(), t.legs.end(), [&](const Leg& l) {
    return std::count(l.high.begin(), l.high.end(), ref) +
               std::count(l.low.begin(), l.low.end(), ref) >
           0;
  });
}

bool touches(const Place& p, const std::string& node) {
  return std::count(p.nodes.begin(), p.nodes.end(), node) > 0;
}

template <class F>
bool every_place(const RolePlace& at, F f) {
  return std::all_of(at.wiring.places.begin(), at.wiring.places.end(),
                     [&](const Place& p) { return p.role != at.role.name || f(p); });
}

/// No source is higher, but a clocked pin may pump to where nobody looked.
double anything_V(const Template& t, double rail_V, double logic_V) {
  return clock_of(t) > 0 ? std::numeric_limits<double>::infinity() : std::max(rail_V, logic_V);
}

/// Highest voltage among the sources that `start` is tied to through resistors; `anything` where
/// something else is in the way. `follower`: the transistor whose base this is, while it carries.
double reach_V(const Template& t, const std::string& start, double rail_V, double logic_V,
               const Place* follower = nullptr) {
  const double anything = anything_V(t, rail_V, logic_V);
  std::set<std::string> seen{start};
  std::vector<std::string> open{start};
  double highest = 0;
  while (!open.empty()) {
    const std::string node = open.back();
    open.pop_back();
    if (node == kGround) continue;
    if (node == kRail) highest = std::max(highest, rail_V);
    if (node == kLogic) highest = std::max(highest, logic_V);
    for (const Pin& p : t.pins)
      if (p.node == node) highest = std::max(highest, logic_V);
    if (node == kRail || node == kLogic) continue;
    for (const Place& p : t.places) {
      const Role* r = find_role(t, p.role);
      if (!r || !touches(p, node) || is_capacitor(r->part_class)) continue;
      if (is_mosfet(r->part_class) && p.nodes[1] == node && p.nodes[0] != node &&
          p.nodes[2] != node)
        continue;  // a gate carries nothing
      // While a follower carries, its base is above its emitter: a base can only be pulled down by
      // it, and by its complement at the same two nodes.
      if (follower && is_bipolar(r->part_class) && p.nodes[1] == node &&
          p.nodes[2] == follower->nodes[2])
        continue;
      if (r->part_class != "resistor") return anything;
      for (const std::string& n : p.nodes)
        if (seen.insert(n).second) open.push_back(n);
    }
    for (const auto* w : {&t.winding_a, &t.winding_b})
      if (std::count(w->begin(), w->end(), node) > 0) return anything;
  }
  return highest;
}

/// Nodes tied to `start` through resistors, start first; empty where anything but a gate or a
/// capacitor hangs on one of them. Sources are not gone through.
std::vector<std::string> resistor_island(const Template& t, const std::string& start) {
  std::vector<std::string> nodes{start};
  for (std::size_t k = 0; k < nodes.size(); ++k) {
    const std::string node = nodes[k];
    for (const auto* w : {&t.winding_a, &t.winding_b})
      if (std::count(w->begin(), w->end(), node) > 0) return {};
    for (const Place& p : t.places) {
      const Role* r = find_role(t, p.role);
      if (!r || !touches(p, node) || is_capacitor(r->part_class)) continue;
      if (is_mosfet(r->part_class) && p.nodes[0] != node && p.nodes[2] != node) continue;  // a gate
      if (r->part_class != "resistor" || r->optional) return {};
      for (const std::string& n : p.nodes)
        if (n != kGround && n != kRail && n != kLogic && !std::count(nodes.begin(), nodes.end(), n))
          nodes.push_back(n);
    }
  }
  return nodes;
}

/// Voltage of the island's first node by Gauss-Seidel, its resistors at these values. [V]
double island_V(const Brief& b, const Template& t, const std::vector<std::string>& nodes,
                const std::map<std::string, double>& ohm) {
  std::vector<double> v(nodes.size(), 0.0);
  const auto voltage = [&](const std::string& n) {
    if (n == kGround) return 0.0;
    if (n == kRail) return b.supply.voltage_V;
    if (n == kLogic) return b.controller.logic_voltage_V;
    return v[static_cast<std::size_t>(std::find(nodes.begin(), nodes.end(), n) - nodes.begin())];
  };
  constexpr int kSweeps = 300;
  for (int sweep = 0; sweep < kSweeps; ++sweep)
    for (std::size_t k = 0; k < nodes.size(); ++k) {
      double g = 0, i = 0;
      for (const Pin& p : t.pins)
        if (p.node == nodes[k]) {
          g += 1.0 / b.controller.pin_resistance_ohm;
          i += b.controller.logic_voltage_V / b.controller.pin_resistance_ohm;
        }
      for (const Place& p : t.places)
        if (const auto r = ohm.find(p.role); r != ohm.end() && touches(p, nodes[k])) {
          g += 1.0 / r->second;
          i += voltage(p.nodes[0] == nodes[k] ? p.nodes[1] : p.nodes[0]) / r->second;
        }
      if (g > 0) v[k] = i / g;
    }
  return v.front();
}

/// No rail lower than this passes rail_dip, so nothing lower has to be allowed for. At the typical
/// point: one point of the box that fails is enough.
double rail_at_least(const Brief& b) { return 0.8 * b.supply.voltage_V; }

}  // namespace

double highest_reach_V(const Brief& brief, const Template& t, const std::string& start) {
  return reach_V(t, start, lowest_supply(brief), lowest_logic(brief));
}

double highest_by_resistors_V(const Brief& brief, const Template& t, const std::string& start) {
  const std::vector<std::string> nodes = resistor_island(t, start);
  if (nodes.empty()) return anything_V(t, brief.supply.voltage_V, brief.controller.logic_voltage_V);
  std::vector<std::map<std::string, double>> values{{}};
  for (const Role& r : t.roles) {
    const bool here = std::any_of(t.places.begin(), t.places.end(), [&](const Place& p) {
      return p.role == r.name && std::any_of(nodes.begin(), nodes.end(),
                                             [&](const std::string& n) { return touches(p, n); });
    });
    if (!here || r.part_class != "resistor") continue;
    std::vector<std::map<std::string, double>> more;
    for (const auto& chosen : values)
      for (double ohm : r.values) {
        more.push_back(chosen);
        more.back()[r.name] = ohm;
      }
    values = std::move(more);
  }
  double highest = 0;
  for (const auto& ohm : values) highest = std::max(highest, island_V(brief, t, nodes, ohm));
  return highest;
}

RoleScreen::RoleScreen(const RolePlace& at) : brief_(at.brief), part_class_(at.role.part_class) {
  in_leg_ = every_place(at, [&](const Place& p) { return in_a_leg(at.wiring, p.ref); });
  on_rail_ =
      every_place(at, [](const Place& p) { return p.nodes[0] == kRail && p.nodes[1] == kGround; });
  across_rail_ =
      every_place(at, [](const Place& p) { return touches(p, kRail) && touches(p, kGround); });
  high_gate_V_ = low_gate_V_ = std::numeric_limits<double>::infinity();
  if (!is_mosfet(part_class_) && !is_bipolar(part_class_)) return;
  for (const Place& p : at.wiring.places) {
    if (p.role != at.role.name) continue;
    const std::string &control = p.nodes[1], &source = p.nodes[2];
    if (p.nodes[0] == kRail && in_a_leg(at.wiring, p.ref))
      reach_V_.push_back(reach_V(at.wiring, control, brief_.supply.voltage_V,
                                 brief_.controller.logic_voltage_V, &p));
    if (part_class_ == "n-mosfet" && source == kGround)
      low_gate_V_ = std::min(low_gate_V_, highest_reach_V(brief_, at.wiring, control));
    if (part_class_ != "p-mosfet" || source != kRail) continue;
    p_at_rail_ = true;
    if (in_a_leg(at.wiring, p.ref))
      high_gate_V_ = std::min(high_gate_V_, highest_by_resistors_V(brief_, at.wiring, control));
  }
}

/// A high side that follows its control node: its output cannot rise above it.
std::string RoleScreen::follower(const Part& part) const {
  const bool mos = part_class_ == "n-mosfet";
  if (!mos && part_class_ != "npn") return "";
  const double rail = rail_at_least(brief_), winding = brief_.motor.winding_resistance_ohm;
  for (const double reach : reach_V_) {
    if (!mos) {
      if (rail - reach > most_bipolar_drop_V(brief_)) return "base_drive_on";
      continue;
    }
    // With its guaranteed drive it would be a resistance of rds_max at most, hence its source at:
    const double source = rail * winding / (winding + figure(part, "rds_max"));
    if (brief_.rules.accept == "guaranteed" && reach - source < figure(part, "rds_gate"))
      return "gate_drive_on";
  }
  return "";
}

/// A P switch at the rail whose gate cannot come near enough to it to let it off.
std::string RoleScreen::stays_on(const Part& part) const {
  if (part_class_ == "p-mosfet" &&
      rail_at_least(brief_) - high_gate_V_ > figure(part, "threshold_min"))
    return "gate_off";
  return "";
}

/// A switch of a leg that is off has the whole supply across it, whatever else is chosen.
std::string RoleScreen::switch_of_leg(const Part& part) const {
  if (!in_leg_) return "";
  const bool mos = is_mosfet(part_class_);
  // One junction drop of room: a leg's other switch and the source resistance take a little of the
  // supply.
  const double across = highest_supply(brief_) - 1.0;
  if (share(brief_, 0.9) * figure(part, mos ? "vds_max" : "vce_max") < across)
    return "switch_voltage";
  if (!mos || brief_.rules.accept != "guaranteed") return "";
  const double needed = figure(part, "rds_gate");
  if (low_gate_V_ < needed || (p_at_rail_ && lowest_supply(brief_) < needed))
    return "gate_drive_on";
  return "";
}

/// A chip across the rail: its ratings and its least supply against the brief's.
std::string RoleScreen::chip(const Part& part) const {
  if (!on_rail_) return "";
  if (share(brief_, 0.9) * figure(part, "supply_max") < highest_supply(brief_) - 1.0)
    return "switch_voltage";
  if (figure(part, "supply_min") > lowest_supply(brief_)) return "gate_drive_on";
  return "";
}

std::string RoleScreen::across_rail(const Part& part) const {
  if (!across_rail_) return "";
  if (is_capacitor(part_class_) &&
      share(brief_, 0.8) * figure(part, "voltage_max") < highest_supply(brief_) - 1.0)
    return "capacitor_voltage";
  if (part_class_ == "zener") {
    const double knee =
        physics::knee_V(part, figure(part, "vz") * (1.0 - figure(part, "vz_tolerance")));
    if (knee < highest_supply(brief_)) return "clamp_standoff";
  }
  return "";
}

std::string RoleScreen::turns_away(const Part& part) const {
  if (is_driver_chip(*find_part_class(part_class_))) return chip(part);
  if (!is_mosfet(part_class_) && !is_bipolar(part_class_)) return across_rail(part);
  for (const auto screen :
       {&RoleScreen::switch_of_leg, &RoleScreen::follower, &RoleScreen::stays_on})
    if (std::string id = (this->*screen)(part); !id.empty()) return id;
  return "";
}

std::string screened_by(const RolePlace& at, const Part& part) {
  return RoleScreen(at).turns_away(part);
}

}  // namespace pb
