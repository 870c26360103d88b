// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Comma separated values after RFC 4180. The reader gives every cell its place, so that a message
// can point at it, and accepts LF as well as CRLF and a UTF-8 byte order mark. The writer ends
// lines with LF. Tested by tests/unit/files_csv.cpp and fuzz/fuzz_csv.cpp.
//
// Invariant: what CsvWriter writes, read_csv reads back, cell for cell.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"

namespace pb {

/// A cell and where it begins: line and column count from 1, a column is one character.
struct CsvCell {
  std::string text;
  int line = 0, column = 0;
};
using CsvRow = std::vector<CsvCell>;

/// One row after the other, for files too long to hold twice. Wrong quoting and stray bytes become
/// problems; reading goes on behind them so that all are found.
class CsvReader {
 public:
  /// Both views must outlive the reader.
  CsvReader(std::string_view file, std::string_view text, char separator = ',');

  /// The next row with anything in it (empty lines are passed over); false at the end.
  bool next(CsvRow& row);
  const Problems& problems() const { return problems_; }
  /// Of them all; problems() has the first few hundred.
  std::size_t faults() const { return faults_; }

 private:
  bool at_end() const { return at_ >= text_.size(); }
  bool at_line_end() const;
  char advance();
  void end_line();
  void read_plain(CsvCell& cell);
  void read_quoted(CsvCell& cell);
  void complain(int line, int column, std::string expected, std::string found,
                std::string message = "");

  std::string_view file_, text_;
  char separator_;
  std::size_t at_ = 0, faults_ = 0;
  int line_ = 1, column_ = 1;
  Problems problems_;
};

/// The whole text; every row must have as many cells as the first.
Checked<std::vector<CsvRow>> read_csv(std::string_view file, std::string_view text);

/// A spreadsheet runs text that begins with = + - or @ as a formula. guarded() puts a ' before it,
/// and before a text that looks guarded already, so that unguarded() is its exact inverse.
std::string guarded(std::string_view text);
std::string unguarded(std::string_view text);

/// Builds a file row by row.
class CsvWriter {
 public:
  /// Guarded against being run as a formula, quoted where needed.
  CsvWriter& text(std::string_view value);
  /// The shortest decimal text with the same bits; an empty cell for NaN.
  CsvWriter& number(double value);
  /// As it stands, only quoted where needed.
  CsvWriter& raw(std::string_view value);
  void end_row();
  /// A row of them.
  void headings(std::initializer_list<const char*> names);
  const std::string& str() const { return out_; }

 private:
  std::string out_;
  bool first_ = true;
  std::size_t row_start_ = 0;
};

}  // namespace pb
