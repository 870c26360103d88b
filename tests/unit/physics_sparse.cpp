// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The elimination against Eigen's dense one on random matrices of random pattern.
#include "physics/sparse.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <memory>
#include <random>

namespace pb::physics {
namespace {

struct Case {
  std::unique_ptr<LuPlan> plan;
  SparseLu lu;
  Eigen::MatrixXd dense;
};

Case random_case(std::mt19937& random, int n, double density, bool symmetric) {
  std::uniform_real_distribution<double> value(-1.0, 1.0), chance(0.0, 1.0);
  std::vector<std::pair<int, int>> entries;
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j)
      if (i != j && chance(random) < density) {
        entries.push_back({i, j});
        if (symmetric) entries.push_back({j, i});
      }
  auto plan = std::make_unique<LuPlan>(n, entries);
  SparseLu lu(*plan);
  Case c{std::move(plan), std::move(lu), Eigen::MatrixXd::Zero(n, n)};
  for (const auto& [i, j] : entries) c.dense(i, j) = value(random);
  // Diagonally dominant, as conductances and capacitances make it: no pivoting is needed.
  for (int i = 0; i < n; ++i) c.dense(i, i) = 1.0 + c.dense.row(i).cwiseAbs().sum();
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j)
      if (c.dense(i, j) != 0.0) c.lu.values[c.plan->slot(i, j)] = c.dense(i, j);
  return c;
}

TEST(SparseLu, SolvesAsEigenDoes) {
  std::mt19937 random(20260101);
  for (int round = 0; round < 300; ++round) {
    const int n = 1 + round % 40;
    Case c = random_case(random, n, 0.02 + 0.01 * (round % 30), round % 2 == 0);
    const Eigen::VectorXd b = Eigen::VectorXd::Random(n);
    const Eigen::VectorXd expected = c.dense.partialPivLu().solve(b);
    std::vector<double> at_once(b.data(), b.data() + n), later = at_once;
    ASSERT_TRUE(c.lu.factor_solve(at_once.data(), at_once.data()));
    c.lu.solve(later.data());
    for (int k = 0; k < n; ++k) {
      EXPECT_NEAR(at_once[k], expected[k], 1e-12) << n;
      EXPECT_NEAR(later[k], expected[k], 1e-12) << n;
    }
  }
}

TEST(SparseLu, ProductIsTheMatrix) {
  std::mt19937 random(7);
  for (int n : {1, 2, 9, 30}) {
    Case c = random_case(random, n, 0.2, false);
    const Eigen::VectorXd x = Eigen::VectorXd::Random(n);
    std::vector<double> r(static_cast<std::size_t>(n), 0.0);
    const std::vector<double> a = c.lu.values;
    c.lu.values.assign(a.size(), 0.0);
    c.lu.take(a.data());
    EXPECT_EQ(c.lu.values, a);
    std::vector<bool> used;
    for (const double entry : a) used.push_back(entry != 0.0);
    const ProductPlan product(*c.plan, used);
    EXPECT_EQ(product.terms.size(),
              static_cast<std::size_t>(std::count(used.begin(), used.end(), true)));
    subtract_product(product, a.data(), x.data(), r.data());
    const Eigen::VectorXd expected = -(c.dense * x);
    for (int k = 0; k < n; ++k) EXPECT_NEAR(r[k], expected[k], 1e-13);
  }
}

TEST(SparseLu, SaysWhenAPivotVanishes) {
  const LuPlan plan(2, {{0, 1}, {1, 0}});
  SparseLu lu(plan);
  for (int i = 0; i < 2; ++i)
    for (int j = 0; j < 2; ++j) lu.values[plan.slot(i, j)] = 1.0;
  EXPECT_FALSE(lu.factor());
  lu.values[plan.slot(0, 0)] = std::nan("");
  EXPECT_FALSE(lu.factor());
}

// A ladder needs no fill when it is eliminated from an end: the order must find that.
TEST(SparseLu, LadderFillsNothing) {
  std::vector<std::pair<int, int>> entries;
  const int n = 30;
  for (int k = 0; k + 1 < n; ++k) entries.push_back({k, k + 1}), entries.push_back({k + 1, k});
  EXPECT_EQ(LuPlan(n, entries).nonzeros, n + 2 * (n - 1));
}

}  // namespace
}  // namespace pb::physics
