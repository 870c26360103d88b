// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What every plot of a delivery has in common: how text and lines look, and the range of an axis.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

namespace pb::delivery {

inline constexpr double kPlotText = 12;
inline constexpr const char* kTextStyle = "fill=\"currentColor\" stroke=\"none\"";
inline constexpr const char* kPlotClass = "class=\"plot\" font-family=\"system-ui, sans-serif\"";

struct Range {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  void include(double v) {
    if (!std::isfinite(v)) return;
    low = std::min(low, v);
    high = std::max(high, v);
  }
  bool any() const { return low <= high; }
  /// Every line gets a little room on both sides, a flat one as much of its own height.
  void widen(double share) {
    const double span = high - low;
    const double by = span > 1e-9 * std::max(std::abs(low), std::abs(high))
                          ? share * span
                          : std::max(share * std::abs(high), 1e-12);
    low -= by;
    high += by;
  }
};

}  // namespace pb::delivery
