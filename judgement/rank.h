// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Which designs are worth a rank of their own. One that differs in a resistor or a capacitor is the
// same driver, dearer. Tested by tests/threads/search.cpp and tests/cli/test_design.py.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "judgement/space.h"

namespace pb {

struct Ranked;

/// Whether another part of this class makes another driver: switches, diodes, chips.
bool makes_a_driver(std::string_view part_class);

/// A pick without what makes no rank of its own: switches and diodes.
Pick driver_of(const Space& s, const Pick& pick);
/// Number of the driver chip in a pick; empty if there is none.
std::string chip_in(const Space& s, const Pick& pick);

/// Of designs in order of cost, those of another template, switch or diode than any before.
std::vector<std::size_t> distinct(const std::vector<Ranked>& found);

}  // namespace pb
