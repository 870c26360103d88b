// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How deliveries write quantities and parts for people: engineering notation everywhere.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "model/design.h"

namespace pb::delivery {

/// "350 mA" from 0.35 and "A". `unit` is a verdict's: SI, degC, "" for a ratio, or any other word,
/// which then stands behind the number.
std::string with_unit(double value, std::string_view unit, int digits = 3);
/// What one of the unit is in the unit that with_unit() shows, where that is not a power of ten:
/// 57.3 for rad, which people read in degrees.
double shown_scale(std::string_view unit);
/// Money: at least two decimals and three significant digits, no trailing zeros beyond: "0.0185
/// USD".
std::string money(double amount, std::string_view currency);
/// "saves 0.0025 USD a board"; "costs ... more", "costs the same".
std::string saving_text(double saves, std::string_view currency);
/// What stands beside a symbol: "360R", "100 µF", or the part number.
std::string short_value(const Design& design, const std::string& role);
/// One line of a parts list: "resistor 360R, 1 %".
std::string description(const Design& design, const std::string& role);
/// "gate_resistor" as words: "gate resistor".
std::string words(std::string_view name);
/// Q2 before Q10.
bool ref_before(std::string_view a, std::string_view b);

/// Everything of one part number and value on the board.
struct PartsLine {
  std::vector<std::string> refs, roles;
  const Part* part = nullptr;
  double unit_price = kNotGiven;  // at the quantity the whole build orders
};
/// By first reference; places whose role has no part are left out.
std::vector<PartsLine> parts_lines(const Design& design);

}  // namespace pb::delivery
