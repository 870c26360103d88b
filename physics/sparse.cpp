// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/sparse.h"

#include <cmath>

#include "base/check.h"

namespace pb::physics {
namespace {

using Pattern = std::vector<std::vector<bool>>;

/// Fill-reducing order: at each turn the pivot with the least (rows-1)(columns-1), ties to the
/// lower index; the pattern gains the fill of each elimination.
std::vector<int> markowitz_order(Pattern& has) {
  const int n = static_cast<int>(has.size());
  std::vector<bool> done(has.size(), false);
  std::vector<int> order;
  for (int k = 0; k < n; ++k) {
    int best = -1;
    long best_cost = 0;
    for (int p = 0; p < n; ++p) {
      if (done[p]) continue;
      long rows = 0, columns = 0;
      for (int j = 0; j < n; ++j) {
        if (done[j] || j == p) continue;
        rows += has[j][p];
        columns += has[p][j];
      }
      if (best < 0 || rows * columns < best_cost) best = p, best_cost = rows * columns;
    }
    done[best] = true;
    order.push_back(best);
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < n; ++j)
        if (!done[i] && !done[j] && has[i][best] && has[best][j]) has[i][j] = true;
  }
  return order;
}

}  // namespace

SparseLu::SparseLu(int size, const std::vector<std::pair<int, int>>& entries) : size_(size) {
  const std::size_t n = static_cast<std::size_t>(size);
  Pattern has(n, std::vector<bool>(n, false));
  for (std::size_t i = 0; i < n; ++i) has[i][i] = true;
  for (const auto& [i, j] : entries) has[i][j] = true;
  order_ = markowitz_order(has);
  slot_of_.assign(n, std::vector<int>(n, -1));
  int slots = 0;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      if (has[i][j]) slot_of_[i][j] = slots++;
  values.assign(static_cast<std::size_t>(slots), 0.0);
  work_.assign(n, 0.0);

  for (int k = 0; k < size; ++k) {
    const int p = order_[k];
    std::vector<int> below, right;
    for (int m = k + 1; m < size; ++m) {
      if (has[order_[m]][p]) below.push_back(order_[m]);
      if (has[p][order_[m]]) right.push_back(order_[m]);
    }
    program_.push_back(slot_of_[p][p]);
    program_.push_back(static_cast<int>(below.size()));
    program_.push_back(static_cast<int>(right.size()));
    for (int i : below) program_.push_back(slot_of_[i][p]);
    for (int j : right) program_.push_back(slot_of_[p][j]);
    for (int i : below)
      for (int j : right) program_.push_back(slot_of_[i][j]);
  }
  for (int k = 0; k < size; ++k) {
    const int p = order_[k];
    lower_start_.push_back(static_cast<int>(lower_.size()));
    upper_start_.push_back(static_cast<int>(upper_.size()));
    diagonal_.push_back(slot_of_[p][p]);
    for (int m = 0; m < k; ++m)
      if (has[p][order_[m]]) lower_.push_back({slot_of_[p][order_[m]], m});
    for (int m = k + 1; m < size; ++m)
      if (has[p][order_[m]]) upper_.push_back({slot_of_[p][order_[m]], m});
  }
  lower_start_.push_back(static_cast<int>(lower_.size()));
  upper_start_.push_back(static_cast<int>(upper_.size()));
}

int SparseLu::slot(int row, int column) const {
  const int s = slot_of_[row][column];
  PB_CHECK(s >= 0, row, column);
  return s;
}

bool SparseLu::factor() {
  double* a = values.data();
  const std::int32_t* op = program_.data();
  for (int k = 0; k < size_; ++k) {
    const double pivot = a[op[0]];
    if (!(std::abs(pivot) > 0.0) || !std::isfinite(pivot)) return false;
    const double inverse = 1.0 / pivot;
    const int rows = op[1], columns = op[2];
    const std::int32_t *lower = op + 3, *upper = lower + rows, *target = upper + columns;
    for (int i = 0; i < rows; ++i) {
      const double factor = a[lower[i]] * inverse;
      a[lower[i]] = factor;
      for (int j = 0; j < columns; ++j) a[target[j]] -= factor * a[upper[j]];
      target += columns;
    }
    op = target;
  }
  return true;
}

void SparseLu::solve(std::span<double> b) const {
  double* y = work_.data();
  for (int k = 0; k < size_; ++k) {
    double s = b[order_[k]];
    for (int t = lower_start_[k]; t < lower_start_[k + 1]; ++t)
      s -= values[lower_[t].slot] * y[lower_[t].index];
    y[k] = s;
  }
  for (int k = size_ - 1; k >= 0; --k) {
    double s = y[k];
    for (int t = upper_start_[k]; t < upper_start_[k + 1]; ++t)
      s -= values[upper_[t].slot] * y[upper_[t].index];
    y[k] = s / values[diagonal_[k]];
  }
  for (int k = 0; k < size_; ++k) b[order_[k]] = y[k];
}

}  // namespace pb::physics
