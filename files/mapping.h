// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How to read a catalogue whose columns are not ours: a small TOML file. docs/formats.md shows
// every key. Tested by tests/unit/files_mapping.cpp and fuzz/mapping.cpp.
//
// Invariant: every name in a mapping that was read is a column of ours, and number, class and a
// price are there.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "files/cell_pattern.h"

namespace pb {

/// One column of theirs. Exactly one of `to`, `patterns` and `price_at` is set.
struct MappedColumn {
  std::string theirs;
  std::string to;                             // a column of ours; a figure may lack its unit
  std::vector<CellPattern> patterns;          // the first that fits
  double price_at = 0;                        // the cells are unit prices at this quantity
  bool magnitude = false;                     // a sign before a figure is dropped
  std::map<std::string, std::string> values;  // their text -> ours
};

struct Mapping {
  char separator = ',', decimal = '.';
  char thousands = '\0';                        // between groups of three digits; none if zero
  bool latin1 = false;                          // ISO 8859-1 instead of UTF-8
  std::vector<std::string> empty;               // texts that mean "not given"
  std::map<std::string, std::string> constant;  // a column of ours -> the text of every cell
  std::vector<MappedColumn> columns;
};

/// Never throws on any text.
Checked<Mapping> read_mapping(const std::string& file, std::string_view text);

}  // namespace pb
