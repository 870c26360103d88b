// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/protection.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/math.h"

namespace pb {
namespace {

struct FuseRow {
  double times, within_s;
};
constexpr FuseRow kFuse[] = {{2.1, 120.0}, {2.75, 10.0}, {4.0, 3.0}, {10.0, 0.3}};

std::optional<double> fuse_s(double times) {
  if (!(times >= kFuse[0].times)) return std::nullopt;
  for (std::size_t k = 1; k < std::size(kFuse); ++k) {
    const FuseRow &a = kFuse[k - 1], &b = kFuse[k];
    if (times > b.times) continue;
    const double at = std::log(times / a.times) / std::log(b.times / a.times);
    return a.within_s * std::pow(b.within_s / a.within_s, at);
  }
  const FuseRow& last = kFuse[std::size(kFuse) - 1];
  return last.within_s * square(last.times / times);
}

constexpr double kOpens_K = 398.15, kRatedAt_K = 296.15;
constexpr double kTrips = 2.0, kTimedAt = 5.0;  // times the current it holds

double left_K(double ambient_K) { return std::max(kOpens_K - ambient_K, 0.0); }
double rerated(double ambient_K) { return std::sqrt(left_K(ambient_K) / left_K(kRatedAt_K)); }
double time_constant_s(double trip_s) { return -trip_s / std::log1p(-square(kTrips / kTimedAt)); }

}  // namespace

Protection::Protection(const Brief& b)
    : resettable(b.supply.protection == "resettable"),
      trip_s(b.supply.trip_time_s),
      coldest_K(b.ambient.min_K) {}

std::optional<double> Protection::opens_within_s(double times) const {
  if (!resettable) return fuse_s(times);
  const double trips = sure_to_open();
  if (!(times > trips)) return std::nullopt;
  return -time_constant_s(trip_s) * std::log1p(-square(trips / times));
}

double Protection::sure_to_open() const {
  return resettable ? kTrips * rerated(coldest_K) : kFuse[0].times;
}

double Protection::opening_within(double most_s) const {
  double low = sure_to_open(), high = 1e3 * low;
  constexpr int kHalvings = 60;
  for (int k = 0; k < kHalvings; ++k) {
    const double middle = std::sqrt(low * high);
    const std::optional<double> opens = opens_within_s(middle);
    (opens && *opens <= most_s ? high : low) = middle;
  }
  return high;
}

double Protection::carries(double ambient_K) const {
  return resettable ? std::min(rerated(ambient_K), 1.0) : 1.0;
}

double Protection::survives_A2s(double ambient_K) const {
  // A time-lag fuse carries ten times its rating for 20 ms at least: IEC 60127-2, sheet 3, from
  // memory; 100 times 20 ms.
  if (!resettable) return 2.0;
  return time_constant_s(trip_s) * square(rerated(ambient_K));
}

}  // namespace pb
