// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/capture_layout.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstring>
#include <limits>
#include <map>

#include "base/quantity.h"
#include "base/text.h"

namespace pb::files {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
// Enough for the longest preamble seen on instruments (common practice, no source).
constexpr std::size_t kSampleBytes = std::size_t{1} << 18;
constexpr std::size_t kSampleLines = 3000;

struct Form {
  char separator, decimal;
};
// In the order in which ties are broken. A comma that parts cells cannot be the decimal mark.
constexpr auto kForms = std::to_array<Form>(
    {{';', '.'}, {';', ','}, {'\t', '.'}, {'\t', ','}, {',', '.'}, {' ', '.'}, {' ', ','}});

std::string_view bare(std::string_view cell) {
  cell = trim(cell);
  if (cell.size() >= 2 && cell.front() == '"' && cell.back() == '"')
    cell = trim(cell.substr(1, cell.size() - 2));
  return cell;
}

/// The digits from the front; `rest` is what follows them.
double leading_number(std::string_view text, std::string_view& rest) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  rest = text.substr(static_cast<std::size_t>(end - text.data()));
  return error == std::errc() && std::isfinite(value) ? value : kNone;
}

/// Hours, minutes, seconds.
double clock_time(std::string_view text) {
  double total = 0;
  for (int part = 0; part < 3; ++part) {
    std::string_view rest;
    const double value = leading_number(text, rest);
    if (!(value >= 0 && value < 100)) return kNone;
    total = total * 60.0 + value;
    const bool more = rest.starts_with(':');
    if (more == (part == 2) || (!more && !rest.empty())) return kNone;
    text = more ? rest.substr(1) : rest;
  }
  return total;
}

/// Number of cells, then one sign a cell: '1' number, '0' none, '-' empty.
std::string pattern_of(std::string_view line, Form form) {
  std::string out;
  std::size_t at = 0;
  std::string_view cell;
  while (next_cell(line, form.separator, at, cell)) {
    cell = trim(cell);
    out += cell.empty() ? '-' : std::isnan(cell_number(cell, form.decimal)) ? '0' : '1';
  }
  return out;
}

struct Finding {
  Form form{};
  std::string pattern;
  double lines =
      0;  // times the share of their cells that are numbers: a wrong separator leaves text
};

/// The commonest kind of line with at least two numbers.
Finding commonest(const std::vector<std::string_view>& lines, Form form) {
  std::map<std::string, std::size_t> seen;
  for (std::string_view line : lines) {
    std::string pattern = pattern_of(line, form);
    if (std::count(pattern.begin(), pattern.end(), '1') >= 2) ++seen[std::move(pattern)];
  }
  Finding best{form, {}, 0};
  for (const auto& [pattern, count] : seen) {
    const auto of = [&](char c) {
      return static_cast<double>(std::count(pattern.begin(), pattern.end(), c));
    };
    const double weight = static_cast<double>(count) * of('1') / (of('1') + of('0'));
    if (weight > best.lines) best.pattern = pattern, best.lines = weight;
  }
  return best;
}

bool fits(const std::string& pattern, const std::string& wanted) {
  if (pattern.size() > wanted.size()) return false;
  int numbers = 0;
  for (std::size_t k = 0; k < pattern.size(); ++k) {
    if (wanted[k] == '1' && pattern[k] == '0') return false;
    if (wanted[k] == '1' && pattern[k] == '1') ++numbers;
  }
  return numbers >= 2;
}

std::vector<std::string> cells_of(std::string_view line, char separator) {
  std::vector<std::string> out;
  std::size_t at = 0;
  std::string_view cell;
  while (next_cell(line, separator, at, cell)) out.emplace_back(bare(cell));
  return out;
}

/// The cells of a header line that stand over the numbers; nothing if one of them is empty.
std::vector<std::string> heads(const CaptureLayout& layout, std::string_view line) {
  const auto cells = cells_of(line, layout.separator);
  std::vector<std::string> row;
  for (std::size_t c : layout.columns) {
    if (c >= cells.size() || cells[c].empty()) return {};
    row.push_back(cells[c]);
  }
  return row;
}

/// "(ms)" is "ms"; "Time (ms)" stays.
std::string_view without_brackets(std::string_view text) {
  const bool bracketed = text.size() > 2 && (text.front() == '(' || text.front() == '[');
  return bracketed && (text.back() == ')' || text.back() == ']')
             ? trim(text.substr(1, text.size() - 2))
             : text;
}

/// Names from the last line of the header which has one for every column, or from the one above
/// where the last has units ("(s),(V)" or "second,Volt").
void name_columns(CaptureLayout& layout) {
  layout.names.assign(layout.columns.size(), ""), layout.units.assign(layout.columns.size(), "");
  bool units_known = false;
  for (std::size_t k = layout.header.size(); k-- > 0;) {
    auto row = heads(layout, layout.header[k]);
    if (row.empty()) continue;
    const bool units = std::all_of(row.begin(), row.end(), [](const std::string& cell) {
      return find_unit(without_brackets(cell)).has_value();
    });
    if (!units || units_known) {
      layout.names = std::move(row);
      return;
    }
    for (std::size_t c = 0; c < row.size(); ++c) layout.units[c] = without_brackets(row[c]);
    units_known = true;
  }
}

struct UnitWord {
  std::string_view word, symbol;
};
constexpr auto kUnitWords = std::to_array<UnitWord>({{"second", "s"},
                                                     {"seconds", "s"},
                                                     {"sec", "s"},
                                                     {"msec", "ms"},
                                                     {"usec", "us"},
                                                     {"volt", "V"},
                                                     {"volts", "V"},
                                                     {"ampere", "A"},
                                                     {"amperes", "A"},
                                                     {"amp", "A"},
                                                     {"amps", "A"},
                                                     {"nm", "N m"},
                                                     {"rad_s", "rad/s"}});
struct UnitKind {
  Dim dim;
  std::string_view si;
};
constexpr auto kUnitKinds = std::to_array<UnitKind>({{dim::time, "s"},
                                                     {dim::voltage, "V"},
                                                     {dim::current, "A"},
                                                     {dim::angle, "rad"},
                                                     {dim::angular_speed, "rad_s"},
                                                     {dim::torque, "Nm"}});

}  // namespace

std::string_view next_line(std::string_view text, std::size_t& at) {
  const char* from = text.data() + at;
  const std::size_t left = text.size() - at;
  const void* end = std::memchr(from, '\n', left);
  std::size_t size = end ? static_cast<std::size_t>(static_cast<const char*>(end) - from) : left;
  at += end ? size + 1 : size;
  if (size > 0 && from[size - 1] == '\r') --size;
  return {from, size};
}

bool next_cell(std::string_view line, char separator, std::size_t& at, std::string_view& cell) {
  if (separator == ' ')
    while (at < line.size() && line[at] == ' ') ++at;
  if (at > line.size() || (at == line.size() && (separator == ' ' || line.empty()))) return false;
  std::size_t end = at;
  if (end < line.size() && line[end] == '"') {
    end = line.find('"', end + 1);
    if (end == std::string_view::npos) end = at;
  }
  end = std::min(line.find(separator, end), line.size());
  cell = line.substr(at, end - at);
  at = end + 1;
  return true;
}

double cell_number(std::string_view cell, char decimal, bool* clock) {
  cell = bare(cell);
  if (cell.empty()) return kNone;
  std::array<char, 64> copy;
  if (decimal == ',' && cell.find(',') != std::string_view::npos) {
    if (cell.size() > copy.size() || cell.find('.') != std::string_view::npos) return kNone;
    std::replace_copy(cell.begin(), cell.end(), copy.begin(), ',', '.');
    cell = {copy.data(), cell.size()};
  }
  std::string_view rest;
  const double value = leading_number(cell, rest);
  if (rest.empty()) return value;
  const std::size_t colon = cell.find(':');
  if (colon == std::string_view::npos) return kNone;
  const std::size_t before = cell.find_last_of(" T", colon);  // behind a date
  const double time = clock_time(before == std::string_view::npos ? cell : cell.substr(before + 1));
  if (clock && !std::isnan(time)) *clock = true;
  return time;
}

std::optional<CaptureUnit> find_unit(std::string_view text) {
  std::string plain(trim(text));
  // The sign for micro of files that are not UTF-8.
  if (!is_utf8(plain)) plain = replace_all(plain, "\xB5", "u");
  for (const UnitWord& w : kUnitWords)
    if (equal_ignoring_case(plain, w.word)) plain = w.symbol;
  for (const UnitKind& kind : kUnitKinds)
    if (const auto unit = parse_unit(plain, kind.dim); unit && unit->offset == 0)
      return CaptureUnit{std::string(kind.si), unit->factor * std::pow(10.0, unit->exp10)};
  return std::nullopt;
}

std::optional<CaptureLayout> find_layout(std::string_view text) {
  std::vector<std::string_view> lines;
  std::size_t at = 0;
  const std::string_view sample = text.substr(0, kSampleBytes);
  while (at < sample.size() && lines.size() < kSampleLines) lines.push_back(next_line(sample, at));
  // The sample may have cut the last line in two.
  if (sample.size() < text.size() && lines.size() > 1 && at >= sample.size()) lines.pop_back();
  Finding best;
  for (const Form& form : kForms)
    if (Finding f = commonest(lines, form); f.lines > best.lines) best = std::move(f);
  if (best.lines == 0) return std::nullopt;

  CaptureLayout layout;
  layout.separator = best.form.separator, layout.decimal = best.form.decimal;
  layout.cells = best.pattern.size();
  for (std::size_t c = 0; c < best.pattern.size(); ++c)
    if (best.pattern[c] == '1') layout.columns.push_back(c);
  at = 0;
  for (std::string_view line : lines) {
    if (fits(pattern_of(line, best.form), best.pattern)) break;
    layout.header.emplace_back(line.substr(0, 1000));
    next_line(text, at);
    ++layout.first_line;
  }
  layout.first_offset = at;
  name_columns(layout);
  return layout;
}

}  // namespace pb::files
