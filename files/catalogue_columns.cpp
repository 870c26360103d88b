// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/catalogue_columns.h"

#include <algorithm>
#include <optional>

#include "base/check.h"
#include "base/text.h"
#include "files/catalogue.h"

namespace pb::catalogue {
namespace {

constexpr FieldRow kFields[] = {
    {"number", true},       {"class", true},     {"package", false}, {"stock", false},
    {"lifecycle", false},   {"currency", false}, {"minimum", false}, {"multiple", false},
    {"price_breaks", true}, {"source", false},
};
// More than any catalogue has; a wrong file is refused in one message instead of thousands.
constexpr std::size_t kMostColumns = 400;
constexpr std::string_view kLifecycles[] = {"active", "not-for-new", "obsolete"};

/// The longest figure name `column` begins with, followed by its end or by "_UNIT".
const Figure* figure_of(std::string_view column) {
  const Figure* best = nullptr;
  for (const PartClass& c : part_classes())
    for (const Figure& f : c.figures) {
      const bool fits = column.starts_with(f.name) &&
                        (column.size() == f.name.size() || column[f.name.size()] == '_');
      if (fits && (!best || f.name.size() > best->name.size())) best = &f;
    }
  return best;
}

/// "K_per_W" and "K_W" are "K/W".
std::string unit_from_name(std::string_view name) {
  std::string out = replace_all(name, "_per_", "/");
  if (const std::size_t at = out.find('_'); at != std::string::npos) out[at] = '/';
  return out;
}

std::vector<std::string> known_columns() {
  std::vector<std::string> out;
  for (const FieldRow& f : kFields) out.emplace_back(f.name);
  for (const PartClass& c : part_classes())
    for (const Figure& f : c.figures) out.push_back(column_name(f));
  std::ranges::sort(out);  // classes share figures
  out.erase(std::ranges::unique(out).begin(), out.end());
  return out;
}

/// Two columns for one thing.
bool same_column(const Column& a, const Column& b) {
  return a.field != Field::left_out && a.field == b.field && a.figure == b.figure;
}

void check_set(std::string_view file, const CsvRow& header, const std::vector<Column>& columns,
               Problems& problems) {
  for (std::size_t i = 0; i < columns.size(); ++i)
    for (std::size_t k = 0; k < i; ++k)
      if (same_column(columns[i], columns[k]))
        problems.push_back(
            at_cell(file, header[i],
                    {.expected = "each column once", .found = "another " + columns[k].name}));
  for (std::size_t i = 0; i < std::size(kFields); ++i)
    if (kFields[i].required && std::ranges::none_of(columns, [&](const Column& c) {
          return c.field == static_cast<Field>(i);
        }))
      problems.push_back(
          at_cell(file, header.front(),
                  {.key = std::string(kFields[i].name),
                   .expected = "a column of this name",
                   .found = "none",
                   .message = header.size() == 1 && header[0].text.find(';') != std::string::npos
                                  ? "cells are separated by commas"
                                  : ""}));
}

}  // namespace

// Comparing is slow and a wrong file has many wrong columns, so only names of about the same length
// are compared.
std::string near_column(std::string_view name) {
  static const std::vector<std::string> known = known_columns();
  constexpr std::size_t kSlack = 3;
  std::vector<std::string_view> alike;
  for (const std::string& k : known)
    if (k.size() <= name.size() + kSlack && name.size() <= k.size() + kSlack) alike.push_back(k);
  return nearest(name, alike);
}

std::expected<Column, Problem> read_column(const std::string& name, Units units) {
  Column out{.name = name, .free_unit = units == Units::optional};
  for (std::size_t i = 0; i < std::size(kFields); ++i)
    if (kFields[i].name == name) {
      out.field = static_cast<Field>(i);
      return out;
    }
  const Figure* figure = figure_of(name);
  if (!figure) {
    const std::string near = near_column(name);
    return std::unexpected(Problem{.expected = "a column of the catalogue",
                                   .found = pb::quoted(name),
                                   .message = near.empty() ? "" : "did you mean " + near + "?"});
  }
  out.field = Field::figure;
  out.figure = figure->name;
  out.unit.dim = figure->dim;
  if (name.size() > figure->name.size())
    out.unit_text = unit_from_name(std::string_view(name).substr(figure->name.size() + 1));
  if (out.free_unit && out.unit_text.empty()) return out;
  const auto unit = parse_unit(out.unit_text, figure->dim);
  if (!unit)
    return std::unexpected(
        Problem{.expected = "the unit of the figure in the name, such as " + column_name(*figure),
                .found = pb::quoted(name),
                .message = unit.error().hint});
  out.unit = *unit;
  return out;
}

Problem at_cell(std::string_view file, const CsvCell& cell, Problem p) {
  p.file = file;
  p.line = cell.line;
  p.column = cell.column;
  if (p.key.empty()) p.key = trim(cell.text);
  return p;
}

std::span<const FieldRow> field_rows() { return kFields; }
std::span<const std::string_view> lifecycles() { return kLifecycles; }

std::expected<double, QuantityError> read_quantity_cell(std::string_view text,
                                                        const Column& column) {
  const bool plain = column.unit.dim == dim::none && column.unit_text.empty();
  const bool own_unit = column.free_unit && (column.unit_text.empty() || !to_number(text));
  return plain || own_unit ? parse_quantity(text, column.unit.dim)
                           : parse_number(text, column.unit);
}

std::string column_name(const Figure& figure) {
  const std::string unit = replace_all(si_unit(figure.dim), "/", "_");
  return std::string(figure.name) + (unit.empty() ? "" : "_" + unit);
}

Checked<std::vector<Column>> read_columns(std::string_view file, const CsvRow& header) {
  std::vector<Column> out;
  Problems problems;
  if (header.size() > kMostColumns)
    return std::unexpected(
        Problems{at_cell(file, header[kMostColumns],
                         {.key = "header",
                          .expected = "at most " + std::to_string(kMostColumns) + " columns",
                          .found = std::to_string(header.size())})});
  for (const CsvCell& cell : header) {
    if (auto column = read_column(std::string(trim(cell.text)), Units::required))
      out.push_back(std::move(*column));
    else
      problems.push_back(at_cell(file, cell, std::move(column.error())));
  }
  if (out.size() == header.size() || header.size() == 1) check_set(file, header, out, problems);
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return out;
}

}  // namespace pb::catalogue

namespace pb {

using catalogue::column_name, catalogue::field_rows, catalogue::FieldRow;

std::string write_catalogue(const std::vector<Part>& parts) {
  std::vector<std::string_view>
      used;  // names of figures some part has, in the order of the classes
  std::vector<std::string> headers;
  for (const PartClass& c : part_classes())
    for (const Figure& f : c.figures) {
      const bool has = std::ranges::any_of(parts, [&](const Part& p) {
        const PartClass* own = find_part_class(p.part_class);
        PB_CHECK(own != nullptr, p.part_class);
        const int i = figure_index(*own, f.name);
        return i >= 0 && given(p.figures[static_cast<std::size_t>(i)]);
      });
      if (!has || std::ranges::find(used, f.name) != used.end()) continue;
      used.push_back(f.name);
      headers.push_back(column_name(f));
    }
  CsvWriter out;
  for (const FieldRow& f : field_rows()) out.raw(f.name);
  for (const std::string& h : headers) out.raw(h);
  out.end_row();
  for (const Part& p : parts) {
    out.text(p.number).text(p.part_class).text(p.package).number(p.stock).text(p.lifecycle);
    out.text(p.currency).number(p.minimum).number(p.multiple).raw(to_text(p.price_breaks));
    out.text(p.source);
    const PartClass& c = *find_part_class(p.part_class);
    for (const std::string_view name : used) {
      const int i = figure_index(c, name);
      out.number(i < 0 ? kNotGiven : p.figures[static_cast<std::size_t>(i)]);
    }
    out.end_row();
  }
  return out.str();
}

}  // namespace pb
