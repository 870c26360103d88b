// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/csv.h"

#include <algorithm>

#include "base/text.h"

namespace pb {
namespace {

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
constexpr std::string_view kFormulaStarts = "=+-@";
// A binary file would give a problem a byte; nobody reads more than this.
constexpr std::size_t kMostProblems = 200;

bool starts_formula(std::string_view text) {
  return !text.empty() && kFormulaStarts.find(text.front()) != std::string_view::npos;
}

/// Any number of ' and then the start of a formula.
bool looks_guarded(std::string_view text) {
  const std::size_t behind = text.find_first_not_of('\'');
  return behind != std::string_view::npos && behind > 0 && starts_formula(text.substr(behind));
}

}  // namespace

CsvReader::CsvReader(std::string_view file, std::string_view text, char separator)
    : file_(file), text_(text), separator_(separator) {
  if (text_.starts_with("\xFF\xFE") || text_.starts_with("\xFE\xFF")) {
    complain(1, 1, "UTF-8 text", "UTF-16", "save it as \"CSV UTF-8\"");
    text_ = {};
  }
  if (text_.starts_with(kByteOrderMark)) text_.remove_prefix(kByteOrderMark.size());
}

void CsvReader::complain(int line, int column, std::string expected, std::string found,
                         std::string message) {
  ++faults_;
  if (problems_.size() >= kMostProblems) return;
  problems_.push_back({.file = std::string(file_),
                       .line = line,
                       .column = column,
                       .expected = std::move(expected),
                       .found = std::move(found),
                       .message = std::move(message)});
}

bool CsvReader::at_line_end() const {
  if (at_end() || text_[at_] == '\n') return true;
  return text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n';
}

char CsvReader::advance() {
  const char c = text_[at_++];
  const auto byte = static_cast<unsigned char>(c);
  if (c == '\n') {
    ++line_;
    column_ = 1;
  } else if ((byte & 0xC0) != 0x80) {  // bytes that continue a character are no column
    ++column_;
  }
  return c;
}

void CsvReader::end_line() {
  if (!at_end() && text_[at_] == '\r') advance();
  if (!at_end()) advance();
}

void CsvReader::read_plain(CsvCell& cell) {
  while (!at_line_end() && text_[at_] != separator_) {
    const int column = column_;
    const char c = advance();
    if (c == '"')
      complain(line_, column, "a cell with quotes inside to be quoted", "\"",
               "write \"a \"\"b\"\" c\"");
    else if (static_cast<unsigned char>(c) < 0x20 && c != '\t')
      complain(line_, column, "text", quoted(std::string_view(&c, 1)));
    cell.text += c;
  }
}

void CsvReader::read_quoted(CsvCell& cell) {
  advance();  // the opening quote
  while (!at_end()) {
    const char c = advance();
    if (c == '\0') complain(line_, column_ - 1, "text", "a zero byte");
    if (c != '"') {
      cell.text += c;
      continue;
    }
    if (!at_end() && text_[at_] == '"') {
      cell.text += advance();
      continue;
    }
    if (!at_line_end() && text_[at_] != separator_) {
      complain(line_, column_,
               std::string(separator_ == ',' ? "a comma" : "a separator") +
                   " or the end of the line after a quoted cell",
               quoted(text_.substr(at_, 1)));
      while (!at_line_end() && text_[at_] != separator_) advance();
    }
    return;
  }
  complain(cell.line, cell.column, "a closing quote", "the end of the file");
}

bool CsvReader::next(CsvRow& row) {
  row.clear();
  while (!at_end() && at_line_end()) end_line();
  if (at_end()) return false;
  while (true) {
    CsvCell& cell = row.emplace_back();
    cell.line = line_;
    cell.column = column_;
    if (!at_end() && text_[at_] == '"')
      read_quoted(cell);
    else
      read_plain(cell);
    if (!is_utf8(cell.text))
      complain(cell.line, cell.column, "UTF-8 text", quoted(cell.text), "save it as \"CSV UTF-8\"");
    if (at_line_end()) break;
    advance();  // the comma
  }
  end_line();
  return true;
}

Checked<std::vector<CsvRow>> read_csv(std::string_view file, std::string_view text) {
  CsvReader reader(file, text);
  std::vector<CsvRow> rows;
  Problems odd;
  CsvRow row;
  while (reader.next(row)) {
    if (!rows.empty() && row.size() != rows.front().size())
      odd.push_back({.file = std::string(file),
                     .line = row.front().line,
                     .column = row.front().column,
                     .expected = std::to_string(rows.front().size()) + " cells as in the first row",
                     .found = std::to_string(row.size())});
    rows.push_back(row);
  }
  Problems all = reader.problems();
  append(all, std::move(odd));
  if (!all.empty()) return std::unexpected(std::move(all));
  return rows;
}

std::string guarded(std::string_view text) {
  if (starts_formula(text) || looks_guarded(text)) return "'" + std::string(text);
  return std::string(text);
}

std::string unguarded(std::string_view text) {
  return std::string(looks_guarded(text) ? text.substr(1) : text);
}

CsvWriter& CsvWriter::raw(std::string_view value) {
  if (first_)
    row_start_ = out_.size();
  else
    out_ += ',';
  first_ = false;
  const bool plain = trim(value) == value && !value.starts_with(kByteOrderMark) &&
                     std::ranges::none_of(value, [](char c) {
                       return c == ',' || c == '"' || static_cast<unsigned char>(c) < 0x20;
                     });
  if (plain) {
    out_ += value;
    return *this;
  }
  out_ += '"';
  out_ += replace_all(value, "\"", "\"\"");
  out_ += '"';
  return *this;
}

CsvWriter& CsvWriter::text(std::string_view value) { return raw(guarded(value)); }

CsvWriter& CsvWriter::number(double value) { return raw(value == value ? shortest(value) : ""); }

void CsvWriter::end_row() {
  // A row of one empty cell would be an empty line, which the reader passes over.
  if (!first_ && out_.size() == row_start_) out_ += "\"\"";
  out_ += '\n';
  first_ = true;
  row_start_ = out_.size();
}

void CsvWriter::headings(std::initializer_list<const char*> names) {
  for (const char* n : names) text(n);
  end_row();
}

}  // namespace pb
