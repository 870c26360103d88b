// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "judgement/fit.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "base/random.h"

namespace pb {
namespace {

// NIST Statistical Reference Datasets, nonlinear regression, Misra1a (lower difficulty): D. Misra,
// dental research, monomolecular adsorption; y = b1 (1 - exp(-b2 x)). Data and certified values as
// published, from memory; the certified sum of squares below would not come out of wrong data.
constexpr std::array<double, 14> kX = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                                       378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
constexpr std::array<double, 14> kY = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                                       44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};

bool misra(std::span<const double> b, std::span<double> out) {
  for (std::size_t k = 0; k < kX.size(); ++k)
    out[k] = kY[k] - b[0] * (1.0 - std::exp(-b[1] * kX[k]));
  return true;
}

TEST(LeastSquares, MeetsTheCertifiedValuesOfAReferenceDataset) {
  struct Start {
    double b1, b2;
  };
  for (const Start& s : {Start{500, 1e-4}, Start{250, 5e-4}}) {  // both starts of the dataset
    const Fit fit = least_squares(misra, kX.size(), {{s.b1, s.b1}, {s.b2, s.b2}});
    ASSERT_TRUE(fit.converged) << fit.trouble;
    EXPECT_NEAR(fit.value[0] / 2.3894212918E+02, 1, 1e-7);
    EXPECT_NEAR(fit.value[1] / 5.5015643181E-04, 1, 1e-7);
    EXPECT_NEAR(fit.deviation[0] / 2.7070075241E+00, 1, 1e-5);
    EXPECT_NEAR(fit.deviation[1] / 7.2668688436E-06, 1, 1e-5);
    EXPECT_NEAR(fit.sum_squares / 1.2455138894E-01, 1, 1e-8);
    EXPECT_EQ(fit.freedom, 12);
  }
}

TEST(LeastSquares, IntervalIsStudents) {
  // A mean of five: t of four degrees of freedom at 97.5 % is 2.776 (any table of the t
  // distribution, e.g. NIST/SEMATECH e-Handbook 1.3.6.7.2); the deviation of the mean is s/sqrt 5.
  constexpr std::array<double, 5> y = {3, 5, 4, 6, 2};
  const Fit fit = least_squares(
      [&](std::span<const double> p, std::span<double> out) {
        for (std::size_t k = 0; k < y.size(); ++k) out[k] = y[k] - p[0];
        return true;
      },
      y.size(), {{1, 1}});
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.value[0], 4, 1e-7);
  EXPECT_NEAR(fit.deviation[0], std::sqrt(2.5 / 5), 1e-7);
  EXPECT_NEAR(fit.half_width[0], 2.776 * std::sqrt(0.5), 1e-3);
}

TEST(LeastSquares, SaysWhatTheDataLeaveOpen) {
  const Residuals only_the_sum = [](std::span<const double> p, std::span<double> out) {
    for (std::size_t k = 0; k < out.size(); ++k) out[k] = 1.0 + 0.1 * double(k % 2) - p[0] - p[1];
    return true;
  };
  const Fit fit = least_squares(only_the_sum, 10, {{1, 1}, {1, 1}});
  EXPECT_FALSE(fit.converged);
  EXPECT_FALSE(fit.trouble.empty());
  EXPECT_FALSE(least_squares(only_the_sum, 2, {{1, 1}, {1, 1}}).converged);
}

TEST(LeastSquares, NeighboursThatAreAlikeCountLess) {
  // An autoregression of first order with coefficient r has autocorrelations r^k, hence
  // 1 + 2 r/(1 - r) alike neighbours: 1 and 3 for r = 0 and 0.5 (closed form).
  for (const auto& [r, expected] : {std::pair{0.0, 1.0}, {0.5, 3.0}}) {
    const Draws draws(5, 0);
    std::vector<double> series;
    double x = 0;
    for (int k = 0; k < 20000; ++k) {
      x = r * x + draws.normal("x" + std::to_string(k), 0, 1);
      series.push_back(x);
    }
    EXPECT_NEAR(alike_neighbours(series), expected, 0.1 * expected);
  }
}

}  // namespace
}  // namespace pb
