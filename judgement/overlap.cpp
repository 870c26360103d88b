// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/overlap.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace pb {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

/// Correlation of every stride-th pair, mean over the signals; -1 where too little overlaps.
double likeness(const Signals& measured, const Signals& model, long lag, long stride) {
  double total = 0;
  for (std::size_t s = 0; s < measured.size(); ++s) {
    const auto& m = measured[s];
    const auto& p = model[s];
    const long size_m = static_cast<long>(m.size()), size_p = static_cast<long>(p.size());
    const long first = std::max(0L, -lag), last = std::min(size_m, size_p - lag);
    if (2 * (last - first) < std::min(size_m, size_p)) return -1;
    double n = 0, sm = 0, sp = 0, mm = 0, pp = 0, mp = 0;
    for (long j = first; j < last; j += stride) {
      const double a = m[static_cast<std::size_t>(j)], b = p[static_cast<std::size_t>(j + lag)];
      if (std::isnan(a) || std::isnan(b)) continue;
      n += 1, sm += a, sp += b, mm += a * a, pp += b * b, mp += a * b;
    }
    const double va = mm - sm * sm / n, vb = pp - sp * sp / n;
    if (n > 2 && va > 0 && vb > 0) total += (mp - sm * sp / n) / std::sqrt(va * vb);
  }
  return total / static_cast<double>(measured.size());
}

}  // namespace

double value_at(const std::vector<double>& y, double index) {
  if (!(index >= 0) || index > static_cast<double>(y.size() - 1)) return kNone;
  const auto k = std::min(static_cast<std::size_t>(index), y.size() - 1);
  const double f = index - static_cast<double>(k);
  return f == 0 ? y[k] : (1 - f) * y[k] + f * y[k + 1];
}

std::vector<double> on_grid(const std::vector<double>& t_s, const std::vector<double>& y,
                            double from_s, double step_s, std::size_t count) {
  std::vector<double> out(count, kNone);
  // Farther apart than this is a gap, not a slow recorder.
  constexpr double kGap_steps = 50;
  std::size_t k = 0;
  for (std::size_t j = 0; j < count; ++j) {
    const double at = from_s + static_cast<double>(j) * step_s;
    const double low = at - 0.5 * step_s, high = at + 0.5 * step_s;
    while (k < t_s.size() && t_s[k] < low) ++k;
    double sum = 0;
    std::size_t n = 0, i = k;
    for (; i < t_s.size() && t_s[i] < high; ++i)
      if (!std::isnan(y[i])) sum += y[i], ++n;
    // A mean of few rows would shift what moves within the step.
    if (n >= 4) {
      out[j] = sum / static_cast<double>(n);
      continue;
    }
    std::size_t after = k;
    while (after < t_s.size() && t_s[after] < at) ++after;
    if (after == t_s.size() || (after == 0 && t_s[0] > at)) continue;
    const std::size_t before = after > 0 ? after - 1 : after;
    const double span = t_s[after] - t_s[before];
    if (span > kGap_steps * step_s) continue;
    const double f = span > 0 ? (at - t_s[before]) / span : 1.0;
    out[j] = f == 1.0 ? y[after] : (1 - f) * y[before] + f * y[after];
  }
  return out;
}

Alignment align(const Signals& measured, const Signals& model) {
  const long size_m = static_cast<long>(measured[0].size()),
             size_p = static_cast<long>(model[0].size());
  constexpr long kCoarse = 4;      // first look at every fourth lag and reading
  constexpr double kNearly = 0.1;  // below the best of those: may be as good, seen finely
  // What repeats lies over itself at every cycle, and noise would choose among them: of equals, the
  // one with most overlap.
  constexpr double kForOverlap = 0.05;
  std::vector<double> coarse;
  for (long lag = -size_m; lag <= size_p; lag += kCoarse)
    coarse.push_back(likeness(measured, model, lag, kCoarse));
  const double nearly = *std::max_element(coarse.begin(), coarse.end()) - kNearly;
  const auto overlap = [&](long lag) {
    const long first = std::max(0L, -lag), last = std::min(size_m, size_p - lag);
    return static_cast<double>(last - first) / static_cast<double>(std::min(size_m, size_p));
  };
  Alignment best;
  double most = -HUGE_VAL;
  for (std::size_t k = 0; k < coarse.size(); ++k) {
    const bool peak = (k == 0 || coarse[k] >= coarse[k - 1]) &&
                      (k + 1 == coarse.size() || coarse[k] >= coarse[k + 1]);
    if (!peak || coarse[k] < nearly) continue;
    const long about = static_cast<long>(k) * kCoarse - size_m;
    for (long lag = about - 2 * kCoarse; lag <= about + 2 * kCoarse; ++lag) {
      const double c = likeness(measured, model, lag, 1);
      if (c <= -1 || c + kForOverlap * overlap(lag) <= most) continue;
      most = c + kForOverlap * overlap(lag);
      best = {static_cast<double>(lag), c};
    }
  }
  return best;
}

double mean_square(const Signals& measured, const Signals& model, const std::vector<double>& scale,
                   double lag) {
  double sum = 0, n = 0;
  for (std::size_t s = 0; s < measured.size(); ++s)
    for (std::size_t j = 0; j < measured[s].size(); ++j) {
      const double m = measured[s][j];
      const double p = value_at(model[s], static_cast<double>(j) + lag);
      if (std::isnan(m) || std::isnan(p)) continue;
      const double d = (m - p) / scale[s];
      sum += d * d, n += 1;
    }
  return n > 0 ? sum / n : HUGE_VAL;
}

double refined(const Signals& measured, const Signals& model, const std::vector<double>& scale,
               double near) {
  double best = near, least = mean_square(measured, model, scale, near);
  for (double step = 2.0; step > 0.01; step *= 0.5)
    for (const double sign : {-1.0, 1.0}) {
      const double at = best + sign * step;
      if (const double square = mean_square(measured, model, scale, at); square < least)
        least = square, best = at;
    }
  return best;
}

}  // namespace pb
