// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What can be said about a share from a count, and about two columns of numbers from their ranks.
// Tested by tests/unit/judgement_statistics.cpp.
#pragma once

#include <vector>

namespace pb {

struct Interval {
  double low = 0, high = 1, confidence = 0.95;
};

/// Exact two-sided interval of a share of which `hits` of `count` were seen: each side is missed
/// with probability (1 - confidence)/2 at most. Source: C. Clopper, E. Pearson, Biometrika 26,
/// 1934, 404-413; as quantiles of the beta distribution.
Interval exact_interval(long hits, long count, double confidence);

/// How many deviations either way of a mean hold the truth with this confidence, where the
/// deviation itself comes from `freedom` (more than 0) independent differences. Source: Student,
/// Biometrika 6, 1908, 1-25; as a quantile of the beta distribution, M. Abramowitz, I. Stegun,
/// Handbook of Mathematical Functions, 1972, 26.7.1.
double student_deviations(double freedom, double confidence);

/// Rank correlation, ties sharing the mean of their ranks; 0 where one of the columns is constant.
/// Source: C. Spearman, Am. J. Psychol. 15, 1904, 72-101.
double rank_correlation(const std::vector<double>& x, const std::vector<double>& y);

/// Mean and standard deviation (n - 1), summed in order.
struct Moments {
  double mean = 0, deviation = 0;
};
Moments moments_of(const std::vector<double>& x);

/// How many of the numbers lie in each of equal bins from the least to the greatest; the greatest
/// is in the last. One bin where all are equal; none where there are none.
struct Histogram {
  double low = 0, high = 0;
  std::vector<long> counts;
};
Histogram histogram_of(const std::vector<double>& x, int bins);

}  // namespace pb
