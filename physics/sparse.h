// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Sparse LU with the elimination order and the operation list worked out once, when a circuit is
// assembled, and run at every Newton step. No pivoting: rows of node equations carry their
// conductance and capacitance on the diagonal, rows of inductors their inductance. Order: least
// fill first (H. Markowitz, Management Science 3, 1957, 255-269). Entries are stored row by row in
// the order of elimination, so that factors, substitutions and products run straight through
// memory. Tested by tests/unit/physics_sparse.cpp against Eigen.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "physics/lanes.h"

namespace pb::physics {

/// Order and operations of the elimination, whatever the numbers.
struct LuPlan {
  LuPlan() = default;
  /// `entries`: positions (row, column) that may be nonzero; the diagonal is added.
  LuPlan(int size, const std::vector<std::pair<int, int>>& entries);
  /// The same. A design is run many times over: the last plan of the thread is kept.
  static LuPlan of(int size, const std::vector<std::pair<int, int>>& entries);

  int size = 0, nonzeros = 0;
  /// Where entry (at_row, at_column) stands; the position must be one of the entries.
  int slot(int at_row, int at_column) const;
  /// The same, -1 where nothing is stored.
  int find(int at_row, int at_column) const { return slot_of[at_row][at_column]; }

  std::vector<std::int32_t> order;        // k-th pivot is this row and column
  std::vector<std::vector<int>> slot_of;  // dense map, -1 where empty; sizes here are tens
  // By row in order of elimination: slots from row[k], diagonal at diagonal[k], up to row[k+1].
  std::vector<std::int32_t> row, diagonal;
  std::vector<std::int32_t> pivot, column;  // of each slot: its column's turn, and its column
  // What each pivot in turn does: to the rows below it that hold its column, its own row from the
  // diagonal on times a factor; the targets follow each other in that order.
  struct Factor {
    std::int32_t slot, row;
  };
  std::vector<Factor> factors;
  std::vector<std::int32_t> targets, factors_end;
};

/// Of numbers of the type R; the plan must outlive it.
template <class R>
class BasicLu {
 public:
  explicit BasicLu(const LuPlan& of)
      : values(static_cast<std::size_t>(of.nonzeros) + 1, R(0.0)),
        plan_(&of),
        work_(static_cast<std::size_t>(of.size), R(0.0)),
        inverse_(static_cast<std::size_t>(of.size), R(0.0)) {}
  const LuPlan& plan() const { return *plan_; }

  /// The matrix in, its factors out. One entry more than nonzeros: a bin for what must go nowhere.
  std::vector<R> values;
  /// False when a pivot is zero or not finite.
  Which<R> factor();
  /// b in, x out.
  void solve(R* b);
  /// Both in one pass: b in, x out.
  Which<R> factor_solve(R* b);
  /// r -= A x for a matrix with this one's entries, which becomes the one to be factored.
  void take_and_subtract_product(const R* a, const R* x, R* r);

 private:
  void back_substitute(R* b);

  const LuPlan* plan_;
  std::vector<R> work_, inverse_;  // inverse: of the pivots
};
using SparseLu = BasicLu<double>;

template <class R>
Which<R> BasicLu<R>::factor() {
  std::vector<R> nothing(work_.size(), R(0.0));
  return factor_solve(nothing.data());
}

template <class R>
Which<R> BasicLu<R>::factor_solve(R* b) {
  const LuPlan& p = *plan_;
  R *const a = values.data(), *const y = work_.data(), *const inverse = inverse_.data();
  const std::int32_t *const order = p.order.data(), *const diagonal = p.diagonal.data(),
                            *const factors_end = p.factors_end.data(), *const row = p.row.data();
  const int n = p.size;
  for (int i = 0; i < n; ++i) y[i] = b[order[i]];
  const LuPlan::Factor* f = p.factors.data();
  const std::int32_t* target = p.targets.data();
  R least = R(1e300), wrong = R(0.0);  // the latter not a number once a pivot is not finite
  for (int k = 0; k < n; ++k) {
    const R pivot = a[diagonal[k]], one = 1.0 / pivot, size = absolute(pivot), y_k = y[k];
    least = minimum(size, least);
    wrong += size - size;  // NOLINT(misc-redundant-expression)
    inverse[k] = one;
    for (const LuPlan::Factor* end = p.factors.data() + factors_end[k]; f != end; ++f) {
      const R factor = a[f->slot] * one;
      a[f->slot] = factor;
      y[f->row] -= factor * y_k;
      for (const R *right = a + diagonal[k] + 1, *const last = a + row[k + 1]; right != last;
           ++right)
        a[*target++] -= factor * *right;
    }
  }
  back_substitute(b);
  return both(least > R(0.0), wrong >= R(0.0));
}

template <class R>
void BasicLu<R>::back_substitute(R* b) {
  const LuPlan& p = *plan_;
  const R* const a = values.data();
  R* const y = work_.data();
  const std::int32_t *const row = p.row.data(), *const diagonal = p.diagonal.data(),
                            *const pivot = p.pivot.data(), *const order = p.order.data();
  for (int i = p.size - 1; i >= 0; --i) {
    R sum = y[i];
    for (int u = diagonal[i] + 1, end = row[i + 1]; u < end; ++u) sum -= a[u] * y[pivot[u]];
    y[i] = sum * inverse_[i];
    b[order[i]] = y[i];
  }
}

template <class R>
void BasicLu<R>::solve(R* b) {
  const LuPlan& p = *plan_;
  R* const y = work_.data();
  for (int i = 0; i < p.size; ++i) {
    R sum = b[p.order[i]];
    for (int l = p.row[i]; l < p.diagonal[i]; ++l) sum -= values[l] * y[p.pivot[l]];
    y[i] = sum;
  }
  back_substitute(b);
}

template <class R>
void BasicLu<R>::take_and_subtract_product(const R* a, const R* x, R* r) {
  const LuPlan& p = *plan_;
  R* const own = values.data();
  const std::int32_t *const row = p.row.data(), *const column = p.column.data(),
                            *const order = p.order.data();
  for (int i = 0; i < p.size; ++i) {
    R sum = R(0.0);
    for (int s = row[i], end = row[i + 1]; s < end; ++s) {
      own[s] = a[s];
      sum += a[s] * x[column[s]];
    }
    r[order[i]] -= sum;
  }
  own[p.nonzeros] = a[p.nonzeros];
}

}  // namespace pb::physics
