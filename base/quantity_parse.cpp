// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reads quantities: number, marking code, unit, dimension check, and a helpful refusal.
#include <algorithm>
#include <cmath>
#include <optional>

#include "base/decimal.h"
#include "base/quantity.h"
#include "base/quantity_tables.h"
#include "base/quantity_unit.h"
#include "base/text.h"

namespace pb {
namespace {

using namespace quantity;
using Hint = std::string;

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool digit_at(std::string_view s, std::size_t i) { return i < s.size() && is_digit(s[i]); }

std::size_t count_digits(std::string_view s) {
  return static_cast<std::size_t>(std::find_if_not(s.begin(), s.end(), is_digit) - s.begin());
}

// A decimal number as written: mantissa × 10^exp10, the mantissa with sign and point.
struct Number {
  std::string mantissa;
  int exp10 = 0;
};

// The number is split off `rest`.
class NumberReader {
 public:
  explicit NumberReader(std::string_view& rest) : rest_(rest) {}

  std::expected<Number, Hint> read() {
    if (Hint h = refuse_special(); !h.empty()) return std::unexpected(h);
    Number number;
    sign(number);
    digits(number);
    if (rest_.starts_with('.')) {
      number.mantissa += '.';
      rest_.remove_prefix(1);
      digits(number);
    }
    if (number.mantissa.find_first_of("0123456789") == std::string::npos)
      return std::unexpected<Hint>("a number comes first");
    if (Hint h = refuse_grouping(number.mantissa); !h.empty()) return std::unexpected(h);
    exponent(number);
    return number;
  }

 private:
  void sign(Number& number) {
    if (!rest_.starts_with('-') && !rest_.starts_with('+')) return;
    if (rest_.front() == '-') number.mantissa += '-';
    rest_.remove_prefix(1);
  }

  void digits(Number& number) {
    const std::size_t n = count_digits(rest_);
    number.mantissa += rest_.substr(0, n);
    rest_.remove_prefix(n);
  }

  // "e-6" as typed, or "*10^-6" as printed.
  void exponent(Number& number) {
    constexpr std::string_view kPrinted = "*10^";
    std::size_t first = 1;
    if (rest_.starts_with(kPrinted))
      first = kPrinted.size();
    else if (!rest_.starts_with('e') && !rest_.starts_with('E'))
      return;
    const std::string_view after = rest_.substr(first);
    const bool negative = after.starts_with('-');
    if (negative || after.starts_with('+')) ++first;
    const std::size_t n = count_digits(rest_.substr(first));
    if (n == 0) return;  // no exponent after all: the unit reader will say what it thinks of it
    constexpr int kHuge = 99999;  // beyond any double, and still safe to add to
    int e = 0;
    for (const char c : rest_.substr(first, n)) e = std::min(kHuge, 10 * e + (c - '0'));
    number.exp10 = negative ? -e : e;
    rest_.remove_prefix(first + n);
  }

  Hint refuse_special() const {
    std::string_view body = rest_;
    if (body.starts_with('-') || body.starts_with('+')) body.remove_prefix(1);
    const std::string word = to_lower(body.substr(0, 3));
    return word == "nan" || word == "inf" ? "the number must be finite" : "";
  }

  Hint refuse_grouping(const std::string& before) const {
    const bool comma = rest_.starts_with(',') && digit_at(rest_, 1);
    const bool tick = (rest_.starts_with('\'') || rest_.starts_with('_')) && digit_at(rest_, 1);
    const bool point = rest_.starts_with('.');
    const std::size_t space = rest_.size() - std::string_view(trim(rest_)).size();
    const bool gap = rest_.starts_with(' ') && digit_at(trim(rest_), 0) &&
                     trim(rest_).substr(0, 2) != "1/" && space > 0;
    if (comma) return comma_hint(before);
    if (tick || gap || point) return "digits are not grouped: write \"1000\"";
    return {};
  }

  Hint comma_hint(const std::string& before) const {
    const std::size_t n = count_digits(rest_.substr(1));
    const std::string after(rest_.substr(1, n));
    const std::string as_decimal = quoted(before + "." + after);
    const bool may_group = n == 3 && before.find('.') == before.npos && before.front() != '0';
    if (may_group)
      return "the comma is ambiguous: write " + quoted(before + after) + " or " + as_decimal;
    return "the decimal sign is a point: write " + as_decimal;
  }

  std::string_view& rest_;
};

std::expected<double, Hint> to_si(const Number& number, const Unit& unit) {
  const double decimal = from_decimal(number.mantissa, number.exp10 + unit.exp10);
  const double x = unit.factor == 1.0 ? decimal : decimal * unit.factor;
  if (!std::isfinite(x)) return std::unexpected<Hint>("the number is too large");
  if (x == 0.0 && number.mantissa.find_first_of("123456789") != std::string::npos)
    return std::unexpected<Hint>("the number is too small");
  return unit.offset == 0.0 ? x : x + unit.offset;
}

// ---- marking code
// ---------------------------------------------------------------------------------------

// What follows the letter and its digits must be nothing or the plain unit: "4k7", "4k7 ohm".
bool ends_marked(std::string_view rest, Dim dim) {
  rest = trim(rest);
  if (rest.empty()) return true;
  const UnitRow* unit = find_unit(rest);
  return unit != nullptr && unit->dim == dim && unit->exp10 == 0 && unit->factor == 1.0;
}

// "4k7", "R47", "4.7k", "4.7 k" as a number, if the text is one and the kind has such letters.
std::optional<Number> read_marked(std::string_view text, const KindRow& kind) {
  Number number;
  if (text.starts_with('-') || text.starts_with('+')) {
    if (text.front() == '-') number.mantissa = "-";
    text.remove_prefix(1);
  }
  const std::size_t whole = count_digits(text);
  std::string before(text.substr(0, whole));
  text.remove_prefix(whole);
  const bool has_point = text.starts_with('.');
  if (has_point) {
    const std::size_t n = count_digits(text.substr(1));
    before += text.substr(0, n + 1);
    text.remove_prefix(n + 1);
  }
  const bool has_gap = text.starts_with(' ');
  text = trim(text);
  const auto mark = std::find_if(kind.marks.begin(), kind.marks.end(),
                                 [&](const MarkRow& m) { return text.starts_with(m.letter); });
  if (mark == kind.marks.end()) return {};
  if (has_gap && find_unit(text.substr(0, 1)))
    return {};  // "22 m" is metres, though "22m" is milli
  text.remove_prefix(1);
  const std::size_t n = count_digits(text);
  if ((n > 0 && (has_point || has_gap)) ||
      (before + std::string(text.substr(0, n))).find_first_of("0123456789") == std::string::npos)
    return {};
  number.mantissa += n > 0 ? before + "." + std::string(text.substr(0, n)) : before;
  number.exp10 = mark->exp10;
  return ends_marked(text.substr(n), kind.dim) ? std::optional(number) : std::nullopt;
}

// ---- messages
// -------------------------------------------------------------------------------------------

std::string expectation(Dim dim) {
  if (const KindRow* kind = find_kind(dim))
    return std::string(kind->name) + " such as " + std::string(kind->examples);
  return "a quantity in " + si_unit(dim);
}

QuantityError refuse(std::string_view text, Dim expected, Hint hint) {
  return {expectation(expected), trim(text).empty() ? "nothing" : quoted(text), std::move(hint)};
}

std::string name_of_found(Dim found) {
  if (const KindRow* kind = find_kind(found)) return std::string(kind->name);
  for (const KindRow& kind : kinds())
    if (fits(found, kind.dim)) return std::string(kind.name);
  return "in " + si_unit(found);
}

Hint mismatch_hint(Dim found, Dim expected) {
  constexpr Dim kMassTimesLength{.kg = 1, .m = 1};
  if (expected == dim::torque && found == kMassTimesLength)
    return R"(if kilogram-force is meant, write "kgf cm")";
  if ((expected == dim::temperature || expected == dim::temperature_difference) &&
      found == dim::charge)
    return R"(degrees Celsius are written "degC")";
  if (expected.rad != 0 && found.cycle != 0) return "Hz counts cycles: write rad/s, rpm or turns/s";
  if (expected == dim::step_rate && (found.cycle != 0 || found == Dim{.s = -1}))
    return R"(write "steps/s")";
  return {};
}

QuantityError mismatch(std::string_view text, Dim found, Dim expected) {
  QuantityError error = refuse(text, expected, mismatch_hint(found, expected));
  error.found += ", " + name_of_found(found);
  return error;
}

// The unit in the dimension asked for, or the dimension it has instead.
std::expected<Unit, Dim> as_dimension(Unit unit, Dim expected) {
  if (expected.absolute && unit.dim == dim::temperature_difference)
    unit.dim.absolute = true;
  else
    unit.offset = 0.0;  // "15 degC" as a difference is 15 K
  if (!fits(unit.dim, expected)) {
    unit.dim.absolute = false;
    return std::unexpected(unit.dim);
  }
  unit.dim = expected;
  return unit;
}

// A tolerance may be written "±10 %": the sign pair is dropped, and the number may not have one of
// its own.
std::expected<std::string_view, Hint> without_plus_minus(std::string_view text, Dim expected) {
  if (!text.starts_with("+-") && !text.starts_with("+/-")) return text;
  if (expected != dim::none) return std::unexpected<Hint>("a tolerance does not fit here");
  text = trim(text.substr(text[1] == '/' ? 3 : 2));
  if (text.starts_with('-') || text.starts_with('+'))
    return std::unexpected<Hint>("one sign is enough");
  return text;
}

}  // namespace

std::string to_text(const QuantityError& error) {
  const std::string text = "expected " + error.expected + ", found " + error.found;
  return error.hint.empty() ? text : text + " (" + error.hint + ")";
}

Problem to_problem(const QuantityError& error) {
  Problem problem;
  problem.expected = error.expected;
  problem.found = error.found;
  problem.message = error.hint;
  return problem;
}

bool may_stand_alone(Dim expected) {
  return expected == dim::none || expected == dim::pieces || expected == dim::steps;
}

std::expected<Unit, QuantityError> parse_unit(std::string_view text, Dim expected) {
  const std::string plain = plain_spelling(text);
  if (trim(plain).empty() && may_stand_alone(expected)) return Unit{.dim = expected};
  const auto unit = read_unit(plain);
  if (!unit) return std::unexpected(refuse(text, expected, unit.error()));
  const auto fitting = as_dimension(*unit, expected);
  if (!fitting) return std::unexpected(mismatch(text, fitting.error(), expected));
  return *fitting;
}

std::expected<double, QuantityError> parse_number(std::string_view text, const Unit& unit) {
  const auto fail = [&](const Hint& hint) {
    return std::unexpected(
        QuantityError{"a number", trim(text).empty() ? "nothing" : quoted(text), hint});
  };
  const std::string plain = plain_spelling(text);
  std::string_view rest = trim(plain);
  const auto number = NumberReader(rest).read();
  if (!number) return fail(number.error());
  if (!rest.empty()) return fail("no unit here");
  const auto value = to_si(*number, unit);
  if (!value) return fail(value.error());
  return *value;
}

std::expected<double, QuantityError> parse_quantity(std::string_view text, Dim expected) {
  const auto fail = [&](const Hint& hint) { return std::unexpected(refuse(text, expected, hint)); };
  const std::string plain = plain_spelling(text);
  const auto unsigned_text = without_plus_minus(trim(plain), expected);
  if (!unsigned_text) return fail(unsigned_text.error());
  std::string_view rest = *unsigned_text;
  if (const KindRow* kind = find_kind(expected)) {
    if (const auto marked = read_marked(rest, *kind)) {
      const auto value = to_si(*marked, Unit{.dim = expected});
      if (!value) return fail(value.error());
      return *value;
    }
  }
  const auto number = NumberReader(rest).read();
  if (!number) return fail(rest.empty() ? "" : number.error());
  rest = trim(rest);
  if (rest.empty() && !may_stand_alone(expected)) return fail("a unit is missing");
  auto unit = rest.empty() ? std::expected<Unit, Hint>(Unit{.dim = expected}) : read_unit(rest);
  if (!unit) return fail(unit.error());
  const auto fitting = as_dimension(*unit, expected);
  if (!fitting) return std::unexpected(mismatch(text, fitting.error(), expected));
  const auto value = to_si(*number, *fitting);
  if (!value) return fail(value.error());
  return *value;
}

}  // namespace pb
