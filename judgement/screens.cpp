// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/screens.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace pb {
namespace {

bool is_mosfet(const std::string& c) { return c == "n-mosfet" || c == "p-mosfet"; }

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

/// A switch of a leg that is off has the whole supply across it, whatever else is chosen.
std::string screen_switch(const RolePlace& at, const Part& part) {
  const bool mos = is_mosfet(part.part_class);
  const bool in_leg = every_place(at, [&](const Place& p) { return in_a_leg(at.wiring, p.ref); });
  // One junction drop of room: a leg's other switch and the source resistance take a little of the
  // supply.
  const double across = highest_supply(at.brief) - 1.0;
  if (in_leg && mos && share(at.brief, 0.9) * figure(part, "vds_max") < across)
    return "switch_voltage";
  if (in_leg && !mos && share(at.brief, 0.9) * figure(part, "vce_max") < across)
    return "switch_voltage";
  if (!mos || !in_leg || at.brief.rules.accept != "guaranteed") return "";
  const double needed = figure(part, "rds_gate");
  for (const Place& p : at.wiring.places) {
    if (p.role != at.role.name) continue;
    const std::string &gate = p.nodes[1], &source = p.nodes[2];
    if (part.part_class == "n-mosfet" && source == kGround &&
        highest_reach_V(at.brief, at.wiring, gate) < needed)
      return "gate_drive_on";
    if (part.part_class == "p-mosfet" && source == kRail && lowest_supply(at.brief) < needed)
      return "gate_drive_on";
  }
  return "";
}

/// A chip across the rail: its ratings and its least supply against the brief's.
std::string screen_chip(const RolePlace& at, const Part& part) {
  const bool on_rail =
      every_place(at, [](const Place& p) { return p.nodes[0] == kRail && p.nodes[1] == kGround; });
  if (!on_rail) return "";
  if (share(at.brief, 0.9) * figure(part, "supply_max") < highest_supply(at.brief) - 1.0)
    return "switch_voltage";
  if (figure(part, "supply_min") > lowest_supply(at.brief)) return "gate_drive_on";
  return "";
}

std::string screen_across_rail(const RolePlace& at, const Part& part) {
  const bool across =
      every_place(at, [](const Place& p) { return touches(p, kRail) && touches(p, kGround); });
  if (!across) return "";
  if (is_capacitor(part.part_class) &&
      share(at.brief, 0.8) * figure(part, "voltage_max") < highest_supply(at.brief) - 1.0)
    return "capacitor_voltage";
  if (part.part_class == "zener") {
    const double knee = figure(part, "vz") * (1.0 - figure(part, "vz_tolerance")) -
                        figure(part, "zz") * figure(part, "iz_test");
    if (knee < highest_supply(at.brief)) return "clamp_standoff";
  }
  return "";
}

}  // namespace

double highest_reach_V(const Brief& brief, const Template& t, const std::string& start) {
  const double anything = std::max(lowest_supply(brief), lowest_logic(brief));
  std::set<std::string> seen{start};
  std::vector<std::string> open{start};
  double highest = 0;
  while (!open.empty()) {
    const std::string node = open.back();
    open.pop_back();
    if (node == kGround) continue;
    if (node == kRail) highest = std::max(highest, lowest_supply(brief));
    if (node == kLogic) highest = std::max(highest, lowest_logic(brief));
    for (const Pin& p : t.pins)
      if (p.node == node) highest = std::max(highest, lowest_logic(brief));
    if (node == kRail || node == kLogic) continue;
    for (const Place& p : t.places) {
      const Role* r = find_role(t, p.role);
      if (!r || !touches(p, node) || is_capacitor(r->part_class)) continue;
      if (is_mosfet(r->part_class) && p.nodes[1] == node && p.nodes[0] != node &&
          p.nodes[2] != node)
        continue;  // a gate carries nothing
      if (r->part_class != "resistor") return anything;
      for (const std::string& n : p.nodes)
        if (seen.insert(n).second) open.push_back(n);
    }
    for (const auto* w : {&t.winding_a, &t.winding_b})
      if (std::count(w->begin(), w->end(), node) > 0) return anything;
  }
  return highest;
}

std::string screened_by(const RolePlace& at, const Part& part) {
  const std::string& c = part.part_class;
  if (is_mosfet(c) || c == "npn" || c == "pnp") return screen_switch(at, part);
  if (is_driver_chip(*find_part_class(c))) return screen_chip(at, part);
  return screen_across_rail(at, part);
}

}  // namespace pb
