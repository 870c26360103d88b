// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Packages: what a part's body takes on the board. One row a package; the catalogue's package
// column names the row. Tested by tests/unit/judgement_cost.cpp.
#pragma once

#include <span>
#include <string_view>

namespace pb {

struct Package {
  std::string_view name;
  double width_mm, length_mm;  // courtyard: body, leads and the room a placing machine wants
  bool through_hole;
  int joints;  // solder joints
};

std::span<const Package> packages();
/// Null if there is no such row.
const Package* find_package(std::string_view name);

inline double courtyard_m2(const Package& p) { return p.width_mm * p.length_mm * 1e-6; }

}  // namespace pb
