// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Decimal digits by std::to_chars and std::from_chars: correctly rounded and blind to the locale.
#include "base/decimal.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <string_view>

#include "base/check.h"

namespace pb {
namespace {

// "0.000012" and "12000000" still read well; beyond, an exponent is easier than counting zeros.
constexpr int kMostLeadingZeros = 4;
constexpr int kMostTrailingZeros = 6;

// From what to_chars writes in scientific form: -d.ddde±xx
Decimal from_scientific(std::string_view text) {
  Decimal number;
  if (text.front() == '-') {
    number.negative = true;
    text.remove_prefix(1);
  }
  const std::size_t e = text.find('e');
  for (const char c : text.substr(0, e))
    if (c != '.') number.digits += c;
  while (number.digits.size() > 1 && number.digits.back() == '0') number.digits.pop_back();
  std::string_view exponent = text.substr(e + 1);
  if (exponent.front() == '+') exponent.remove_prefix(1);
  std::from_chars(exponent.data(), exponent.data() + exponent.size(), number.exponent);
  return number;
}

}  // namespace

Decimal shortest_decimal(double x) {
  PB_CHECK(std::isfinite(x), x);
  std::array<char, 40> buffer;
  const auto r =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), x, std::chars_format::scientific);
  return from_scientific({buffer.data(), r.ptr});
}

Decimal rounded_decimal(double x, int digits) {
  PB_CHECK(std::isfinite(x) && digits >= 1 && digits <= 17, x, digits);
  std::array<char, 40> buffer;
  const auto r = std::to_chars(buffer.data(), buffer.data() + buffer.size(), x,
                               std::chars_format::scientific, digits - 1);
  return from_scientific({buffer.data(), r.ptr});
}

std::string to_text(const Decimal& number) {
  const int count = static_cast<int>(number.digits.size());
  const int e = number.exponent;
  std::string text = number.negative ? "-" : "";
  if (e < -kMostLeadingZeros - 1 || e - count >= kMostTrailingZeros) {
    text += number.digits.substr(0, 1);
    if (count > 1) text += "." + number.digits.substr(1);
    return text + (e < 0 ? "e-" : "e+") + (std::abs(e) < 10 ? "0" : "") +
           std::to_string(std::abs(e));
  }
  if (e < 0)
    return text + "0." + std::string(static_cast<std::size_t>(-e - 1), '0') + number.digits;
  if (e >= count - 1)
    return text + number.digits + std::string(static_cast<std::size_t>(e - count + 1), '0');
  const auto whole = static_cast<std::size_t>(e + 1);
  return text + number.digits.substr(0, whole) + "." + number.digits.substr(whole);
}

double from_decimal(const std::string& mantissa, int exponent) {
  const std::string text = mantissa + "e" + std::to_string(exponent);
  double x = 0.0;
  const auto r = std::from_chars(text.data(), text.data() + text.size(), x);
  if (r.ec == std::errc{}) return x;
  // Out of range, and x is left alone: the power of ten of the first digit that is not 0 tells
  // which end.
  const std::size_t lead = mantissa.find_first_of("123456789");
  const std::size_t point = std::min(mantissa.find('.'), mantissa.size());
  if (lead == std::string::npos) return 0.0;
  const long long power = static_cast<long long>(exponent) + static_cast<long long>(point) -
                          static_cast<long long>(lead);
  const double end = power > 0 ? std::numeric_limits<double>::infinity() : 0.0;
  return mantissa.front() == '-' ? -end : end;
}

}  // namespace pb
