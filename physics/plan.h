// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the controller does with its pins and when: drive states, dead time, supplies. Times in
// seconds from the first state; before it the circuit settles.
#pragma once

#include <string>
#include <vector>

#include "model/design.h"

namespace pb::physics {

/// From t_s on, these flows are asked for; `levels` one a pin of the template in its order; `on`
/// the switches meant to be on.
struct PlannedState {
  double t_s;
  std::string flow;  // two signs: windings a and b
  std::string levels;
  std::vector<std::string> on;
};

struct Plan {
  std::vector<PlannedState> states;
  double settle_s = 0;  // before t = 0
  double dead_time_s = 0;
  double end_s = 0;
  int steps_per_state_x2 = 2;  // full steps a state, times two: 2, or 1 for half step
  int moving_states = 0;       // states of the move; the rest are hold and release
  bool rotor_locked = false;
};

/// Flows of a sequence, in order. Empty if the name is unknown.
std::vector<std::string> flows_of(const std::string& sequence);
/// The state's pin levels and switches, put together from the template's groups; false if a group
/// lacks it.
bool find_state(const Template& t, const std::string& flow, PlannedState& out);
/// Whether the template has every state of the sequence.
bool supports(const Template& t, const std::string& sequence);

/// A move of `steps` full steps with the brief's ramp up, hold_s of standing in the last state,
/// then the stop of the settings (brake for release_s, then off where the wiring can) for
/// release_s.
Plan plan_move(const Design& design, const std::string& sequence, int steps, double dead_time_s,
               double hold_s, double release_s);
/// Standing in one state for `hold_s`.
Plan plan_hold(const Design& design, const std::string& flow, double hold_s);

/// Time at which state k of a move begins. [s]
double state_time(const MotionBrief& motion, int k, int states_per_step);

}  // namespace pb::physics
