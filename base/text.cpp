// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Small text functions.
#include "base/text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>

#include "base/check.h"
#include "base/decimal.h"

namespace pb {
namespace {

constexpr std::string_view kSpace = " \t\r\n\v\f";

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

bool is_continuation(unsigned char c) { return (c & 0xc0) == 0x80; }

// Length of the well-formed UTF-8 sequence at the start, or 0 (RFC 3629, section 4).
std::size_t sequence_length(std::string_view s) {
  const auto at = [&](std::size_t i) {
    return i < s.size() ? static_cast<unsigned char>(s[i]) : static_cast<unsigned char>(0);
  };
  const unsigned char a = at(0), b = at(1);
  if (a < 0x80) return 1;
  if (a < 0xc2 || !is_continuation(b)) return 0;
  if (a < 0xe0) return 2;
  if (!is_continuation(at(2))) return 0;
  if (a < 0xf0) return (a == 0xe0 && b < 0xa0) || (a == 0xed && b >= 0xa0) ? 0 : 3;
  if (a > 0xf4 || (a == 0xf0 && b < 0x90) || (a == 0xf4 && b >= 0x90)) return 0;
  return is_continuation(at(3)) ? 4 : 0;
}

// The control characters of ASCII and of Unicode's second block (U+0080 to U+009F).
bool is_control(std::string_view character) {
  const auto c = static_cast<unsigned char>(character.front());
  if (c < 0x20 || c == 0x7f) return true;
  return c == 0xc2 && character.size() == 2 && static_cast<unsigned char>(character[1]) < 0xa0;
}

std::string hex_escape(unsigned char c) {
  constexpr std::string_view digits = "0123456789abcdef";
  return {'\\', 'x', digits[c >> 4], digits[c & 15]};
}

}  // namespace

std::string_view trim(std::string_view text) {
  const std::size_t first = text.find_first_not_of(kSpace);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kSpace) - first + 1);
}

std::vector<std::string_view> split(std::string_view text, char separator) {
  std::vector<std::string_view> pieces;
  while (true) {
    const std::size_t end = text.find(separator);
    pieces.push_back(text.substr(0, end));
    if (end == std::string_view::npos) return pieces;
    text.remove_prefix(end + 1);
  }
}

std::string join(const std::vector<std::string>& pieces, std::string_view separator) {
  std::string text;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (i > 0) text += separator;
    text += pieces[i];
  }
  return text;
}

std::string to_lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), lower);
  return out;
}

bool equal_ignoring_case(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

std::string replace_all(std::string_view text, std::string_view from, std::string_view to) {
  PB_CHECK(!from.empty(), text);
  std::string out;
  while (true) {
    const std::size_t at = text.find(from);
    out += text.substr(0, at);
    if (at == std::string_view::npos) return out;
    out += to;
    text.remove_prefix(at + from.size());
  }
}

std::string shortest(double x) {
  std::array<char, 40> buffer;
  const auto r = std::to_chars(buffer.data(), buffer.data() + buffer.size(), x);
  return {buffer.data(), r.ptr};
}

std::string significant(double x, int digits) {
  return std::isfinite(x) ? to_text(rounded_decimal(x, digits)) : shortest(x);
}

std::optional<double> to_number(std::string_view text) {
  if (text.starts_with("+-")) return {};
  if (text.starts_with('+')) text.remove_prefix(1);
  const std::string_view body = text.starts_with('-') ? text.substr(1) : text;
  if (body.empty() || std::string_view(".0123456789").find(body.front()) == body.npos) return {};
  double x = 0.0;
  const auto r = std::from_chars(text.data(), text.data() + text.size(), x);
  if (r.ec != std::errc{} || r.ptr != text.data() + text.size()) return {};
  return x;
}

std::optional<long long> to_integer(std::string_view text) {
  if (text.starts_with("+-")) return {};
  if (text.starts_with('+')) text.remove_prefix(1);
  long long x = 0;
  const auto r = std::from_chars(text.data(), text.data() + text.size(), x);
  if (r.ec != std::errc{} || r.ptr != text.data() + text.size()) return {};
  return x;
}

bool is_utf8(std::string_view bytes) {
  while (!bytes.empty()) {
    const std::size_t n = sequence_length(bytes);
    if (n == 0) return false;
    bytes.remove_prefix(n);
  }
  return true;
}

std::string escaped(std::string_view text, std::size_t limit) {
  std::string out;
  while (!text.empty()) {
    if (out.size() >= limit) return out + "...";
    const std::size_t n = sequence_length(text);
    const std::string_view character = text.substr(0, std::max<std::size_t>(n, 1));
    if (character == "\n")
      out += "\\n";
    else if (character == "\t")
      out += "\\t";
    else if (n == 0 || is_control(character))
      for (const char c : character) out += hex_escape(static_cast<unsigned char>(c));
    else
      out += character;
    text.remove_prefix(character.size());
  }
  return out;
}

std::string quoted(std::string_view text, std::size_t limit) {
  std::string out = "\"";
  out += escaped(replace_all(replace_all(text, "\\", "\\\\"), "\"", "\\\""), limit);
  return out + "\"";
}

}  // namespace pb
