// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/catalogue_mapped.h"

#include <algorithm>
#include <cctype>

#include "base/check.h"
#include "base/text.h"

namespace pb::catalogue {
namespace {

constexpr const char* kPrices = "price_breaks";

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Currency signs and words around a number go: "$0.12", "0.12 EUR", "> 1000".
std::string_view bare_number(std::string_view text) {
  constexpr std::string_view kOfNumbers = "0123456789.-+";
  const std::size_t first = text.find_first_of(kOfNumbers);
  if (first == std::string_view::npos || text.starts_with('=') || text.starts_with('@'))
    return text;
  const std::size_t last = text.find_last_of("0123456789.");
  return last == std::string_view::npos || last < first ? text
                                                        : text.substr(first, last - first + 1);
}

bool is_count(Field field) {
  return field == Field::stock || field == Field::minimum || field == Field::multiple;
}

std::string from_latin1(std::string_view bytes) {
  std::string out;
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x80) {
      out += c;
    } else {
      out += static_cast<char>(0xC0 | (byte >> 6));
      out += static_cast<char>(0x80 | (byte & 0x3F));
    }
  }
  return out;
}

}  // namespace

std::string to_utf8(std::string_view text, const Mapping& mapping) {
  return mapping.latin1 ? from_latin1(text) : std::string(text);
}

std::size_t RowMapper::add_target(const std::string& name, const std::string& shown) {
  const auto [at, fresh] = index_.emplace(name, columns_.size());
  if (fresh) {
    auto column = read_column(name, Units::optional);
    PB_CHECK(column.has_value(), name);  // read_mapping has seen to it
    column->name = shown;
    columns_.push_back(std::move(*column));
  }
  return at->second;
}

void RowMapper::add_source(const MappedColumn& column, std::size_t at) {
  Source source{.column = &column, .at = at, .targets = {}};
  if (column.price_at > 0) source.targets.push_back(add_target(kPrices, column.theirs));
  if (!column.to.empty()) source.targets.push_back(add_target(column.to, column.theirs));
  for (const CellPattern& pattern : column.patterns)
    for (const std::string& name : pattern.names())
      source.targets.push_back(name.empty() ? columns_.max_size()
                                            : add_target(name, column.theirs));
  sources_.push_back(std::move(source));
}

Checked<RowMapper> RowMapper::make(std::string_view file, const CsvRow& header,
                                   const Mapping& mapping) {
  RowMapper out;
  out.file_ = file;
  out.mapping_ = &mapping;
  for (const auto& [name, text] : mapping.constant) {
    out.add_target(name, name);
    out.constants_.push_back(text);
  }
  Problems problems;
  std::map<std::string, std::size_t> places;
  std::vector<std::string_view> names;
  for (std::size_t i = 0; i < header.size(); ++i)
    if (places.emplace(trim(header[i].text), i).second) names.push_back(trim(header[i].text));
  for (const MappedColumn& column : mapping.columns) {
    const auto at = places.find(column.theirs);
    if (at != places.end()) {
      out.add_source(column, at->second);
      continue;
    }
    const std::string near = nearest(column.theirs, names);
    problems.push_back(at_cell(file, header.front(),
                               {.key = column.theirs,
                                .expected = "a column of this name, which the mapping reads",
                                .found = "none",
                                .message = near.empty() ? "" : "did you mean " + near + "?"}));
  }
  for (std::size_t i = 0; i < header.size(); ++i)
    if (std::ranges::none_of(out.sources_, [&](const Source& s) { return s.at == i; }))
      out.left_out_.emplace_back(trim(header[i].text));
  // Breaks are joined in the order of the sources, which must be that of the quantities.
  std::ranges::stable_sort(out.sources_, {}, [](const Source& s) { return s.column->price_at; });
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return out;
}

bool RowMapper::means_nothing(std::string_view text) const {
  return text.empty() || std::ranges::any_of(mapping_->empty, [&](const std::string& e) {
           return equal_ignoring_case(trim(e), text);
         });
}

/// The decimal sign as a point, and no sign between thousands.
std::string RowMapper::in_our_signs(std::string_view text) const {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool between =
        i > 0 && i + 1 < text.size() && is_digit(text[i - 1]) && is_digit(text[i + 1]);
    if (mapping_->thousands != '\0' && text[i] == mapping_->thousands && between) continue;
    out += text[i] == mapping_->decimal ? '.' : text[i];
  }
  return out;
}

std::string RowMapper::translated(const Source& source, const Column& target,
                                  std::string_view text) const {
  if (target.field == Field::figure) {
    std::string out = in_our_signs(text);
    if (source.column->magnitude && (out.starts_with('-') || out.starts_with('+')))
      out = trim(std::string_view(out).substr(1));
    return out;
  }
  if (is_count(target.field)) return std::string(bare_number(in_our_signs(text)));
  return std::string(text);
}

void RowMapper::read_pattern(const Source& source, const CsvCell& cell, CsvRow& out,
                             Problems& problems) const {
  std::size_t first = 0;
  for (const CellPattern& pattern : source.column->patterns) {
    const auto fits = [&](std::size_t place, std::string_view text) {
      const std::size_t target = source.targets[first + place];
      if (target >= columns_.size() || columns_[target].field != Field::figure) return true;
      return read_quantity_cell(translated(source, columns_[target], text), columns_[target])
          .has_value();
    };
    const auto captures = pattern.match(trim(cell.text), fits);
    for (std::size_t k = 0; k < captures.size(); ++k)
      if (const std::size_t target = source.targets[first + k]; target < columns_.size())
        out[target] = {translated(source, columns_[target], captures[k]), cell.line, cell.column};
    if (!captures.empty()) return;
    first += pattern.names().size();
  }
  std::vector<std::string> all;
  all.reserve(source.column->patterns.size());
  for (const CellPattern& pattern : source.column->patterns)
    all.push_back(pb::quoted(pattern.text()));
  problems.push_back(at_cell(file_, cell,
                             {.key = source.column->theirs,
                              .expected = "text like " + join(all, " or "),
                              .found = pb::quoted(cell.text)}));
}

void RowMapper::read_simple(const Source& source, const CsvCell& cell, CsvRow& out,
                            Problems& problems) const {
  const std::size_t target = source.targets.front();
  const std::string_view text = trim(cell.text);
  if (source.column->price_at > 0) {
    CsvCell& prices = out[target];
    if (prices.text.empty()) prices = {"", cell.line, cell.column};
    prices.text += (prices.text.empty() ? "" : ";") + shortest(source.column->price_at) + ":" +
                   std::string(bare_number(in_our_signs(text)));
    return;
  }
  std::string value = translated(source, columns_[target], text);
  if (!source.column->values.empty()) {
    const auto ours = source.column->values.find(std::string(text));
    if (ours == source.column->values.end()) {
      problems.push_back(at_cell(file_, cell,
                                 {.key = source.column->theirs,
                                  .expected = "a text the mapping has a value for",
                                  .found = pb::quoted(text)}));
      return;
    }
    value = ours->second;
  }
  out[target] = {std::move(value), cell.line, cell.column};
}

CsvRow RowMapper::map(const CsvRow& theirs, Problems& problems) const {
  CsvRow out(columns_.size(), CsvCell{"", theirs.front().line, theirs.front().column});
  for (std::size_t i = 0; i < constants_.size(); ++i) out[i].text = constants_[i];
  for (const Source& source : sources_) {
    const CsvCell& cell = theirs[source.at];
    if (means_nothing(trim(cell.text))) {
      for (const std::size_t target : source.targets)
        if (target < columns_.size() && out[target].text.empty())
          out[target] = {"", cell.line, cell.column};
    } else if (!source.column->patterns.empty()) {
      read_pattern(source, cell, out, problems);
    } else {
      read_simple(source, cell, out, problems);
    }
  }
  return out;
}

}  // namespace pb::catalogue
