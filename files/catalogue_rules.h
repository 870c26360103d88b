// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the figures of one part must not contradict among themselves. Internal to files; tested
// through files/catalogue.h and
// files/toml_design.h.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "model/part.h"

namespace pb {

/// `low` must not exceed `high` (or must be below it). The rule holds for every class that has both
/// figures, where a part has both.
struct FigureOrder {
  std::string_view low, high;
  bool strictly = false;
};

/// The rules `part` breaks.
std::vector<FigureOrder> broken_orders(const Part& part);
/// "at most hfe_max 300": what the lower figure should have been.
std::string expected_of(const Part& part, const FigureOrder& order, Dim dim);

}  // namespace pb
