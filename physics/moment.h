// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What flows at one moment of a move: the run up to it, and the current of every element there.
// Tested by tests/unit/physics_moment.cpp.
#pragma once

#include <string>
#include <vector>

#include "base/stop.h"
#include "physics/assembly.h"
#include "physics/plan.h"

namespace pb::physics {

/// From node to node through an element of the part `ref`: anode to cathode, drain to source,
/// collector to emitter (the base's share is not in it), lead to lead.
struct Branch {
  std::string ref, from, to;
  double current_A = 0;
};

/// Empty if the run does not get there.
std::vector<Branch> currents_at(const Design& design, const std::vector<Spread>& spreads,
                                const Point& point, const Temperatures& temperatures,
                                const Plan& plan, double t_s, const StopToken& stop = {});

/// Current into the part at each of the nodes; NaN at a node where no element of it is known: a
/// gate, a base, a chip. A part of two ends takes in at one what it gives at the other.
std::vector<double> currents_into(const std::vector<Branch>& branches, const std::string& ref,
                                  const std::vector<std::string>& nodes);

}  // namespace pb::physics
