// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reading a catalogue: first the header becomes a list of columns, then each row a part.
#include "files/catalogue.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <unordered_map>
#include <utility>

#include "base/check.h"
#include "base/hash.h"
#include "base/text.h"
#include "files/catalogue_columns.h"
#include "files/catalogue_mapped.h"
#include "files/catalogue_rules.h"
#include "files/csv.h"

namespace pb {
namespace {

using catalogue::Column, catalogue::Field, catalogue::field_rows, catalogue::lifecycles;

// A file with more is the wrong file.
constexpr std::size_t kMostProblems = 1000;

/// Reads the rows of one file.
class RowReader {
 public:
  RowReader(std::string_view file, std::vector<Column> columns)
      : file_(file), columns_(std::move(columns)) {}

  /// The part, if the row has no problem.
  std::optional<Part> read(const CsvRow& row);
  Problems problems, notes;

 private:
  void complain(const CsvCell& cell, const Column& column, std::string expected, std::string found,
                std::string message = "");
  void read_text(const CsvCell& cell, const Column& column, Part& part);
  void read_count(const CsvCell& cell, const Column& column, double& value, double least);
  void read_breaks(const CsvCell& cell, const Column& column, Part& part);
  void read_field(const CsvCell& cell, const Column& column, Part& part);
  void read_figure(const CsvCell& cell, const Column& column, Part& part);
  void read_figures(const CsvRow& row, Part& part);
  void check_orders(const CsvRow& row, const Part& part);

  std::string_view file_;
  std::vector<Column> columns_;
};

void RowReader::complain(const CsvCell& cell, const Column& column, std::string expected,
                         std::string found, std::string message) {
  problems.push_back({.file = std::string(file_),
                      .line = cell.line,
                      .column = cell.column,
                      .key = column.name,
                      .expected = std::move(expected),
                      .found = std::move(found),
                      .message = std::move(message)});
}

bool is_formula(std::string_view text) { return guarded(text) != text && !text.starts_with('\''); }

void RowReader::read_text(const CsvCell& cell, const Column& column, Part& part) {
  const std::string_view text = trim(cell.text);
  if (is_formula(text))
    return complain(cell, column, "text", "a formula " + quoted(text),
                    "put a ' before it if it is meant as text");
  const std::string value = unguarded(text);
  if (field_rows()[static_cast<std::size_t>(column.field)].required && value.empty())
    return complain(cell, column, "a value", "nothing");
  if (column.field == Field::number) part.number = value;
  if (column.field == Field::package) part.package = value;
  if (column.field == Field::source) part.source = value;
  if (column.field == Field::currency && !value.empty()) {
    const bool code = value.size() == 3 &&
                      value.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZ") == std::string::npos;
    if (!code)
      return complain(cell, column, "three capital letters such as USD", pb::quoted(value));
    part.currency = value;
  }
  if (column.field == Field::lifecycle && !value.empty()) {
    const std::span<const std::string_view> known = lifecycles();
    if (std::ranges::find(known, value) == known.end())
      return complain(cell, column, "\"active\", \"not-for-new\" or \"obsolete\"",
                      pb::quoted(value));
    part.lifecycle = value;
  }
  if (column.field == Field::part_class) {
    part.part_class = value;
    if (find_part_class(value)) return;
    std::vector<std::string_view> names;
    for (const PartClass& c : part_classes()) names.push_back(c.name);
    const std::string near = nearest(value, names);
    complain(cell, column, "a class of part", pb::quoted(value),
             near.empty() ? "" : "did you mean " + near + "?");
  }
}

void RowReader::read_count(const CsvCell& cell, const Column& column, double& value, double least) {
  if (trim(cell.text).empty()) return;
  const auto number = to_number(trim(cell.text));
  if (!number || *number < least || *number > 1e12 || std::floor(*number) != *number)
    return complain(cell, column, "a whole number of " + significant(least, 3) + " or more",
                    pb::quoted(cell.text));
  value = *number;
}

void RowReader::read_breaks(const CsvCell& cell, const Column& column, Part& part) {
  const auto breaks = parse_price_breaks(cell.text);
  if (!breaks) {
    for (const Problem& p : breaks.error()) complain(cell, column, p.expected, p.found, p.message);
    return;
  }
  part.price_breaks = *breaks;
  for (std::size_t i = 1; i < breaks->size(); ++i)
    if ((*breaks)[i].unit_price > (*breaks)[i - 1].unit_price)
      notes.push_back({.file = std::string(file_),
                       .line = cell.line,
                       .column = cell.column,
                       .key = column.name,
                       .message = "the unit price rises with the quantity"});
}

void RowReader::read_field(const CsvCell& cell, const Column& column, Part& part) {
  switch (column.field) {
    case Field::number:
    case Field::part_class:
    case Field::package:
    case Field::lifecycle:
    case Field::currency:
    case Field::source:
      return read_text(cell, column, part);
    case Field::stock:
      return read_count(cell, column, part.stock, 0);
    case Field::minimum:
      return read_count(cell, column, part.minimum, 1);
    case Field::multiple:
      return read_count(cell, column, part.multiple, 1);
    case Field::price_breaks:
      return read_breaks(cell, column, part);
    case Field::figure:
    case Field::left_out:
      return;
  }
}

void RowReader::read_figure(const CsvCell& cell, const Column& column, Part& part) {
  const std::string_view text = trim(cell.text);
  if (text.empty()) return;
  const PartClass& c = *find_part_class(part.part_class);
  const int index = figure_index(c, column.figure);
  if (index < 0)
    return complain(cell, column, "nothing, as " + std::string(c.name) + " has no such figure",
                    quoted(text));
  const Figure& figure = c.figures[static_cast<std::size_t>(index)];
  const auto value = catalogue::read_quantity_cell(text, column);
  if (!value)
    return complain(cell, column, value.error().expected, value.error().found, value.error().hint);
  if (!(*value >= figure.low && *value <= figure.high))
    return complain(cell, column, format_range(figure.low, figure.high, figure.dim, 6),
                    format_quantity(*value, figure.dim, 6));
  part.figures[static_cast<std::size_t>(index)] = *value;
}

void RowReader::read_figures(const CsvRow& row, Part& part) {
  const PartClass* c = find_part_class(part.part_class);
  if (!c) return;  // said already
  part.figures.assign(c->figures.size(), kNotGiven);
  for (std::size_t i = 0; i < columns_.size(); ++i)
    if (columns_[i].field == Field::figure) read_figure(row[i], columns_[i], part);
  check_orders(row, part);
}

void RowReader::check_orders(const CsvRow& row, const Part& part) {
  for (const FigureOrder& order : broken_orders(part)) {
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      if (columns_[i].field != Field::figure || columns_[i].figure != order.low) continue;
      const Dim dim = columns_[i].unit.dim;
      complain(row[i], columns_[i], expected_of(part, order, dim),
               format_quantity(figure(part, order.low), dim, 6));
    }
  }
}

std::optional<Part> RowReader::read(const CsvRow& row) {
  const std::size_t before = problems.size();
  Part part;
  for (std::size_t i = 0; i < columns_.size(); ++i) read_field(row[i], columns_[i], part);
  read_figures(row, part);
  if (problems.size() != before) return std::nullopt;
  part.row_sha256 = row_hash(part);
  return part;
}

/// Adds parts one by one and finds those that contradict each other.
class Collector {
 public:
  explicit Collector(Catalogue start) : catalogue_(std::move(start)) {
    for (std::size_t i = 0; i < catalogue_.parts.size(); ++i)
      index_.emplace(catalogue_.parts[i].number, i);
  }

  void add(Part part, PartOrigin origin) {
    const auto [at, fresh] = index_.emplace(part.number, catalogue_.parts.size());
    if (fresh) {
      catalogue_.parts.push_back(std::move(part));
      catalogue_.origins.push_back(std::move(origin));
      return;
    }
    const PartOrigin& first = catalogue_.origins[at->second];
    if (row_hash(catalogue_.parts[at->second]) == row_hash(part)) {
      catalogue_.notes.push_back(at_place(origin, "the same row as " + place(first)));
      return;
    }
    problems.push_back(contradiction(first, part.number, origin));
    problems.push_back(contradiction(origin, part.number, first));
    contradicted_.insert(at->second);
  }

  /// Parts that nothing contradicts.
  Catalogue take() {
    Catalogue out;
    out.notes = std::move(catalogue_.notes);
    for (std::size_t i = 0; i < catalogue_.parts.size(); ++i) {
      if (contradicted_.contains(i)) continue;
      out.parts.push_back(std::move(catalogue_.parts[i]));
      out.origins.push_back(std::move(catalogue_.origins[i]));
    }
    return out;
  }
  Problems problems;

 private:
  static std::string place(const PartOrigin& o) { return o.file + ":" + std::to_string(o.line); }
  static Problem at_place(const PartOrigin& o, std::string message) {
    return {.file = o.file,
            .line = o.line,
            .column = o.column,
            .key = "number",
            .message = std::move(message)};
  }
  static Problem contradiction(const PartOrigin& here, const std::string& number,
                               const PartOrigin& there) {
    Problem p = at_place(here, "other data at " + place(there));
    p.expected = "one part a number";
    p.found = pb::quoted(number) + " twice";
    return p;
  }

  Catalogue catalogue_;
  std::unordered_map<std::string, std::size_t> index_;
  std::set<std::size_t> contradicted_;
};

Problem wrong_length(std::string_view file, const CsvRow& row, std::size_t cells) {
  return {.file = std::string(file),
          .line = row.front().line,
          .column = row.front().column,
          .expected = std::to_string(cells) + " cells",
          .found = std::to_string(row.size())};
}

/// A header, read as ours or through a mapping.
struct Header {
  std::size_t cells = 0;
  std::vector<Column> columns;
  std::optional<catalogue::RowMapper> mapper;
};

Checked<Header> read_header(std::string_view file, const CsvRow& row, const Mapping* mapping) {
  Header out{.cells = row.size(), .columns = {}, .mapper = {}};
  if (mapping) {
    auto mapper = catalogue::RowMapper::make(file, row, *mapping);
    if (!mapper) return std::unexpected(std::move(mapper.error()));
    out.columns = mapper->columns();
    out.mapper = std::move(*mapper);
    return out;
  }
  auto columns = catalogue::read_columns(file, row);
  if (!columns) return std::unexpected(std::move(columns.error()));
  out.columns = std::move(*columns);
  return out;
}

}  // namespace

Checked<Survey> survey_catalogue(std::string_view file, std::string_view text,
                                 const Mapping* mapping, const StopToken& stop) {
  std::string converted;
  if (mapping && mapping->latin1) {
    converted = catalogue::to_utf8(text, *mapping);
    text = converted;
  }
  CsvReader csv(file, text, mapping ? mapping->separator : ',');
  CsvRow row;
  if (!csv.next(row)) {
    Problems none = csv.problems();
    if (none.empty())
      none.push_back(
          {.file = std::string(file), .expected = "a row of columns", .found = "nothing"});
    return std::unexpected(std::move(none));
  }
  const auto header = read_header(file, row, mapping);
  if (!header) {
    Problems all = csv.problems();
    append(all, header.error());
    return std::unexpected(std::move(all));
  }
  Survey out;
  RowReader rows(file, header->columns);
  Collector collector({});
  std::size_t faults = csv.faults();
  while (rows.problems.size() < kMostProblems && !stop.stop_requested() && csv.next(row)) {
    ++out.rows;
    if (std::exchange(faults, csv.faults()) != csv.faults()) continue;
    if (row.size() != header->cells) {
      rows.problems.push_back(wrong_length(file, row, header->cells));
      continue;
    }
    const PartOrigin origin{std::string(file), row.front().line, row.front().column};
    const std::size_t before = rows.problems.size();
    if (header->mapper) row = header->mapper->map(row, rows.problems);
    auto part = rows.read(row);
    if (part && rows.problems.size() == before) collector.add(std::move(*part), origin);
  }
  out.problems = csv.problems();
  append(out.problems, std::move(rows.problems));
  append(out.problems, std::move(collector.problems));
  out.good = collector.take();
  append(out.good.notes, std::move(rows.notes));
  if (header->mapper) out.left_out = header->mapper->left_out();
  return out;
}

Checked<Catalogue> read_catalogue(std::string_view file, std::string_view text,
                                  const Mapping* mapping) {
  auto survey = survey_catalogue(file, text, mapping);
  if (!survey) return std::unexpected(std::move(survey.error()));
  if (!survey->problems.empty()) return std::unexpected(std::move(survey->problems));
  return std::move(survey->good);
}

Checked<Catalogue> merge(Catalogue first, const Catalogue& second) {
  Collector collector(std::move(first));
  for (std::size_t i = 0; i < second.parts.size(); ++i)
    collector.add(second.parts[i], second.origins[i]);
  if (!collector.problems.empty()) return std::unexpected(std::move(collector.problems));
  Catalogue out = collector.take();
  append(out.notes, second.notes);
  return out;
}

std::string row_hash(const Part& p) {
  const PartClass* c = find_part_class(p.part_class);
  PB_CHECK(c != nullptr && p.figures.size() <= c->figures.size(), p.number, p.part_class);
  CsvWriter out;
  out.raw(p.number).raw(p.part_class).raw(p.package).number(p.stock).raw(p.lifecycle);
  out.raw(p.currency).number(p.minimum).number(p.multiple).raw(to_text(p.price_breaks));
  out.raw(p.source);
  for (std::size_t i = 0; i < p.figures.size(); ++i)
    if (given(p.figures[i])) out.raw(c->figures[i].name).number(p.figures[i]);
  out.end_row();
  return sha256_hex(out.str());
}

Checked<std::vector<PriceBreak>> parse_price_breaks(std::string_view text) {
  std::vector<PriceBreak> out;
  const auto refuse = [](std::string expected, std::string_view found) {
    return std::unexpected(Problems{{.expected = std::move(expected),
                                     .found = trim(found).empty() ? "nothing" : quoted(found)}});
  };
  if (trim(text).empty()) return refuse("QUANTITY:PRICE pairs such as 1:0.12;100:0.08", text);
  for (const std::string_view piece : split(text, ';')) {
    const auto pair = split(piece, ':');
    if (pair.size() != 2) return refuse("QUANTITY:PRICE pairs such as 1:0.12;100:0.08", piece);
    const auto quantity = to_number(trim(pair[0])), price = to_number(trim(pair[1]));
    if (!quantity || *quantity < 1 || *quantity > 1e12 || std::floor(*quantity) != *quantity)
      return refuse("a whole quantity of 1 or more", pair[0]);
    if (!price || *price <= 0 || *price > 1e6) return refuse("a price above 0", pair[1]);
    if (!out.empty() && *quantity <= out.back().quantity) return refuse("rising quantities", text);
    out.push_back({*quantity, *price});
  }
  return out;
}

std::string to_text(const std::vector<PriceBreak>& breaks) {
  std::vector<std::string> pieces;
  pieces.reserve(breaks.size());
  for (const PriceBreak& b : breaks)
    pieces.push_back(shortest(b.quantity) + ":" + shortest(b.unit_price));
  return join(pieces, ";");
}

}  // namespace pb
