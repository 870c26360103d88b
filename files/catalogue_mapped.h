// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Rows of another catalogue turned into rows of ours, cell for cell, each with the place it came
// from. Internal to files; tested through files/catalogue.h.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "files/catalogue_columns.h"
#include "files/csv.h"
#include "files/mapping.h"

namespace pb::catalogue {

/// The text of a whole file as UTF-8.
std::string to_utf8(std::string_view text, const Mapping& mapping);

class RowMapper {
 public:
  /// `mapping` must outlive the mapper. Refuses a header that lacks a column of the mapping.
  static Checked<RowMapper> make(std::string_view file, const CsvRow& header,
                                 const Mapping& mapping);

  /// Ours; named as theirs, so that messages point at what the reader of the file sees.
  const std::vector<Column>& columns() const { return columns_; }
  /// Columns of theirs that nothing reads.
  const std::vector<std::string>& left_out() const { return left_out_; }

  /// `theirs` must be as long as the header. Adds what is wrong to `problems`.
  CsvRow map(const CsvRow& theirs, Problems& problems) const;

 private:
  struct Source {
    const MappedColumn* column;
    std::size_t at;                    // in a row of theirs
    std::vector<std::size_t> targets;  // in a row of ours; as the names of the patterns, in order
  };

  std::size_t add_target(const std::string& name, const std::string& shown);
  void add_source(const MappedColumn& column, std::size_t at);
  bool means_nothing(std::string_view text) const;
  std::string in_our_signs(std::string_view text) const;
  std::string translated(const Source& source, const Column& target, std::string_view text) const;
  void read_pattern(const Source& source, const CsvCell& cell, CsvRow& out,
                    Problems& problems) const;
  void read_simple(const Source& source, const CsvCell& cell, CsvRow& out,
                   Problems& problems) const;

  std::string file_;
  const Mapping* mapping_ = nullptr;
  std::vector<Column> columns_;
  std::map<std::string, std::size_t> index_;  // name of ours -> place in columns_
  std::vector<Source> sources_;
  std::vector<std::string> left_out_;
  std::vector<std::string> constants_;  // the first columns
};

}  // namespace pb::catalogue
