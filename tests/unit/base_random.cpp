// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Counter-based draws: independent of order, and of the distribution they claim.
#include "base/random.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <set>

#include "base/check.h"
#include "base/math.h"

namespace pb {
namespace {

// Vectors published with the FNV reference (Fowler, Noll, Vo, test_fnv.c); from memory.
static_assert(fnv1a("") == 0xcbf29ce484222325u);
static_assert(fnv1a("a") == 0xaf63dc4c8601ec8cu);
static_assert(fnv1a("foobar") == 0x85944171f73967e8u);
// First output of the generator of Steele, Lea, Flood (2014) for seed 0; from memory.
static_assert(mix64(0x9e3779b97f4a7c15u) == 0xe220a8397b1dcdafu);

constexpr int kDraws = 100000;

TEST(Random, DependsOnSeedUnitAndNameOnly) {
  constexpr Draws draws(1, 2);
  EXPECT_EQ(draws.bits("a"), Draws(1, 2).bits("a"));
  std::set<std::uint64_t> all;
  for (std::uint64_t seed = 0; seed < 20; ++seed)
    for (std::uint64_t unit = 0; unit < 20; ++unit)
      for (const char* name : {"q1.threshold_V", "q2.threshold_V", "motor.resistance"})
        all.insert(Draws(seed, unit).bits(name));
  EXPECT_EQ(all.size(), 1200u);  // 1200 of 2^64: an equal pair by chance is out of the question
}

// Moments of the uniform distribution: mean 1/2, variance 1/12; bounds of 5 standard errors.
TEST(Random, UniformIsUniformAndStaysInside) {
  double sum = 0, squares = 0;
  std::array<int, 16> bins{};
  for (int i = 0; i < kDraws; ++i) {
    const double u = Draws(3, static_cast<std::uint64_t>(i)).uniform("x");
    ASSERT_GT(u, 0.0);
    ASSERT_LT(u, 1.0);
    sum += u - 0.5, squares += square(u - 0.5);
    ++bins[static_cast<std::size_t>(u * 16)];
  }
  const double n = kDraws;
  EXPECT_NEAR(sum / n, 0, 5 * std::sqrt(1 / 12.0 / n));
  EXPECT_NEAR(squares / n, 1 / 12.0,
              5 * std::sqrt(1 / 180.0 / n));  // var((u-1/2)^2) = 1/80 - 1/144 = 1/180
  double chi2 = 0;
  for (const int b : bins) chi2 += square(b - n / 16) / (n / 16);
  EXPECT_LT(chi2, 37.7);  // 99.9 % point of chi-squared, 15 degrees of freedom (handbook tables)
}

// Two names of one unit, and one name of neighbouring units, must not be correlated: |r| <
// 5/sqrt(n).
TEST(Random, DrawsAreNotCorrelated) {
  double names = 0, units = 0, seeds = 0;
  for (std::uint64_t i = 0; i < kDraws; ++i) {
    const double x = Draws(3, i).normal("a", 0, 1);
    names += x * Draws(3, i).normal("b", 0, 1);
    units += x * Draws(3, i + 1).normal("a", 0, 1);
    seeds += x * Draws(4, i).normal("a", 0, 1);
  }
  const double bound = 5 * std::sqrt(static_cast<double>(kDraws));
  EXPECT_LT(std::abs(names), bound);
  EXPECT_LT(std::abs(units), bound);
  EXPECT_LT(std::abs(seeds), bound);
}

TEST(Random, NormalHasItsMoments) {
  double sum = 0, squares = 0, fourth = 0;
  for (std::uint64_t i = 0; i < kDraws; ++i) {
    const double z = (Draws(5, i).normal("x", 10, 2) - 10) / 2;
    sum += z, squares += z * z, fourth += z * z * z * z;
  }
  const double n = kDraws;
  EXPECT_NEAR(sum / n, 0, 5 / std::sqrt(n));
  EXPECT_NEAR(squares / n, 1, 5 * std::sqrt(2 / n));
  EXPECT_NEAR(fourth / n, 3, 5 * std::sqrt(96 / n));  // var(z^4) = 105 - 9
}

// Closed form: the mean of a standard normal on [a, b] is (phi(a) - phi(b)) / (Phi(b) - Phi(a));
// the variance 1 + (a·phi(a) - b·phi(b))/Z - mean². Source: Johnson, Kotz, Balakrishnan, Continuous
// Univariate Distributions 1.
TEST(Random, TruncatedNormalHasItsMoments) {
  const auto phi = [](double x) { return std::exp(-0.5 * x * x) / std::sqrt(2 * kPi); };
  for (const auto& [a, b] :
       {std::pair{-1.0, 2.0}, {1.0, 1.5}, {-9.5, -9.0}, {9.0, 9.5}, {-3.0, 3.0}}) {
    // The upper tail from the lower one, where it is exact.
    const double Z = a > 0 ? normal_cdf(-a) - normal_cdf(-b) : normal_cdf(b) - normal_cdf(a);
    const double mean = (phi(a) - phi(b)) / Z;
    const double variance = 1 + (a * phi(a) - b * phi(b)) / Z - mean * mean;
    double sum = 0;
    for (std::uint64_t i = 0; i < kDraws; ++i) {
      const double x = Draws(6, i).truncated_normal("x", 100, 10, 100 + 10 * a, 100 + 10 * b);
      ASSERT_GE(x, 100 + 10 * a);
      ASSERT_LE(x, 100 + 10 * b);
      sum += (x - 100) / 10 - mean;
    }
    EXPECT_NEAR(sum / kDraws, 0, 5 * std::sqrt(std::max(variance, 1e-3) / kDraws)) << a << ' ' << b;
  }
}

TEST(Random, TruncatedNormalDegenerates) {
  const Draws d(1, 1);
  EXPECT_EQ(d.truncated_normal("x", 5, 0, 0, 10), 5);
  EXPECT_EQ(d.truncated_normal("x", 5, 0, 6, 10), 6);
  EXPECT_EQ(d.truncated_normal("x", 5, 1, 7, 7), 7);
  EXPECT_THROW(d.truncated_normal("x", 5, 1, 8, 7), InternalError);
  const double far =
      d.truncated_normal("x", 0, 1, 50, 51);  // no mass a double can hold: still inside
  EXPECT_GE(far, 50);
  EXPECT_LE(far, 51);
}

}  // namespace
}  // namespace pb
