// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Preferred values against IEC 60063:2015 and the marking of its exceptions.
#include "base/preferred.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include "base/check.h"

namespace pb {
namespace {

constexpr Series kAll[] = {Series::E3,  Series::E6,  Series::E12,
                           Series::E24, Series::E48, Series::E96};

int sum(Series s) {
  const auto m = preferred_mantissas(s);
  return std::accumulate(m.begin(), m.end(), 0);
}

// Sums of the printed tables, IEC 60063:2015.
TEST(Preferred, TablesHaveTheSumsOfTheStandard) {
  EXPECT_EQ(sum(Series::E6), 1950);
  EXPECT_EQ(sum(Series::E12), 4290);
  EXPECT_EQ(sum(Series::E24), 9010);
  EXPECT_EQ(sum(Series::E48), 18313);
  EXPECT_EQ(sum(Series::E96), 37070);
}

TEST(Preferred, SmallTablesAreThoseOfTheStandard) {
  const auto equals = [](Series s, const std::vector<int>& v) {
    const auto m = preferred_mantissas(s);
    return std::equal(m.begin(), m.end(), v.begin(), v.end());
  };
  EXPECT_TRUE(equals(Series::E3, {100, 220, 470}));
  EXPECT_TRUE(equals(Series::E6, {100, 150, 220, 330, 470, 680}));
  EXPECT_TRUE(equals(Series::E12, {100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820}));
}

// IEC 60063: E48 and E96 are 10^(i/n) rounded to three digits; E24 is so to two digits but for
// eight values.
TEST(Preferred, TablesFollowTheRule) {
  for (const Series s : {Series::E48, Series::E96}) {
    const auto m = preferred_mantissas(s);
    for (std::size_t i = 0; i < m.size(); ++i)
      EXPECT_EQ(m[i], std::lround(100 * std::pow(10.0, static_cast<double>(i) /
                                                           static_cast<double>(m.size()))));
  }
  std::vector<int> exceptions;
  const auto m = preferred_mantissas(Series::E24);
  for (std::size_t i = 0; i < m.size(); ++i)
    if (m[i] != 10 * std::lround(10 * std::pow(10.0, static_cast<double>(i) / 24.0)))
      exceptions.push_back(m[i]);
  EXPECT_EQ(exceptions, (std::vector<int>{270, 300, 330, 360, 390, 430, 470, 820}));
}

TEST(Preferred, FindsTheNearest) {
  EXPECT_EQ(nearest_preferred(4800, Series::E12), 4700);
  EXPECT_EQ(nearest_preferred(9.4, Series::E6), 10);  // sqrt(6.8 * 10) = 8.25
  EXPECT_EQ(nearest_preferred(8.2, Series::E6), 6.8);
  EXPECT_EQ(nearest_preferred(0.47, Series::E24), 0.47);
  EXPECT_EQ(nearest_preferred(360, Series::E24), 360);
  EXPECT_EQ(nearest_preferred(1e-12, Series::E3), 1e-12);
  EXPECT_EQ(preferred_at_least(4701, Series::E12), 5600);
  EXPECT_EQ(preferred_at_most(4699, Series::E12), 3900);
  EXPECT_EQ(preferred_at_least(976.1, Series::E96), 1000);
}

// The twin: look through all values of three decades.
TEST(Preferred, AgreesWithPlainSearch) {
  for (const Series s : kAll) {
    std::vector<double> all;
    for (const double decade : {0.01, 0.1, 1.0, 10.0})
      for (const int m : preferred_mantissas(s)) all.push_back(m * decade);
    for (double x = 1.001; x < 990; x *= 1.0137) {
      double best = all[0];
      for (const double v : all)
        if (std::abs(std::log(v / x)) < std::abs(std::log(best / x)) - 1e-12) best = v;
      EXPECT_DOUBLE_EQ(nearest_preferred(x, s), best) << x;
      EXPECT_LE(preferred_at_most(x, s), x);
      EXPECT_GE(preferred_at_least(x, s), x);
    }
  }
}

TEST(Preferred, KnowsItsValuesAtEveryPowerOfTen) {
  for (const Series s : kAll)
    for (int d = -15; d <= 12; ++d)
      for (const int m : preferred_mantissas(s)) {
        const double x = m * std::pow(10.0, d);
        EXPECT_TRUE(is_preferred(x, s)) << x;
        EXPECT_NEAR(nearest_preferred(x, s) / x, 1.0, 1e-14);
        EXPECT_FALSE(is_preferred(x * 1.001, s)) << x;
      }
  EXPECT_FALSE(is_preferred(0, Series::E24));
  EXPECT_FALSE(is_preferred(-1, Series::E24));
  EXPECT_FALSE(is_preferred(std::nan(""), Series::E24));
  EXPECT_THROW(nearest_preferred(0, Series::E24), InternalError);
  EXPECT_THROW(nearest_preferred(std::numeric_limits<double>::infinity(), Series::E24),
               InternalError);
}

}  // namespace
}  // namespace pb
