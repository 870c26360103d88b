// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "model/capture.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/text.h"

namespace pb {

const CaptureChannel* find_channel(const Capture& capture, std::string_view name,
                                   std::string_view unit) {
  for (const CaptureChannel& c : capture.channels)
    if (equal_ignoring_case(c.name, name) && (c.unit.empty() || c.unit == unit)) return &c;
  return nullptr;
}

bool is_clipped(const CaptureChannel& channel) {
  std::vector<double> whole;  // without its gaps; most have none, and ten million rows are no joke
  const auto is_gap = [](double v) { return std::isnan(v); };
  const bool gaps = std::any_of(channel.y.begin(), channel.y.end(), is_gap);
  if (gaps)
    std::remove_copy_if(channel.y.begin(), channel.y.end(), std::back_inserter(whole), is_gap);
  const std::vector<double>& y = gaps ? whole : channel.y;
  if (y.empty()) return false;
  const auto [low, high] = std::minmax_element(y.begin(), y.end());
  const double span = *high - *low;
  const std::size_t least = std::max<std::size_t>(8, y.size() / 100);
  // Where a signal settles on a value, it creeps: over the last part of the way, as long as a
  // fiftieth of the flat stretch, it moves by less than this.
  constexpr double kCreep = 0.02;
  for (const double end : {*low, *high})
    for (std::size_t k = 0; k < y.size();) {
      if (y[k] != end) {
        ++k;
        continue;
      }
      std::size_t stop = k;
      while (stop < y.size() && y[stop] == end) ++stop;
      const std::size_t flat = stop - k, back = std::max<std::size_t>(1, flat / 50);
      if (flat >= least && k >= back && std::abs(y[k - back] - end) > kCreep * span) return true;
      k = stop;
    }
  return false;
}

double noise_of(const CaptureChannel& channel) {
  // So many differences give the median to half a percent; more would only take time.
  constexpr std::size_t kEnough = 200000;
  const std::vector<double>& y = channel.y;
  const std::size_t stride = std::max<std::size_t>(1, y.size() / kEnough);
  std::vector<double> d;
  d.reserve(y.size() / stride + 1);
  for (std::size_t k = 3; k < y.size(); k += stride) {
    const double third = y[k] - 3 * y[k - 1] + 3 * y[k - 2] - y[k - 3];
    if (!std::isnan(third)) d.push_back(std::abs(third));
  }
  if (d.empty()) return 0;
  // The median of |x| is 0.6745 sigma for a normal x and does not see edges; the variance of a
  // third difference is 1 + 9 + 9 + 1 times that of a row.
  const auto middle = d.begin() + static_cast<std::ptrdiff_t>(d.size() / 2);
  std::nth_element(d.begin(), middle, d.end());
  return *middle / 0.6745 / std::sqrt(20.0);
}

}  // namespace pb
