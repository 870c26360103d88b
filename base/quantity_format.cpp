// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Writes quantities: for people, for files, for print.
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "base/check.h"
#include "base/decimal.h"
#include "base/quantity.h"
#include "base/quantity_tables.h"
#include "base/text.h"

namespace pb {
namespace {

using namespace quantity;

// The coherent unit of a dimension, "kg m2 s-1". The kinds that read better otherwise say so in
// their table.
std::string product_of_base_units(Dim d) {
  const std::pair<const char*, int> factors[] = {{"kg", d.kg},  {"m", d.m}, {"s", d.s},
                                                 {"A", d.A},    {"K", d.K}, {"steps", d.step},
                                                 {"rad", d.rad}};
  std::string text;
  for (const auto& [name, power] : factors) {
    if (power == 0) continue;
    if (!text.empty()) text += ' ';
    text += name;
    if (power != 1) text += std::to_string(power);
  }
  return text;
}

std::string with_unit(const std::string& number, std::string_view prefix, std::string_view unit) {
  if (unit.empty()) return number;
  return number + " " + std::string(prefix) + std::string(unit);
}

int power_of_prefix(const KindRow& kind, int exponent) {
  const int thousands = exponent >= 0 ? exponent / 3 : -((2 - exponent) / 3);
  int power = std::clamp(3 * thousands, kind.lowest, kind.highest);
  if (kind.skip_milli && power == -3) power = -6;
  // Far outside the prefixes "1e+300 V" reads better than "1e+297 kV".
  constexpr int kFar = 9;
  return std::abs(exponent - power) > kFar ? 0 : power;
}

// The number with the kind's unit and the prefix that suits it. Shifts the decimal point only, so
// the text still reads back to the same bits if the digits did.
std::string lay_out(Decimal number, const KindRow& kind) {
  const bool zero = number.digits == "0";
  if (!zero) number.exponent -= kind.exp10;
  const int power = zero ? 0 : power_of_prefix(kind, number.exponent);
  if (!zero) number.exponent -= power;
  const auto all = prefixes();
  const auto prefix =
      std::find_if(all.begin(), all.end(), [&](const PrefixRow& p) { return p.exp10 == power; });
  return with_unit(to_text(number), prefix == all.end() ? "" : prefix->symbol, kind.unit);
}

KindRow kind_or_plain(Dim dim, const std::string& unit) {
  if (const KindRow* kind = find_kind(dim)) return *kind;
  KindRow plain{};
  plain.unit = unit;
  return plain;
}

// The text in the unit people use ("85 degC"), if that reads back exactly.
std::string exact_for_people(double si, Dim dim, const KindRow& kind) {
  constexpr int kDigits = 12;  // what people write is shorter; the rest is rounding
  const double x = (si - kind.people_offset) / kind.people_factor;
  if (!std::isfinite(x)) return {};
  const std::string text = with_unit(to_text(rounded_decimal(x, kDigits)), "", kind.people_unit);
  const auto back = parse_quantity(text, dim);
  const bool same = back && *back == si && std::signbit(*back) == std::signbit(si);
  return same ? text : std::string();
}

}  // namespace

std::string si_unit(Dim dim) {
  const KindRow* kind = find_kind(dim);
  if (kind == nullptr) return product_of_base_units(dim);
  if (!kind->si.empty()) return std::string(kind->si);
  return kind->exp10 == 0 ? std::string(kind->unit) : product_of_base_units(dim);
}

std::string dim_unit(Dim dim) {
  const KindRow* kind = find_kind(dim);
  if (kind == nullptr) return product_of_base_units(dim);
  return std::string(kind->people_unit.empty() ? kind->unit : kind->people_unit);
}

std::string dim_name(Dim dim) {
  const KindRow* kind = find_kind(dim);
  return kind ? std::string(kind->name) : "a quantity in " + product_of_base_units(dim);
}

std::string format_quantity(double si, Dim dim, int digits) {
  const std::string plain_unit = product_of_base_units(dim);
  const KindRow kind = kind_or_plain(dim, plain_unit);
  if (!std::isfinite(si)) return with_unit(shortest(si), "", dim_unit(dim));
  if (kind.people_unit.empty()) return lay_out(rounded_decimal(si, digits), kind);
  const double x = (si - kind.people_offset) / kind.people_factor;
  return with_unit(significant(x, digits), "", kind.people_unit);
}

std::string format_percent(double fraction, int digits) {
  if (!std::isfinite(fraction)) return with_unit(shortest(fraction), "", "%");
  Decimal number = rounded_decimal(fraction, digits);
  if (number.digits != "0") number.exponent += 2;
  return with_unit(to_text(number), "", "%");
}

std::string join_range(std::string low, const std::string& high) {
  const std::size_t a = low.find(' '), b = high.find(' ');
  if (a != std::string::npos && b != std::string::npos && low.substr(a) == high.substr(b))
    low.erase(a);
  return low + " to " + high;
}

std::string format_range(double low, double high, Dim dim, int digits) {
  return join_range(format_quantity(low, dim, digits), format_quantity(high, dim, digits));
}

std::string to_exact_text(double si, Dim dim) {
  PB_CHECK(std::isfinite(si), si);
  const std::string plain_unit = product_of_base_units(dim);
  const KindRow kind = kind_or_plain(dim, plain_unit);
  if (!kind.people_unit.empty())
    if (std::string text = exact_for_people(si, dim, kind); !text.empty()) return text;
  return lay_out(shortest_decimal(si), kind);
}

std::string format_rkm(double ohm, int digits) {
  if (!(ohm >= 0.0 && ohm < 1e12)) return format_quantity(ohm, dim::resistance, digits);
  if (ohm == 0.0) return "0R";
  Decimal number = rounded_decimal(ohm, digits);
  const int group = std::clamp(number.exponent / 3, 0, 3);
  number.exponent -= 3 * group;
  std::string& d = number.digits;
  const char letter = "RkMG"[group];
  if (number.exponent < 0)
    return letter + std::string(static_cast<std::size_t>(-number.exponent - 1), '0') + d;
  const auto whole = static_cast<std::size_t>(number.exponent + 1);
  if (d.size() < whole) d.append(whole - d.size(), '0');
  return d.substr(0, whole) + letter + d.substr(whole);
}

namespace {

std::string typeset_number(std::string_view number) {
  static constexpr const char* kDigits[] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
  std::string text;
  const std::size_t e = number.find('e');
  for (const char c : number.substr(0, e)) text += c == '-' ? std::string("−") : std::string(1, c);
  if (e == std::string_view::npos) return text;
  text += "·10";
  bool leading = true;
  for (const char c : number.substr(e + 1)) {
    if (c == '-') text += "⁻";
    if (c < '0' || c > '9' || (c == '0' && leading)) continue;
    leading = false;
    text += kDigits[c - '0'];
  }
  return text;
}

std::string typeset_factor(std::string_view factor) {
  std::string text(factor);
  if (find_unit(text) == nullptr && text.size() > 1 && text[0] == 'u') text.replace(0, 1, "µ");
  text = replace_all(replace_all(text, "ohm", "Ω"), "degC", "°C");
  text = replace_all(replace_all(text, "2", "²"), "3", "³");
  return text == "deg" ? "°" : text;
}

}  // namespace

std::string typeset(std::string_view plain) {
  const std::size_t gap = plain.find(' ');
  std::string text = typeset_number(plain.substr(0, gap));
  if (gap == std::string_view::npos) return text;
  const auto factors = split(plain.substr(gap + 1), ' ');
  for (std::size_t i = 0; i < factors.size(); ++i) {
    const auto parts = split(factors[i], '/');
    for (std::size_t k = 0; k < parts.size(); ++k) {
      const std::string factor = typeset_factor(parts[k]);
      const bool closes_up = i == 0 && k == 0 && factor == "°";
      text += k > 0 ? "/" : i > 0 ? "·" : closes_up ? "" : " ";
      text += factor;
    }
  }
  return text;
}

}  // namespace pb
