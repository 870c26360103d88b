// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reasons to pass over a part in a role before anything is simulated. Each takes the bound most
// favourable to the part, over every setting and every other part; each has its check in the full
// proof under the same id.
#pragma once

#include <string>

#include "model/design.h"

namespace pb {

/// What of the template one role stands in.
struct RolePlace {
  const Brief& brief;
  const Template& wiring;
  const Role& role;
};

/// Id of the check that the part must fail in this role; empty if it may pass.
std::string screened_by(const RolePlace& at, const Part& part);

/// Highest voltage a node can be pulled to through resistors, pins and supplies, at lowest supply
/// and logic; the rail or the logic where anything else is in the way.
double highest_reach_V(const Brief& brief, const Template& wiring, const std::string& node);
/// Highest voltage of a node that hangs on resistors, pins and supplies alone, all pins high, over
/// every value the template lists; the higher of rail and logic where anything else hangs on it.
double highest_by_resistors_V(const Brief& brief, const Template& wiring, const std::string& node);

}  // namespace pb
