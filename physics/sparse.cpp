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
  const std::vector<int> order = markowitz_order(has);
  order_.assign(order.begin(), order.end());
  slot_of_.assign(n, std::vector<int>(n, -1));
  int slots = 0;
  for (int k = 0; k < size; ++k) {
    row_.push_back(slots);
    for (int m = 0; m < size; ++m) {
      if (!has[order[k]][order[m]]) continue;
      if (m == k) diagonal_.push_back(slots);
      pivot_.push_back(m);
      column_.push_back(order[m]);
      slot_of_[order[k]][order[m]] = slots++;
    }
  }
  row_.push_back(slots);
  for (int k = 0; k < size; ++k) {
    for (int i = k + 1; i < size; ++i) {
      const int l = slot_of_[order[i]][order[k]];
      if (l < 0) continue;
      factors_.push_back({l, i});
      for (int u = diagonal_[k] + 1; u < row_[k + 1]; ++u)
        updates_.push_back({slot_of_[order[i]][column_[u]], l, u});
    }
    factors_end_.push_back(static_cast<std::int32_t>(factors_.size()));
    updates_end_.push_back(static_cast<std::int32_t>(updates_.size()));
  }
  values.assign(static_cast<std::size_t>(slots) + 1, 0.0);
  work_.assign(n, 0.0);
  inverse_.assign(n, 0.0);
}

int SparseLu::slot(int row, int column) const {
  const int s = slot_of_[row][column];
  PB_CHECK(s >= 0, row, column);
  return s;
}

bool SparseLu::factor() {
  std::vector<double> nothing(static_cast<std::size_t>(size_), 0.0);
  return factor_solve(nothing);
}

bool SparseLu::factor_solve(std::span<double> b) {
  double *const a = values.data(), *const y = work_.data();
  for (int i = 0; i < size_; ++i) y[i] = b[order_[i]];
  const Factor* f = factors_.data();
  const Update* u = updates_.data();
  bool sound = true;
  for (int k = 0; k < size_; ++k) {
    const double p = a[diagonal_[k]], inverse = 1.0 / p, size = std::abs(p), y_k = y[k];
    sound = sound && size > 0.0 && size < 1e300;
    inverse_[k] = inverse;
    for (const Factor* end = factors_.data() + factors_end_[k]; f != end; ++f) {
      const double factor = a[f->slot] * inverse;
      a[f->slot] = factor;
      y[f->row] -= factor * y_k;
    }
    for (const Update* end = updates_.data() + updates_end_[k]; u != end; ++u)
      a[u->target] -= a[u->factor] * a[u->right];
  }
  if (sound) back_substitute(b);
  return sound;
}

void SparseLu::back_substitute(std::span<double> b) const {
  const double* const a = values.data();
  double* const y = work_.data();
  for (int i = size_ - 1; i >= 0; --i) {
    double sum = y[i];
    for (int u = diagonal_[i] + 1; u < row_[i + 1]; ++u) sum -= a[u] * y[pivot_[u]];
    y[i] = sum * inverse_[i];
    b[order_[i]] = y[i];
  }
}

void SparseLu::solve(std::span<double> b) const {
  double* const y = work_.data();
  for (int i = 0; i < size_; ++i) {
    double sum = b[order_[i]];
    for (int l = row_[i]; l < diagonal_[i]; ++l) sum -= values[l] * y[pivot_[l]];
    y[i] = sum;
  }
  back_substitute(b);
}

void SparseLu::subtract_product(const double* a, const double* x, double* r) const {
  for (int i = 0; i < size_; ++i) {
    double sum = 0;
    for (int s = row_[i]; s < row_[i + 1]; ++s) sum += a[s] * x[column_[s]];
    r[order_[i]] -= sum;
  }
}

}  // namespace pb::physics
