// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Sparse LU with the elimination order and the operation list worked out once, when a circuit is
// assembled, and run at every Newton step. No pivoting: rows of node equations carry their
// conductance and capacitance on the diagonal, rows of inductors their inductance. Order: least
// fill first (H. Markowitz, Management Science 3, 1957, 255-269). Tested by
// tests/unit/physics_sparse.cpp against Eigen.
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
  int nonzeros() const { return static_cast<int>(values.size()); }
  /// Where to write entry (row, column) in `values`; the position must be one of the entries.
  int slot(int row, int column) const;

  /// The matrix in, its factors out.
  std::vector<double> values;
  /// False when a pivot is zero or not finite.
  bool factor();
  /// b in, x out.
  void solve(std::span<double> b) const;

 private:
  int size_ = 0;
  std::vector<int> order_;                 // k-th pivot is this row and column
  std::vector<std::vector<int>> slot_of_;  // dense map, -1 where empty; sizes here are tens
  std::vector<std::int32_t>
      program_;  // per pivot: diagonal, #L, #U, L slots, U slots, #L x #U targets
  struct Term {
    std::int32_t slot, index;
  };
  std::vector<std::int32_t> lower_start_, upper_start_, diagonal_;
  std::vector<Term> lower_, upper_;  // by row, for the two substitutions
  mutable std::vector<double> work_;
};

}  // namespace pb::physics
