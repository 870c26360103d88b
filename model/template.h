// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A template: one way to wire the whole driver, as data. Parts in roles at places, controller pins,
// the pin levels of every drive state and which switches are meant to be on in it. docs/formats.md
// has the file form. Tested by tests/unit/model_template.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"

namespace pb {

/// What to buy: one part serves every place of the role.
struct Role {
  std::string name, part_class, doc;
  bool optional = false;       // may be left out of a design
  std::vector<double> values;  // resistors: values in ohm the tool may choose from; else empty
};

/// One part on the board.
struct Place {
  std::string ref, role;
  std::vector<std::string> nodes;  // one a terminal of the class, in its order
  double x = 0, y = 0;             // drawing grid
  std::string turn = "0";          // "0" "90" "180" "270", a leading "m" mirrors
};

struct Pin {
  std::string name, node;
  char off = '-';  // level that turns its switch off: '0' '1', or '-' where the pin steers two
                   // switches at once
  /// > 0: a timer of the controller toggles it as long as the program runs, at standstill too; no
  /// state sets it.
  double clock_Hz = 0;
};

/// Nodes with a meaning: "gnd", "rail" (motor supply), "logic" (controller's supply).
inline constexpr const char* kGround = "gnd";
inline constexpr const char* kRail = "rail";
inline constexpr const char* kLogic = "logic";

/// A drive state of one or both windings: what flows, the pins' levels, the switches meant to be
/// on. `flow`: one sign a winding of the group: '+', '-', '0' (open: coast), 'b' (shorted: brake),
/// 'p' or 'm' ('+' or '-' with one of its two switches off: a chopped current goes on through a
/// diode).
struct DriveState {
  std::string flow;
  std::string levels;           // one a pin of the group: '0' '1' 'z'
  std::vector<std::string> on;  // refs; of a driver chip the inputs meant to be high: "U1.in1"
};

struct DriveGroup {
  std::string windings;  // "a", "b" or "ab"
  std::vector<std::string> pins;
  std::vector<DriveState> states;
};

/// One output and the switches that pull it up and down: where shoot-through is looked for.
struct Leg {
  std::string output;
  std::vector<std::string> high, low;
};

/// How a winding's current is measured, where it is. The controller puts a voltage on `reference`,
/// an analog output; what comes down from the winding's low switches flows to ground from `sense`.
/// A comparator pulls `reached`, an input of the controller, down when its minus is above its plus;
/// none where the driver chip compares by itself.
struct Measure {
  std::string winding;  // "a" or "b"
  std::string sense, reference, reached;
};

struct Template {
  std::string id, title, wins_when;
  std::vector<Role> roles;
  std::vector<Place> places;
  std::vector<Pin> pins;
  std::vector<std::string> winding_a, winding_b;  // two nodes each, start and finish
  std::vector<DriveGroup> groups;
  std::vector<Leg> legs;
  std::vector<Measure> measures;  // none, or one a winding: a, then b
};

/// Frequency at which a timer toggles the wiring's clocked pins; 0 without one. [Hz]
double clock_of(const Template& t);
/// How many of its pins drive states set: clocked ones come after them.
std::size_t set_pins(const Template& t);

/// Pins of the controller that the wiring takes: digital ones, analog outputs and inputs.
int controller_pins(const Template& t);

const Role* find_role(const Template& t, const std::string& name);
const Place* find_place(const Template& t, const std::string& ref);
const Pin* find_pin(const Template& t, const std::string& name);

/// What input `terminal` of the driver chip at `ref` is called: "U1.in1".
std::string input_name(std::string_view ref, std::string_view terminal);
/// The place a name in a state's `on` belongs to: the place of that ref, or the chip of that input;
/// null if there is none.
const Place* find_switched(const Template& t, const std::string& name);

/// Everything wrong with a template that its own text shows: unknown roles and classes, wrong
/// terminal counts, nodes only one thing touches, pins without a group, states of the wrong length,
/// legs and states naming no place, windings without a forward and a reverse state.
Problems faults_of(const Template& t);

}  // namespace pb
