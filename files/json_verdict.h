// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A verdict as JSON: SI, temperatures in degC, never NaN. Tested by tests/unit/files_json.cpp.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "model/verdict.h"

namespace pb {

/// The number, or null where JSON has none for it.
nlohmann::ordered_json json_number(double x);

/// passes, energy_residual, checks, not_judged, undecided. A check with a number that is none is
/// named in `undecided` too.
nlohmann::ordered_json to_json(const Verdict& verdict);

}  // namespace pb
