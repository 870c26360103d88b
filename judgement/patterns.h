// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What every leg does at every pattern of the controller's pins that is held for ever, and which of
// those patterns the program passes through. Pins that no part connects are told apart, so that
// eight pins of four legs are four patterns a leg and not 256. Tested by
// tests/unit/judgement_patterns.cpp.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "judgement/evidence.h"

namespace pb {

/// Pins and legs that parts connect otherwise than through the supplies.
struct PinGroup {
  std::vector<std::size_t> pins;  // indices of the template's
  std::vector<std::string> outputs;
};
std::vector<PinGroup> pin_groups(const Design& design);

/// The levels of one group's pins that the program passes through, "1001" in the group's order:
/// each drive state, and between two states every order in which the pins of one write may change.
/// Pins that turn a switch off are written first, the others after the dead time.
std::vector<std::string> passed_patterns(const Design& design, const PinGroup& group);

/// Levels of the group's pins in a drive state, "10" in the group's order; a pin left open counts
/// as off.
std::string levels_of(const Template& t, const PinGroup& g, const physics::PlannedState& s);
/// A pattern by its number, the group's first pin in the lowest bit.
std::string bits_of(std::size_t number, std::size_t count);

std::map<std::string, LegPatterns> leg_patterns(const Case& c, const physics::Point& p,
                                                const physics::Temperatures& t, double tolerance,
                                                const StopToken& stop);

}  // namespace pb
