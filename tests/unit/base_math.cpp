// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Constants and small functions.
#include "base/math.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace pb {
namespace {

TEST(Math, ThermalVoltageAt300K) {
  EXPECT_NEAR(thermal_voltage_V(300), 0.025852, 1e-6);  // 25.852 mV: CODATA 2018 constants, by hand
  EXPECT_DOUBLE_EQ(celsius_to_kelvin(85), 358.15);
  EXPECT_DOUBLE_EQ(kelvin_to_celsius(358.15), 85);
}

TEST(Math, MixHitsBothEnds) {
  EXPECT_EQ(mix(0.1, 0.7, 0.0), 0.1);
  EXPECT_EQ(mix(0.1, 0.7, 1.0), 0.7);
}

// The slope is the derivative, and the seam is smooth.
TEST(Math, LimitedExpIsExpAndThenStraight) {
  for (const double x : {-700.0, -1.0, 0.0, 1.0, 79.0}) {
    EXPECT_EQ(limited_exp(x).value, std::exp(x));
    EXPECT_EQ(limited_exp(x).slope, std::exp(x));
  }
  const auto at = limited_exp(80.0), after = limited_exp(81.0);
  EXPECT_DOUBLE_EQ(after.value, 2 * at.value);
  EXPECT_EQ(after.slope, at.slope);
  EXPECT_TRUE(std::isfinite(limited_exp(1e100).value));
}

TEST(Math, SoftplusIsExactWhereTheFormulaIsNot) {
  EXPECT_DOUBLE_EQ(softplus(0).value, std::log(2.0));
  EXPECT_DOUBLE_EQ(softplus(0).slope, 0.5);
  EXPECT_DOUBLE_EQ(softplus(-50).value, std::exp(-50.0));  // ln(1+e) = e for small e
  EXPECT_EQ(softplus(1000).value, 1000);
  EXPECT_EQ(softplus(1000).slope, 1);
  EXPECT_EQ(softplus(-1000).value, 0);
  for (double x = -20; x <= 20; x += 0.37) {
    constexpr double h = 1e-5;
    EXPECT_NEAR(softplus(x).slope, (softplus(x + h).value - softplus(x - h).value) / (2 * h), 1e-9);
    EXPECT_NEAR(softplus(x).value, std::log1p(std::exp(x)), 1e-14 * (1 + std::abs(x)));
  }
}

// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.5 and 26.1 (5 to 15
// digits).
TEST(Math, NormalQuantilesOfTheTables) {
  EXPECT_NEAR(normal_quantile(0.975), 1.959963984540054, 1e-14);
  EXPECT_NEAR(normal_quantile(0.95), 1.644853626951473, 1e-14);
  EXPECT_NEAR(normal_quantile(0.999), 3.090232306167814, 1e-13);
  EXPECT_EQ(normal_quantile(0.5), 0.0);
  EXPECT_NEAR(normal_cdf(1.0), 0.841344746068543, 1e-15);
  EXPECT_NEAR(normal_cdf(-3.0), 0.001349898031630, 1e-15);
}

// Against erfc of the C library, which shares nothing with the rational approximations.
TEST(Math, NormalQuantileInvertsTheDistribution) {
  for (double z = -37; z <= 5; z += 0.0137) {
    const double p = 0.5 * std::erfc(-z / std::sqrt(2.0));
    // Near p = 1 the last bit of p moves z by eps/density: allow for that.
    const double density = std::exp(-0.5 * z * z) / std::sqrt(2 * kPi);
    EXPECT_NEAR(normal_quantile(p), z, 4e-15 * (1 + std::abs(z)) + (z > 0 ? 2.3e-16 / density : 0))
        << z;
  }
}

TEST(Math, NormalQuantileAtTheEnds) {
  EXPECT_EQ(normal_quantile(0), -std::numeric_limits<double>::infinity());
  EXPECT_EQ(normal_quantile(1), std::numeric_limits<double>::infinity());
  EXPECT_TRUE(std::isnan(normal_quantile(-0.1)));
  EXPECT_TRUE(std::isnan(normal_quantile(std::nan(""))));
}

TEST(Math, RelativeDifference) {
  EXPECT_EQ(relative_difference(0, 0), 0);
  EXPECT_DOUBLE_EQ(relative_difference(100, -100), 2);
  EXPECT_DOUBLE_EQ(relative_difference(99, 100), 0.01);
}

// Neumaier's own example: a plain sum gives 0.
TEST(Math, CompensatedSumKeepsSmallTerms) {
  CompensatedSum sum;
  for (const double x : {1.0, 1e100, 1.0, -1e100}) sum.add(x);
  EXPECT_EQ(sum.value(), 2.0);
}

}  // namespace
}  // namespace pb
