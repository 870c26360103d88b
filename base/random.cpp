// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Turning 64 bits of a counter-based draw into numbers of a distribution.
#include "base/random.h"

#include <algorithm>

#include "base/check.h"
#include "base/math.h"

namespace pb {

double Draws::uniform(std::string_view name) const {
  // The top 52 bits, moved to the middle of their cell: never 0, never 1, and 1-u is as exact as u.
  return (static_cast<double>(bits(name) >> 12) + 0.5) * 0x1p-52;
}

double Draws::uniform(std::string_view name, double low, double high) const {
  return mix(low, high, uniform(name));
}

double Draws::normal(std::string_view name, double mean, double sigma) const {
  return mean + sigma * normal_quantile(uniform(name));
}

double Draws::truncated_normal(std::string_view name, double mean, double sigma, double low,
                               double high) const {
  PB_CHECK(low <= high && sigma >= 0.0, name, mean, sigma, low, high);
  if (sigma == 0.0 || low == high) return std::clamp(mean, low, high);
  const double a = (low - mean) / sigma, b = (high - mean) / sigma;
  // In the upper tail the distribution function is 1 less a little, and the little would be lost:
  // mirror.
  const bool upper = a > 0.0;
  const double p_low = normal_cdf(upper ? -b : a), p_high = normal_cdf(upper ? -a : b);
  const double z = normal_quantile(mix(p_low, p_high, uniform(name)));
  return std::clamp(mean + sigma * (upper ? -z : z), low, high);  // rounding may step outside
}

}  // namespace pb
