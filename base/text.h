// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Small text functions, the same on every machine whatever its locale. Tested by
// tests/unit/base_text.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pb {

/// Without ASCII white space at both ends.
std::string_view trim(std::string_view text);
/// Pieces between separators, empty ones kept: split("a,,b", ',') is {"a", "", "b"}; split("", c)
/// is {""}.
std::vector<std::string_view> split(std::string_view text, char separator);
/// "a, b, c".
std::string join(const std::vector<std::string>& pieces, std::string_view separator);
/// ASCII letters to lower case; every other byte is kept.
std::string to_lower(std::string_view text);
bool equal_ignoring_case(std::string_view a, std::string_view b);
/// Every `from` replaced by `to`, left to right; `from` must not be empty.
std::string replace_all(std::string_view text, std::string_view from, std::string_view to);

/// Shortest decimal text that reads back to the same bits: "0.1", "1e-09". Also "inf", "nan".
std::string shortest(double x);
/// `digits` significant digits, no trailing zeros, plain notation where it is short: "0.0123",
/// "1.5e-09".
std::string significant(double x, int digits);
/// The whole text as a finite decimal number; nothing else around it. No "inf", no "nan", no
/// hexadecimal.
std::optional<double> to_number(std::string_view text);
/// The whole text as an integer.
std::optional<long long> to_integer(std::string_view text);

/// True if the bytes are UTF-8 without overlong forms and surrogates (RFC 3629).
bool is_utf8(std::string_view bytes);
/// With control and ill-formed bytes escaped, cut at about `limit` bytes: fit for a one-line
/// message and for JSON whatever the input was.
std::string escaped(std::string_view text, std::size_t limit = 4000);
/// The same in double quotes, with quotes and backslashes escaped.
std::string quoted(std::string_view text, std::size_t limit = 60);

}  // namespace pb
