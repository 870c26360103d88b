// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Whole numbers without a bound: the candidates of a search over a distributor's catalogue are more
// than a double can count one by one, and an account of them must sum exactly. Tested by
// tests/unit/base_natural.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace pb {

class Natural {
 public:
  Natural() = default;
  Natural(std::uint64_t n);  // NOLINT(google-explicit-constructor): a number is a number

  Natural& operator+=(const Natural& o);
  /// `o` must not be greater.
  Natural& operator-=(const Natural& o);
  /// By less than 2^32.
  Natural& operator*=(std::uint64_t factor);
  bool operator==(const Natural&) const = default;

  bool is_zero() const { return limbs_.empty(); }
  double approximate() const;
  std::string text() const;  // decimal

 private:
  void trim();
  std::vector<std::uint32_t> limbs_;  // base 10^9, lowest first, no leading zeros
};

inline Natural operator+(Natural a, const Natural& b) { return a += b; }
inline Natural operator-(Natural a, const Natural& b) { return a -= b; }

}  // namespace pb
