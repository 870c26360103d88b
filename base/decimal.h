// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Decimal digits of a double, to be laid out with a unit prefix. Used by text.cpp and
// quantity_format.cpp. Tested through both, in tests/unit/base_text.cpp and
// base_quantity_format.cpp.
#pragma once

#include <string>

namespace pb {

/// ± d.ddd × 10^exponent, no trailing zeros; zero is {"0", 0}.
struct Decimal {
  bool negative = false;
  std::string digits;
  int exponent = 0;
};

/// The fewest digits that read back to the same bits. `x` must be finite.
Decimal shortest_decimal(double x);
/// Rounded to `digits` >= 1 significant digits. `x` must be finite.
Decimal rounded_decimal(double x, int digits);
/// "-12.5", "0.0047"; "1.5e-09" where plain notation would need more than a few padding zeros.
std::string to_text(const Decimal& number);
/// The double nearest to the text `mantissa` (plain decimal digits) times 10^exponent; infinite or
/// zero where a double cannot hold it.
double from_decimal(const std::string& mantissa, int exponent);

}  // namespace pb
