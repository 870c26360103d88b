// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Units and their products: lexing, prefixes, exponents, and which dimension may stand for which.
//
//   unit    = ["1"] { "/" group } | factor { separator factor } { "/" group }
//   group   = factor | "(" factor { separator factor } ")"
//   factor  = name [["^"] ["-"] digit]          separator = spaces or "*"
//
// After a slash a further factor without brackets is refused: people disagree on what "W/m K"
// divides by.
#include "base/quantity_unit.h"

#include <array>
#include <cmath>
#include <cstddef>

#include "base/quantity_tables.h"
#include "base/text.h"

namespace pb::quantity {
namespace {

using Hint = std::string;
using Exponents = std::array<int, 10>;
constexpr std::size_t kHard = 6;  // kg m s A K step must match; the rest may be left out

Exponents exponents(Dim d) {
  return {d.kg, d.m, d.s, d.A, d.K, d.step, d.rad, d.cycle, d.joule, d.piece};
}

Dim to_dim(const Exponents& e) {
  const auto at = [&](std::size_t i) { return static_cast<std::int8_t>(e[i]); };
  return {at(0), at(1), at(2), at(3), at(4), at(5), at(6), at(7), at(8), at(9)};
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '%'; }

struct Named {
  UnitRow unit;
  int exp10 = 0;
};

// A unit by its name, or a prefix and a unit that takes it. The bare name wins: "min" is no
// milli-inch.
std::expected<Named, Hint> find_named(std::string_view name) {
  if (const UnitRow* unit = find_unit(name)) return Named{*unit, unit->exp10};
  const PrefixRow* prefix = find_prefix(name.substr(0, 1));
  const UnitRow* unit = prefix ? find_unit(name.substr(1)) : nullptr;
  const bool takes_it = unit && (unit->prefixes == Prefixes::metric_and_centi ||
                                 (unit->prefixes == Prefixes::metric && prefix->symbol != "c"));
  if (takes_it) return Named{*unit, unit->exp10 + prefix->exp10};
  return std::unexpected("unknown unit " + quoted(name));
}

// The known spelling of a unit written in the wrong case: "khz" is most likely kHz.
std::string known_spelling(std::string_view name) {
  for (const UnitRow& unit : units())
    if (equal_ignoring_case(unit.name, name)) return std::string(unit.name);
  if (name.empty()) return {};
  for (const bool same_case : {true, false})
    for (const PrefixRow& prefix : prefixes())
      for (const UnitRow& unit : units()) {
        const std::string whole = std::string(prefix.symbol) + std::string(unit.name);
        if (!equal_ignoring_case(whole, name) || (whole[0] == name[0]) != same_case) continue;
        if (find_named(whole)) return whole;
      }
  return {};
}

class UnitReader {
 public:
  explicit UnitReader(std::string_view text) : rest_(trim(text)) {}

  std::expected<Unit, Hint> read() {
    if (rest_.starts_with("1/") || rest_.starts_with("1 /")) rest_ = trim(rest_.substr(1));
    if (!rest_.starts_with('/'))
      if (Hint h = factors(+1); !h.empty()) return std::unexpected(h);
    while (!rest_.empty())
      if (Hint h = divisor(); !h.empty()) return std::unexpected(h);
    return result();
  }

 private:
  // Reads factors up to a slash, a closing bracket or the end; an empty hint means success.
  Hint factors(int sign) {
    while (true) {
      if (Hint h = factor(sign); !h.empty()) return h;
      rest_ = trim(rest_);
      if (rest_.empty() || rest_.front() == '/' || rest_.front() == ')') return {};
      if (rest_.front() == '*') rest_ = trim(rest_.substr(1));
    }
  }

  Hint divisor() {
    if (!rest_.starts_with('/'))
      return "after \"/\" put several units in brackets, as in \"W/(m K)\"";
    rest_ = trim(rest_.substr(1));
    if (!rest_.starts_with('(')) {
      Hint h = factor(-1);
      rest_ = trim(rest_);
      return h;
    }
    rest_.remove_prefix(1);
    rest_ = trim(rest_);
    if (Hint h = factors(-1); !h.empty()) return h;
    if (!rest_.starts_with(')')) return R"(a bracket is not closed)";
    rest_ = trim(rest_.substr(1));
    return {};
  }

  Hint factor(int sign) {
    std::size_t letters = 0;
    while (letters < rest_.size() && is_letter(rest_[letters])) ++letters;
    if (letters == 0) return stray();
    std::string_view name = rest_.substr(0, letters);
    rest_.remove_prefix(letters);
    if (const auto whole = find_named(std::string(name) + "2"); whole && rest_.starts_with('2')) {
      rest_.remove_prefix(1);
      return multiply(*whole, sign);  // "gcm2" is g·cm², not (g·cm)²
    }
    const auto named = find_named(name);
    if (!named) return unknown(name, named.error());
    int power = 1;
    if (!read_power(power)) return "an exponent is one digit, from -9 to 9 and not 0";
    return multiply(*named, sign * power);
  }

  static Hint unknown(std::string_view name, const Hint& error) {
    const std::string known = known_spelling(name);
    return known.empty() ? error : error + ": did you mean " + quoted(known) + "?";
  }

  Hint stray() const {
    if (rest_.empty()) return "a unit is missing";
    if (rest_.front() == '-') return R"(write a space or "*" between units, as in "N m")";
    return "unexpected " + quoted(rest_) + " in the unit";
  }

  bool read_power(int& power) {
    const bool marked = rest_.starts_with('^');
    if (marked) rest_.remove_prefix(1);
    const bool negative = rest_.size() > 1 && rest_[0] == '-' && is_digit(rest_[1]);
    if (negative) rest_.remove_prefix(1);
    if (rest_.empty() || !is_digit(rest_.front())) return !marked;
    power = (rest_.front() - '0') * (negative ? -1 : 1);
    rest_.remove_prefix(1);
    return power != 0 && (rest_.empty() || !is_digit(rest_.front()));
  }

  Hint multiply(const Named& named, int power) {
    const Exponents add = exponents(named.unit.dim);
    constexpr int kLimit = 60;  // far above any physics, far below what int8_t holds
    for (std::size_t i = 0; i < add.size(); ++i) {
      exponents_[i] += add[i] * power;
      if (std::abs(exponents_[i]) > kLimit) return "the exponents of the unit are absurd";
    }
    exp10_ += named.exp10 * power;
    factor_ *= std::pow(named.unit.factor, power);
    offset_ = first_ && power == 1 ? named.unit.offset : 0.0;
    first_ = false;
    return {};
  }

  std::expected<Unit, Hint> result() const {
    if (!std::isnormal(factor_)) return std::unexpected<Hint>("the factor of the unit is absurd");
    return Unit{to_dim(exponents_), exp10_, factor_, offset_};
  }

  std::string_view rest_;
  Exponents exponents_{};
  int exp10_ = 0;
  double factor_ = 1.0, offset_ = 0.0;
  bool first_ = true;
};

// The plain form of a superscript at the start of the text, or empty; `length` is its bytes.
std::string_view superscript(std::string_view text, std::size_t& length) {
  static constexpr SpellingRow kSuperscripts[] = {{"\u00b9", "1"}, {"\u00b2", "2"}, {"\u00b3", "3"},
                                                  {"\u2070", "0"}, {"\u2074", "4"}, {"\u2075", "5"},
                                                  {"\u2076", "6"}, {"\u2077", "7"}, {"\u2078", "8"},
                                                  {"\u2079", "9"}, {"\u207b", "-"}};
  for (const SpellingRow& row : kSuperscripts)
    if (text.starts_with(row.from)) {
      length = row.from.size();
      return row.to;
    }
  return {};
}

}  // namespace

std::expected<Unit, Hint> read_unit(std::string_view text) { return UnitReader(text).read(); }

std::string plain_spelling(std::string_view text) {
  std::string out;
  bool in_superscript = false;
  while (!text.empty()) {
    std::size_t length = 0;
    std::string_view plain = superscript(text, length);
    if (!plain.empty()) {
      if (!in_superscript) out += '^';  // so that "10²" does not read as 102
      in_superscript = true;
    } else {
      in_superscript = false;
      length = 1;
      plain = text.substr(0, 1);
      for (const SpellingRow& row : spellings())
        if (text.starts_with(row.from)) {
          length = row.from.size();
          plain = row.to;
          break;
        }
    }
    out += plain;
    text.remove_prefix(length);
  }
  return out;
}

bool fits(Dim found, Dim expected) {
  if (found.absolute != expected.absolute) return false;
  const Exponents f = exponents(found), e = exponents(expected);
  bool pure_number =
      true;  // where nothing hard is left, "may be left out" would let a number be an angle
  for (std::size_t i = 0; i < kHard; ++i) {
    if (f[i] != e[i]) return false;
    if (e[i] != 0) pure_number = false;
  }
  for (std::size_t i = kHard; i < f.size(); ++i)
    if (f[i] != e[i] && (f[i] != 0 || pure_number)) return false;
  return true;
}

}  // namespace pb::quantity
