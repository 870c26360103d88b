// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The columns of a catalogue: which there are, and what a header cell means. Internal to files;
// tested through files/catalogue.h.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "base/quantity.h"
#include "files/catalogue.h"
#include "files/csv.h"

namespace pb::catalogue {

enum class Field {
  number,
  part_class,
  package,
  stock,
  lifecycle,
  currency,
  minimum,
  multiple,
  price_breaks,
  source,
  figure,    // a data-sheet figure of some class
  left_out,  // of another catalogue, by its column map
};

struct FieldRow {
  std::string_view name;
  bool required;
};
/// Those with a column of their own, in the order of the enumeration and of a written file.
std::span<const FieldRow> field_rows();
std::span<const std::string_view> lifecycles();

struct Column {
  std::string name;  // as the file has it
  Field field = Field::left_out;
  std::string figure{}, unit_text{};
  Unit unit{};
};

/// All columns of a header row, or everything wrong with it.
Checked<std::vector<Column>> read_columns(std::string_view file, const CsvRow& header,
                                          const ColumnMap& map);

/// "rds_max_ohm": the name of a figure's column in SI.
std::string column_name(const Figure& figure);

}  // namespace pb::catalogue
