// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/waves.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "files/csv.h"

namespace pb::app {
namespace {

using Row = std::vector<double>;

struct FixedColumn {
  const char *name, *unit;
};
constexpr auto kFixed = std::to_array<FixedColumn>({{"winding a", "A"},
                                                    {"winding b", "A"},
                                                    {"rail", "V"},
                                                    {"supply", "A"},
                                                    {"angle", "rad"},
                                                    {"speed", "rad/s"},
                                                    {"torque", "N m"}});

/// Five digits: a screen has not four thousand lines.
double rounded(double x) {
  if (x == 0) return 0;
  const double scale = std::pow(10.0, 4 - std::floor(std::log10(std::abs(x))));
  return std::round(x * scale) / scale;
}

/// Rows of `columns` values over a time, whatever holds them.
template <class Time, class Value>
struct Table {
  std::size_t rows, columns;
  Time time;    // of a row
  Value value;  // of a row and a column
};

/// First and one past the last row of every stretch that is not empty.
template <class T>
std::vector<std::pair<std::size_t, std::size_t>> stretches(const T& table, std::size_t first,
                                                           std::size_t end, int points) {
  std::vector<std::pair<std::size_t, std::size_t>> out;
  const double from = table.time(first), width = (table.time(end - 1) - from) / points;
  std::size_t at = first;
  for (int k = 0; k < points && at < end; ++k) {
    const double until = from + width * (k + 1);
    std::size_t next = at;
    while (next < end && (table.time(next) < until || k + 1 == points)) ++next;
    if (next > at) out.emplace_back(at, next);
    at = next;
  }
  return out;
}

/// Least and greatest of a column over a stretch, in the order in which they come.
template <class T>
std::pair<double, double> ends_of(const T& table, std::size_t a, std::size_t b, std::size_t c) {
  std::size_t low = a, high = a;
  for (std::size_t k = a; k < b; ++k) {
    const double y = table.value(k, c);
    if (std::isnan(y)) continue;  // a gap
    if (!(table.value(low, c) <= y)) low = k;
    if (!(table.value(high, c) >= y)) high = k;
  }
  return {table.value(std::min(low, high), c), table.value(std::max(low, high), c)};
}

Json number(double x) { return std::isfinite(x) ? Json(rounded(x)) : Json(nullptr); }

struct Thinned {
  Json t = Json::array();
  std::vector<Json> y;
};

template <class T>
Thinned thinned(const T& table, const WaveRange& range) {
  std::size_t first = 0, end = table.rows;
  while (first < end && table.time(first) < range.from_s) ++first;
  while (end > first && table.time(end - 1) >= range.to_s) --end;
  // One more on each side, so that lines reach the edges.
  if (first > 0) --first;
  if (end < table.rows) ++end;
  Thinned out;
  out.y.assign(table.columns, Json::array());
  if (first >= end) return out;
  if (end - first <= 2 * static_cast<std::size_t>(range.points)) {
    for (std::size_t k = first; k < end; ++k) {
      out.t.push_back(table.time(k));
      for (std::size_t c = 0; c < table.columns; ++c) out.y[c].push_back(number(table.value(k, c)));
    }
    return out;
  }
  for (const auto& [a, b] : stretches(table, first, end, range.points)) {
    out.t.push_back(table.time(a));
    if (b - a > 1) out.t.push_back(table.time(b - 1));
    for (std::size_t c = 0; c < table.columns; ++c) {
      const auto [one, two] = ends_of(table, a, b, c);
      out.y[c].push_back(number(one));
      if (b - a > 1) out.y[c].push_back(number(two));
    }
  }
  return out;
}

}  // namespace

std::string waveforms_csv(const physics::Waveforms& waves, double from_s, double to_s) {
  CsvWriter csv;
  for (const char* name : {"t_s", "winding_a_A", "winding_b_A", "rail_V", "supply_A", "theta_rad",
                           "speed_rad_s", "torque_Nm"})
    csv.text(name);
  for (const std::string& name : waves.names) csv.text(name);
  csv.end_row();
  for (const Row& row : waves.rows) {
    if (row[0] < from_s || row[0] > to_s) continue;
    for (double x : row) csv.number(x);
    csv.end_row();
  }
  return csv.str();
}

Json waves_json(const physics::Waveforms& waves, const WaveRange& range) {
  const std::vector<Row>& rows = waves.rows;
  const std::size_t losses_from = kFixed.size() + waves.names.size(),
                    columns = losses_from + (range.losses ? waves.loss_refs.size() : 0);
  const auto time = [&](std::size_t k) { return rows[k][0]; };
  const auto value = [&](std::size_t k, std::size_t c) {
    return c < losses_from ? rows[k][c + 1] : waves.losses_W[k][c - losses_from];
  };
  const auto column = [&](std::size_t c) -> std::pair<std::string, const char*> {
    if (c < kFixed.size()) return {kFixed[c].name, kFixed[c].unit};
    if (c < losses_from) return {waves.names[c - kFixed.size()], "V"};
    return {"loss " + waves.loss_refs[c - losses_from], "W"};
  };
  Thinned thin = thinned(Table{rows.size(), columns, time, value}, range);
  Json series = Json::array();
  for (std::size_t c = 0; c < columns; ++c) {
    const auto [name, unit] = column(c);
    series.push_back(Json{{"name", name}, {"unit", unit}, {"y", std::move(thin.y[c])}});
  }
  return Json{{"from_s", rows.empty() ? 0.0 : rows.front()[0]},
              {"to_s", rows.empty() ? 0.0 : rows.back()[0]},
              {"rows", rows.size()},
              {"t", std::move(thin.t)},
              {"series", std::move(series)}};
}

Json series_json(const std::vector<double>& t_s, const std::vector<Series>& series, int points) {
  const auto time = [&](std::size_t k) { return t_s[k]; };
  const auto value = [&](std::size_t k, std::size_t c) { return (*series[c].y)[k]; };
  Thinned thin = thinned(Table{t_s.size(), series.size(), time, value}, {.points = points});
  Json list = Json::array();
  for (std::size_t c = 0; c < series.size(); ++c)
    list.push_back(
        Json{{"name", series[c].name}, {"unit", series[c].unit}, {"y", std::move(thin.y[c])}});
  return Json{{"from_s", t_s.empty() ? 0.0 : t_s.front()},
              {"to_s", t_s.empty() ? 0.0 : t_s.back()},
              {"rows", t_s.size()},
              {"t", std::move(thin.t)},
              {"series", std::move(list)}};
}

}  // namespace pb::app
