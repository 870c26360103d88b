// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the checks have in common, and the function of each row of the table in checks.cpp: one a
// check, by subject in checks_*.cpp.
#pragma once

#include <algorithm>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "judgement/checks.h"
#include "judgement/hand.h"

namespace pb::checks {

using namespace physics;
using Rows = std::vector<Measured>;
using Function = Rows(const Case&, const Point&, const Evidence&);

// Derating, "commercial" set: common practice, no source (from memory).
struct Derating {
  double junction_K, voltage, gate, resistor, capacitor;
};
Derating derating(const Case& c);

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

/// Figures of a part in a run; all zero where the run knows none.
const PartFigures& of(const RunFigures& f, const std::string& ref);
/// Of a junction [K]; 0 where the run knows none.
double temperature(const RunFigures& f, const std::string& ref);
/// Pulse rating of the weakest switch of a leg; 1e300 where no part gives one. [A]
double weakest_pulse_A(const Case& c, const Leg& leg);
/// Both ends are the rail's.
bool across_rail(const Place& p);

/// Stands for "no temperature is consistent": above anything a part survives.
inline constexpr double kRunaway_K = 2000.0;

/// Least rating of what stands across the rail; switches through their drain rating. [V]
double rail_rating(const Case& c);

/// What driver chips add to gate_drive_on (high) or gate_off, switch_voltage, switch_peak, and to
/// the checks of junctions.
void add_chip_levels(const Case& c, const Point& point, const Evidence& e, bool high, Rows& out);
void add_chip_voltages(const Case& c, const Point& point, const Evidence& e, Rows& out);
void add_chip_peaks(const Case& c, const Point& point, const Evidence& e, Rows& out);
void add_chip_junctions(const Case& c, const Point& point, const HeatedRun& r, bool holding,
                        Rows& out);
/// Least derated rating of a chip's supply; 1e300 where there is no chip. [V]
double chip_rating_V(const Case& c);

Function gate_drive_on, base_drive_on, gate_off, shoot_through_edge, shoot_through_reset,
    shoot_through_fault, partial_supply, pin_current, pin_current_total, switch_voltage,
    switch_peak, switch_rms, switch_junction, switch_soa, diode_reverse, diode_current,
    diode_junction, clamp_standoff, clamp_energy, clamp_power, rail_peak, rail_dip, hot_plug,
    supply_mean, supply_peak, supply_inrush, capacitor_ripple, capacitor_voltage, winding_rms,
    winding_peak, winding_temperature, torque_margin, start_rate_check, resonance, lost_steps,
    end_position, rest_position, permanent_hold, resistor_power, trace, via, wire, pins,
    cost_target;

}  // namespace pb::checks
