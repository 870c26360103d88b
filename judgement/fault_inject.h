// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a fault does to a circuit that is put together. Nothing is taken out that would leave a node
// or an unknown without an equation: an open resistor is a very large one. Tested by
// tests/unit/judgement_faults.cpp.
#pragma once

#include <string>

#include "physics/circuit.h"

namespace pb::inject {

/// A broken-down junction, a bridge of solder; from memory.
inline constexpr double kShort_ohm = 10e-3;
/// A lifted lead on a clean board; common practice, no source.
inline constexpr double kOpen_ohm = 1e9;
/// Of a board that is not quite clean: what a gate without a lead follows in the end.
inline constexpr double kLeak_ohm = 1e6;

/// Everything that reports under `ref` conducts no more, stray capacitance aside.
void open_part(physics::Circuit& c, const std::string& ref);
/// A resistor between two nodes of the circuit, reported under `ref`.
void bridge(physics::Circuit& c, const std::string& from, const std::string& to, double ohm,
            const std::string& ref);

/// A gate's lead has lifted; its charge leaks to a node, by which it is held on or off.
void lift_gate(physics::Circuit& c, const std::string& ref, const std::string& leaks_to);

/// A pin that stays at the logic supply, at ground, or open, whatever the program writes;
/// `driven_S`: what its driver conducts.
enum class Stuck { high, low, floating };
void stick_pin(physics::Circuit& c, const std::string& pin, Stuck at, double driven_S);
/// From t on all pins are as the brief has them in reset: a level behind this conductance.
void reset_pins(physics::Circuit& c, double t_s, double level_V, double conductance_S);

void open_winding(physics::Circuit& c, std::size_t winding);
/// Start and finish change places: the winding's current runs the other way.
void turn_winding(physics::Circuit& c, std::size_t winding);
/// The middle two of four leads are swapped: coils between the first and third, second and fourth.
void cross_windings(physics::Circuit& c);

/// Plus and minus of the supply swapped.
void reverse_supply(physics::Circuit& c);
/// The supply's plug is out.
void unplug_supply(physics::Circuit& c);
/// A hand turns the rotor at this speed.
void turn_rotor(physics::Circuit& c, double speed_rad_s);

}  // namespace pb::inject
