// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "judgement/overlap.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb {
namespace {

double chirp(double t) { return std::sin(40 * t + 90 * t * t); }

TEST(Overlap, AKnownShiftIsFoundToAFractionOfAStep) {
  // A closed form read at two sets of times: the shift is known exactly, 0.1234 s = 123.4 steps.
  const double step = 1e-3;
  Signals model(1), measured(1);
  for (int k = 0; k < 1000; ++k) model[0].push_back(chirp(k * step));
  for (int k = 0; k < 700; ++k) measured[0].push_back(3 + 0.5 * chirp(k * step + 0.1234));
  const Alignment a = align(measured, model);
  EXPECT_EQ(a.lag, 123);
  EXPECT_GT(a.likeness, 0.99);
  for (double& y : measured[0]) y = (y - 3) / 0.5;
  EXPECT_NEAR(refined(measured, model, {1.0}, a.lag), 123.4, 0.02);
  EXPECT_LT(mean_square(measured, model, {1.0}, 123.4), 1e-4);
  EXPECT_GT(mean_square(measured, model, {1.0}, 140), 0.1);
}

TEST(Overlap, OfCyclesThatAreAlikeTheOneWithMostOverlapIsChosen) {
  // A cycle of 50 steps, twenty of them, read from the third on with a little noise: it lies as
  // well over any other cycle, but from 0 and from 100 on most of it does.
  Signals model(1), measured(1);
  for (int k = 0; k < 1000; ++k) model[0].push_back(std::sin(2 * M_PI * k / 50.0));
  for (int k = 0; k < 900; ++k)
    measured[0].push_back(std::sin(2 * M_PI * (k + 100) / 50.0) + 0.05 * chirp(7.0 * k));
  const Alignment a = align(measured, model);
  EXPECT_TRUE(std::abs(a.lag) <= 1 || std::abs(a.lag - 50) <= 1 || std::abs(a.lag - 100) <= 1)
      << a.lag;
}

TEST(Overlap, GridsTakeMeansOfManyAndGoStraightBetweenFew) {
  std::vector<double> t, y;
  for (int k = 0; k <= 1000; ++k) t.push_back(k * 1e-3), y.push_back(2.0 * k * 1e-3);
  for (const double step : {0.1, 1e-4}) {
    const auto g = on_grid(t, y, 0.2, step, 5);
    for (std::size_t k = 0; k < g.size(); ++k)
      EXPECT_NEAR(g[k], 2 * (0.2 + static_cast<double>(k) * step), 2e-3);
  }
  EXPECT_TRUE(std::isnan(on_grid(t, y, 5, 0.1, 1)[0]));
  EXPECT_TRUE(std::isnan(on_grid({0, 1}, {0, 1}, 0.5, 1e-3, 1)[0])) << "a gap";
  y[500] = std::nan("");
  EXPECT_TRUE(std::isnan(on_grid(t, y, 0.5, 1e-4, 1)[0]));
  EXPECT_NEAR(on_grid(t, y, 0.5, 0.1, 1)[0], 1.0, 2e-3);
}

}  // namespace
}  // namespace pb
