// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What can be wrong with an input, and where. Every reader returns all its problems at once, so a
// user mends a file in one pass. Tested by tests/unit/base_problem.cpp.
#pragma once

#include <expected>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace pb {

/// One thing wrong with an input. `line` and `column` count from 1; 0 means "not known". Every
/// member has a default, so a maker may name just those it knows: {.key = "rate", .message =
/// "..."}.
struct Problem {
  std::string file{};
  int line = 0;
  int column = 0;
  std::string key{};
  std::string expected{};
  std::string found{};
  std::string message{};  // a hint, or the whole text where "expected, found" does not fit

  bool operator==(const Problem&) const = default;
};

using Problems = std::vector<Problem>;

template <class T>
using Checked = std::expected<T, Problems>;

/// `FILE:LINE:COL: KEY: expected X, found Y (message)`; parts that are not known are left out.
/// Never spans lines: control characters of the input are shown as escapes.
std::string to_line(const Problem& problem);

/// All problems, one a line, each line ended.
std::string to_lines(const Problems& problems);

/// Moves `more` to the end of `all`.
void append(Problems& all, Problems more);

/// Number of insertions, deletions, replacements and swaps of neighbours that turn `a` into `b`
/// (case is ignored: a wrong case costs nothing).
int edit_distance(std::string_view a, std::string_view b);

/// The candidate nearest to `word`, or empty when none is near enough to be what was meant.
/// Ties go to the first candidate, so the answer does not depend on chance.
std::string nearest(std::string_view word, std::span<const std::string> candidates);
std::string nearest(std::string_view word, std::span<const std::string_view> candidates);

}  // namespace pb
