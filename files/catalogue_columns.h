// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The columns of a catalogue: which there are, and what a header cell means. Internal to files;
// tested through files/catalogue.h.
#pragma once

#include <expected>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "base/quantity.h"
#include "files/csv.h"
#include "model/part.h"

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
  left_out,  // of another catalogue, by its mapping
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
  bool free_unit = false;  // a cell may bring a unit of its own, which the name then need not have
};

/// All columns of a header row, or everything wrong with it.
Checked<std::vector<Column>> read_columns(std::string_view file, const CsvRow& header);

enum class Units { required, optional };
/// The column `name` means, or the problem without its place.
std::expected<Column, Problem> read_column(const std::string& name, Units units);

/// "vds_max_V" for "vdsmax": a known column `name` may have meant, or empty.
std::string near_column(std::string_view name);

/// `p` at the place of a cell, which is its key if it has none.
Problem at_cell(std::string_view file, const CsvCell& cell, Problem p);

/// The value of a figure's cell, SI.
std::expected<double, QuantityError> read_quantity_cell(std::string_view text,
                                                        const Column& column);

/// "rds_max_ohm": the name of a figure's column in SI.
std::string column_name(const Figure& figure);

}  // namespace pb::catalogue
