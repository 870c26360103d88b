// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where the numbers of a table of unknown origin are: its separator, its decimal mark, the columns
// that hold numbers and what the lines before them call these. Internal to files; tested through
// files/capture.h.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pb::files {

struct CaptureLayout {
  char separator = ',';
  char decimal = '.';
  std::vector<std::size_t> columns;       // that hold numbers, left to right
  std::size_t cells = 0;                  // of a row
  std::vector<std::string> names, units;  // one a column of `columns`; may be empty
  std::vector<std::string> header;        // lines before the first number
  int first_line = 1;                     // of the numbers
  std::size_t first_offset = 0;
};

/// A unit as instruments write it ("s", "Volt", "mA", "µs"): what an SI unit of it is called here,
/// and how many of those one is.
struct CaptureUnit {
  std::string si;
  double scale = 1;
};
std::optional<CaptureUnit> find_unit(std::string_view text);

/// From the first lines of the text. Nothing if no two columns of numbers are found.
std::optional<CaptureLayout> find_layout(std::string_view text);

/// A cell as a number: plain, or a clock time (12:30:05.25, a date before it is ignored) in
/// seconds. NaN for anything else. `clock` is set where it was a clock time.
double cell_number(std::string_view cell, char decimal, bool* clock = nullptr);

/// Next line of text from `at`, without its end; `at` moves behind it.
std::string_view next_line(std::string_view text, std::size_t& at);
/// Next cell of a line from `at`; blanks as separators count once however many. False at the end.
bool next_cell(std::string_view line, char separator, std::size_t& at, std::string_view& cell);

}  // namespace pb::files
