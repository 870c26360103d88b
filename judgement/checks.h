// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The registry of checks: one row an id. A check reads figures off the evidence and states value,
// limit and what the number rests on. docs/checks.md lists them.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "judgement/evidence.h"

namespace pb {

/// One number of one check.
struct Measured {
  std::string subject;
  double value, limit;
  Grade grade;
  std::string hand_formula;
  double hand_value = 0;
};

struct CheckRow {
  std::string_view id, unit;
  Sense sense;
  std::string_view source;  // of the limit
  std::string_view help;
  std::vector<Measured> (*measure)(const Case&, const physics::Point&, const Evidence&);
};

std::span<const CheckRow> check_rows();
/// Ids of the contract without a row: "not judged yet".
std::vector<std::string> ids_not_judged();

}  // namespace pb
