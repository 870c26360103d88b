// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the controller does with its pins and when, as the drive code of drive/ does it: every plan
// is made by running that code with the design's tables. Times in seconds from the first state of
// the move; before it the circuit settles. Tested by tests/unit/physics_drive.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/design.h"
#include "physics/drive_table.h"

namespace pb::physics {

/// From t_s on, these flows are asked for; `levels` one a pin of the template in its order; `on`
/// the switches meant to be on.
struct PlannedState {
  double t_s;
  std::string flow;  // two signs: windings a and b
  std::string levels;
  std::vector<std::string> on;
};

/// A moment when switches have settled as far as they will: just before one of them changes. Those
/// of `on` are meant to be on, those of `off` off; of others it says nothing.
struct Look {
  double t_s;
  std::vector<std::string> on, off;
};

/// One pin changes; `pin` in the order of the template. Ticks of the controller's timer.
struct PinWrite {
  std::int64_t tick;
  int pin;
  char level;  // '0' '1' 'z'
  bool operator==(const PinWrite&) const = default;
};

/// A winding's analog output goes to a share of the logic supply.
struct ReferenceWrite {
  std::int64_t tick;
  int winding;
  double share;
};

struct Plan {
  std::vector<PlannedState> states;
  std::vector<PinWrite> writes;  // in order; those before t = 0 make the safe and the first state
  std::vector<Look> looks;       // chopped drives, rising; of others the ends of the moving states
  double tick_s = 1;
  double settle_s = 0;  // before t = 0
  double end_s = 0;
  int per_step = 1;       // states a full step
  int moving_states = 0;  // states of the move; the rest are hold and release
  int cruise_from = 0,
      cruise_to = 0;  // states between which the running rate is held; equal: never
  bool rotor_locked = false;
  bool measured = false;  // choppers that measure are at work; then `writes` are of driven states
  std::vector<ReferenceWrite> references;
  double dead_s = 0;          // of measured plans
  double clock_Hz = 0;        // of pins that a timer toggles all the time; 0: there are none
  double left_out_steps = 0;  // of the brief's move, from its middle: an end stop is as much nearer

  /// Whether nothing moves from the first state on: no rotor, no pin.
  bool stands_still() const {
    return states.size() == 1 && rotor_locked && looks.empty() && !measured && clock_Hz == 0;
  }
};

/// Flows of a sequence, in order. Empty if the name is unknown. Every one that occurs in micro does
/// with two states a step.
std::vector<std::string> flows_of(const std::string& sequence, int microsteps = 2);
/// The state's pin levels and switches, put together from the template's groups; false if a group
/// lacks it.
bool find_state(const Template& t, const std::string& flow, PlannedState& out);
/// What any state of the groups of winding 0 or 1 ever turns on.
std::vector<std::string> switches_of(const Template& t, int winding);
/// Whether the template has every state of the sequence.
bool supports(const Template& t, const std::string& sequence);

/// A move of `steps` full steps, and what the tables say comes after it; watched until the outputs
/// are released, kBrake_s beyond that, or to the end of the hold where there is no release.
Plan plan_move(const Design& design, const DriveTable& table, int steps);
/// Standing in the tables' first state for `hold_s`; a chopped drive goes on chopping.
Plan plan_hold(const Design& design, const DriveTable& table, double hold_s);
/// The first edge of the clocked pins, a rising one: the program runs.
double clock_from_s(const Plan& plan);
/// Makes a plan of standing stand at these levels, which no program need ever write.
void stand_at(Plan& plan, const std::string& levels);

}  // namespace pb::physics
