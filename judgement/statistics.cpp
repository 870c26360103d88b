// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/statistics.h"

#include <algorithm>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>
#include <numeric>

#include "base/check.h"
#include "base/math.h"

namespace pb {
namespace {

/// Ranks from 1; equal values get the mean of the ranks they take up.
std::vector<double> ranks(const std::vector<double>& x) {
  std::vector<std::size_t> order(x.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return x[a] < x[b]; });
  std::vector<double> out(x.size());
  for (std::size_t from = 0; from < order.size();) {
    std::size_t to = from;
    while (to < order.size() && x[order[to]] == x[order[from]]) ++to;
    for (std::size_t k = from; k < to; ++k)
      out[order[k]] = 0.5 * static_cast<double>(from + 1 + to);
    from = to;
  }
  return out;
}

}  // namespace

Interval exact_interval(long hits, long count, double confidence) {
  PB_CHECK(count > 0 && hits >= 0 && hits <= count && confidence > 0 && confidence < 1, hits, count,
           confidence);
  const double miss = 0.5 * (1.0 - confidence), x = static_cast<double>(hits),
               rest = static_cast<double>(count - hits);
  Interval out{0.0, 1.0, confidence};
  if (hits > 0) out.low = boost::math::ibeta_inv(x, rest + 1.0, miss);
  if (hits < count) out.high = boost::math::ibetac_inv(x + 1.0, rest, miss);
  return out;
}

double student_deviations(double freedom, double confidence) {
  PB_CHECK(freedom > 0 && confidence > 0 && confidence < 1, freedom, confidence);
  const double x = boost::math::ibeta_inv(0.5 * freedom, 0.5, 1.0 - confidence);
  return std::sqrt(freedom * (1.0 - x) / x);
}

Moments moments_of(const std::vector<double>& x) {
  if (x.empty()) return {};
  const double n = static_cast<double>(x.size());
  CompensatedSum sum, squares;
  for (double v : x) sum.add(v);
  const double mean = sum.value() / n;
  for (double v : x) squares.add(square(v - mean));
  return {mean, x.size() > 1 ? std::sqrt(squares.value() / (n - 1.0)) : 0.0};
}

double rank_correlation(const std::vector<double>& x, const std::vector<double>& y) {
  PB_CHECK(x.size() == y.size(), x.size(), y.size());
  if (x.size() < 2) return 0.0;
  const std::vector<double> a = ranks(x), b = ranks(y);
  const double middle = 0.5 * static_cast<double>(x.size() + 1);  // mean of any ranks
  double ab = 0, aa = 0, bb = 0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    ab += (a[k] - middle) * (b[k] - middle);
    aa += square(a[k] - middle);
    bb += square(b[k] - middle);
  }
  return aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0.0;
}

Histogram histogram_of(const std::vector<double>& x, int bins) {
  Histogram out;
  if (x.empty()) return out;
  const auto [low, high] = std::minmax_element(x.begin(), x.end());
  out.low = *low, out.high = *high;
  const double width = (out.high - out.low) / bins;
  out.counts.assign(static_cast<std::size_t>(width > 0 ? bins : 1), 0);
  for (const double v : x) {
    const auto bin = width > 0 ? static_cast<std::size_t>((v - out.low) / width) : 0;
    ++out.counts[std::min(bin, out.counts.size() - 1)];
  }
  return out;
}

}  // namespace pb
