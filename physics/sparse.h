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
#include <span>
#include <utility>
#include <vector>

namespace pb::physics {

class SparseLu {
 public:
  SparseLu() = default;
  /// `entries`: positions (row, column) that may be nonzero; the diagonal is added.
  SparseLu(int size, const std::vector<std::pair<int, int>>& entries);

  int size() const { return size_; }
  int nonzeros() const { return size_ > 0 ? row_.back() : 0; }
  /// Where to write entry (row, column) in `values`; the position must be one of the entries.
  int slot(int row, int column) const;
  /// The same, -1 where nothing is stored.
  int find(int row, int column) const { return slot_of_[row][column]; }

  /// The matrix in, its factors out. One entry more than nonzeros(): a bin for what must go
  /// nowhere.
  std::vector<double> values;
  /// False when a pivot is zero or not finite.
  bool factor();
  /// b in, x out.
  void solve(std::span<double> b) const;
  /// Both in one pass: b in, x out.
  bool factor_solve(std::span<double> b);
  /// r -= A x for a matrix with this one's entries (before it is factored).
  void subtract_product(const double* a, const double* x, double* r) const;

 private:
  void back_substitute(std::span<double> b) const;

  int size_ = 0;
  std::vector<std::int32_t> order_;        // k-th pivot is this row and column
  std::vector<std::vector<int>> slot_of_;  // dense map, -1 where empty; sizes here are tens
  // By row in order of elimination: slots from row_[k], diagonal at diagonal_[k], up to row_[k+1].
  std::vector<std::int32_t> row_, diagonal_;
  std::vector<std::int32_t> pivot_, column_;  // of each slot: its column's turn, and its column
  // What each pivot in turn does: the rows below it that hold its column, then every product.
  struct Factor {
    std::int32_t slot, row;
  };
  struct Update {
    std::int32_t target, factor, right;
  };
  std::vector<Factor> factors_;
  std::vector<Update> updates_;
  std::vector<std::int32_t> factors_end_, updates_end_;
  mutable std::vector<double> work_;
  std::vector<double> inverse_;  // of the pivots
};

}  // namespace pb::physics
