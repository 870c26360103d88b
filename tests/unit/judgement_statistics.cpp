// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Exact intervals against printed values, rank correlation against a worked example.
#include "judgement/statistics.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb {
namespace {

struct IntervalRow {
  long hits, count;
  double confidence, low, high;
};
// C. Clopper, E. Pearson, Biometrika 26, 1934, 404-413. 7 of 50: as printed in the documentation of
// SciPy's binomtest (0.05819170033997342, 0.26739600249700846); the others by the definition,
// P(X >= x | low) = P(X <= x | high) = (1 - confidence)/2, in another language.
constexpr IntervalRow kIntervals[] = {{7, 50, 0.95, 0.05819170033997342, 0.26739600249700846},
                                      {0, 1000, 0.95, 0.0, 0.0036820839},
                                      {1, 1000, 0.95, 0.0000253175, 0.0055589243},
                                      {3, 1000, 0.95, 0.0006190999, 0.0087420232},
                                      {10, 1000, 0.95, 0.0048055107, 0.0183132431},
                                      {50, 1000, 0.95, 0.0373353976, 0.0653904879},
                                      {3, 12, 0.95, 0.0548606445, 0.5718584619},
                                      {5, 100, 0.95, 0.0164318792, 0.1128349111},
                                      {3, 1000, 0.99, 0.0003381446, 0.0109337774}};

TEST(Statistics, ExactIntervalMatchesTheTable) {
  for (const IntervalRow& r : kIntervals) {
    const Interval i = exact_interval(r.hits, r.count, r.confidence);
    EXPECT_NEAR(i.low, r.low, 1e-10) << r.hits << '/' << r.count;
    EXPECT_NEAR(i.high, r.high, 1e-10) << r.hits << '/' << r.count;
    // The share that passes has the mirrored interval.
    const Interval mirrored = exact_interval(r.count - r.hits, r.count, r.confidence);
    EXPECT_NEAR(mirrored.low, 1.0 - r.high, 1e-10);
    EXPECT_NEAR(mirrored.high, 1.0 - r.low, 1e-10);
  }
}

// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1972, table 26.10, as printed.
TEST(Statistics, StudentsDeviationsMatchTheTable) {
  EXPECT_NEAR(student_deviations(1, 0.95), 12.706, 5e-4);
  EXPECT_NEAR(student_deviations(10, 0.95), 2.228, 5e-4);
  EXPECT_NEAR(student_deviations(10, 0.99), 3.169, 5e-4);
  EXPECT_NEAR(student_deviations(120, 0.95), 1.980, 5e-4);
}

// The rule of three: nothing seen in n bounds the share by 3/n at 95 %, one-sided; exactly
// 1 - 0.05^(1/n). J. Hanley, A. Lippman-Hand, J. Am. Med. Assoc. 249, 1983, 1743-1745 (from
// memory).
TEST(Statistics, RuleOfThree) {
  for (long n : {29, 299, 1000, 2995}) {
    const double high = exact_interval(0, n, 0.90).high;  // one side of two
    EXPECT_NEAR(high, 1.0 - std::pow(0.05, 1.0 / static_cast<double>(n)), 1e-12);
    EXPECT_NEAR(high * static_cast<double>(n), 3.0, 0.16);
  }
  EXPECT_NEAR(exact_interval(0, 1000, 0.90).high, 0.0029912495, 1e-10);
}

double binomial(long n, long k, double p) {
  const double x = static_cast<double>(k), m = static_cast<double>(n);
  return std::exp(std::lgamma(m + 1) - std::lgamma(x + 1) - std::lgamma(m - x + 1) +
                  x * std::log(p) + (m - x) * std::log1p(-p));
}

// What "exact" means: for every true share the interval holds it at least as often as it says.
TEST(Statistics, IntervalCoversAtLeastAsOftenAsItSays) {
  constexpr long kCount = 40;
  for (double p : {0.01, 0.05, 0.2, 0.5, 0.83}) {
    double covered = 0;
    for (long k = 0; k <= kCount; ++k) {
      const Interval i = exact_interval(k, kCount, 0.95);
      if (i.low <= p && p <= i.high) covered += binomial(kCount, k, p);
    }
    EXPECT_GE(covered, 0.95) << p;
    EXPECT_LT(covered, 1.0 - 1e-6) << p;  // and does not say everything
  }
}

// Ranks of ten pairs: 1 - 6 sum d^2/(n (n^2 - 1)) with sum d^2 = 194: -29/165. A common textbook
// example (intelligence against hours of television).
TEST(Statistics, RankCorrelation) {
  const std::vector<double> x = {106, 100, 86, 101, 99, 103, 97, 113, 112, 110};
  const std::vector<double> y = {7, 27, 2, 50, 28, 29, 20, 12, 6, 17};
  EXPECT_NEAR(rank_correlation(x, y), -29.0 / 165.0, 1e-12);
  EXPECT_DOUBLE_EQ(rank_correlation({1, 2, 3, 4}, {1, 8, 27, 64}), 1.0);
  EXPECT_DOUBLE_EQ(rank_correlation({1, 2, 3, 4}, {0, -1, -2, -3}), -1.0);
  EXPECT_EQ(rank_correlation({1, 1, 1}, {1, 2, 3}), 0.0);
  // Ties: ranks 1, 2.5, 2.5, 4 against 1, 2, 3, 4: 4.5/sqrt(4.5 * 5).
  EXPECT_NEAR(rank_correlation({1, 2, 2, 3}, {1, 2, 3, 4}), 4.5 / std::sqrt(22.5), 1e-12);
}

TEST(Statistics, Moments) {
  const Moments m = moments_of({2, 4, 4, 4, 5, 5, 7, 9});
  EXPECT_DOUBLE_EQ(m.mean, 5.0);
  EXPECT_DOUBLE_EQ(m.deviation, std::sqrt(32.0 / 7.0));
  EXPECT_EQ(moments_of({3}).deviation, 0.0);
}

TEST(Histogram, CountsEveryNumberOnce) {
  const Histogram h = histogram_of({0.0, 0.1, 0.5, 0.9, 1.0}, 2);
  EXPECT_EQ(h.low, 0.0);
  EXPECT_EQ(h.high, 1.0);
  EXPECT_EQ(h.counts, (std::vector<long>{2, 3}));
  EXPECT_EQ(histogram_of({3.0, 3.0}, 5).counts, std::vector<long>{2});
  EXPECT_TRUE(histogram_of({}, 5).counts.empty());
}

}  // namespace
}  // namespace pb
