// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the landed cost hangs on: each of its inputs moved alone to the ends of a range, the parts
// bought anew each time. Tested by tests/unit/judgement_ladder.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/cost.h"

namespace pb {

struct TornadoBar {
  std::string input;
  double low = 0, high = 0;  // the ends, times the value of the brief or the catalogue
  double value = kNotGiven;  // that value, where it is one number
  std::string unit;
  double cost_low = 0, cost_high = 0;  // landed, at the ends
};

/// Greatest swing first; inputs that change nothing are left out.
std::vector<TornadoBar> tornado(const Brief& brief, const std::vector<CostLine>& lines);

}  // namespace pb
