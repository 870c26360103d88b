// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reads a product of units, "mN m s/rad", with the tables of quantity_tables.h. Internal to base;
// tested through quantity.h.
#pragma once

#include <expected>
#include <string>
#include <string_view>

#include "base/quantity.h"

namespace pb::quantity {

/// `text` is a unit in plain spelling (see plain_spelling). The error is a hint for people.
std::expected<Unit, std::string> read_unit(std::string_view text);

/// The text with every spelling of the table replaced by the plain one: "22 µF" is "22 uF", "m²" is
/// "m^2".
std::string plain_spelling(std::string_view text);

/// True if a quantity of dimension `found` may stand where `expected` is asked for (see Dim).
bool fits(Dim found, Dim expected);

}  // namespace pb::quantity
