// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/waves.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

namespace pb::app {
namespace {

using Json = nlohmann::ordered_json;
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
  if (x == 0 || !std::isfinite(x)) return 0;
  const double scale = std::pow(10.0, 4 - std::floor(std::log10(std::abs(x))));
  return std::round(x * scale) / scale;
}

/// First and one past the last row of every stretch that is not empty.
std::vector<std::pair<std::size_t, std::size_t>> stretches(const std::vector<Row>& rows,
                                                           std::size_t first, std::size_t end,
                                                           int points) {
  std::vector<std::pair<std::size_t, std::size_t>> out;
  const double from = rows[first][0], width = (rows[end - 1][0] - from) / points;
  std::size_t at = first;
  for (int k = 0; k < points && at < end; ++k) {
    const double until = from + width * (k + 1);
    std::size_t next = at;
    while (next < end && (rows[next][0] < until || k + 1 == points)) ++next;
    if (next > at) out.emplace_back(at, next);
    at = next;
  }
  return out;
}

}  // namespace

Json waves_json(const physics::Waveforms& waves, const WaveRange& range) {
  const std::vector<Row>& rows = waves.rows;
  const auto before = [](const Row& row, double t) { return row[0] < t; };
  auto first = static_cast<std::size_t>(
      std::lower_bound(rows.begin(), rows.end(), range.from_s, before) - rows.begin());
  auto end = static_cast<std::size_t>(
      std::lower_bound(rows.begin(), rows.end(), range.to_s, before) - rows.begin());
  // One more on each side, so that lines reach the edges.
  if (first > 0) --first;
  if (end < rows.size()) ++end;
  Json t = Json::array(), series = Json::array();
  const std::size_t columns = kFixed.size() + waves.names.size();
  std::vector<Json> y(columns, Json::array());
  if (first < end) {
    if (end - first <= 2 * static_cast<std::size_t>(range.points)) {
      for (std::size_t k = first; k < end; ++k) {
        t.push_back(rows[k][0]);
        for (std::size_t c = 0; c < columns; ++c) y[c].push_back(rounded(rows[k][c + 1]));
      }
    } else {
      for (const auto& [a, b] : stretches(rows, first, end, range.points)) {
        t.push_back(rows[a][0]);
        if (b - a > 1) t.push_back(rows[b - 1][0]);
        for (std::size_t c = 0; c < columns; ++c) {
          std::size_t low = a, high = a;
          for (std::size_t k = a; k < b; ++k) {
            if (rows[k][c + 1] < rows[low][c + 1]) low = k;
            if (rows[k][c + 1] > rows[high][c + 1]) high = k;
          }
          y[c].push_back(rounded(rows[std::min(low, high)][c + 1]));
          if (b - a > 1) y[c].push_back(rounded(rows[std::max(low, high)][c + 1]));
        }
      }
    }
  }
  for (std::size_t c = 0; c < columns; ++c)
    series.push_back(
        Json{{"name", c < kFixed.size() ? kFixed[c].name : waves.names[c - kFixed.size()]},
             {"unit", c < kFixed.size() ? kFixed[c].unit : "V"},
             {"y", std::move(y[c])}});
  return Json{{"from_s", rows.empty() ? 0.0 : rows.front()[0]},
              {"to_s", rows.empty() ? 0.0 : rows.back()[0]},
              {"rows", rows.size()},
              {"t", std::move(t)},
              {"series", std::move(series)}};
}

}  // namespace pb::app
