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

#include <algorithm>
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
  std::vector<std::int32_t> targets;
  // Pivots in a row that all have as many factors and as many entries right of the diagonal: rows
  // are short, and loops over them whose length changes cost as much as what they do.
  struct Run {
    std::int32_t from, to, factors, right;
  };
  std::vector<Run> runs;

 private:
  void list_runs();
};

/// The product of a matrix of such a plan with a vector, of its entries that are ever other than
/// zero: elimination fills in more than as many again. Rows of as many entries follow each other.
struct ProductPlan {
  ProductPlan() = default;
  /// `used`: of each slot, whether.
  ProductPlan(const LuPlan& plan, const std::vector<bool>& used);

  struct Term {
    std::int32_t slot, column;
  };
  struct Run {
    std::int32_t rows, length;
  };
  std::vector<Term> terms;
  std::vector<std::int32_t> row;  // of each sum of terms
  std::vector<Run> runs;
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
  /// Both in one pass; x may be b.
  Which<R> factor_solve(const R* b, R* x);
  /// A matrix with this one's entries becomes the one to be factored.
  void take(const R* a) { std::copy(a, a + values.size(), values.data()); }

 private:
  /// Where an elimination has come to.
  struct Progress {
    const LuPlan::Factor* factor;
    const std::int32_t* target;
    R least = R(1e300), wrong = R(0.0);  // the latter not a number once a pivot is not finite
  };
  template <int kFactors, int kRight>
  void eliminate(const LuPlan::Run& run, Progress& at);
  template <int kRight>
  void substitute_back(const LuPlan::Run& run, R* b);
  void back_substitute(R* b);

  const LuPlan* plan_;
  std::vector<R> work_, inverse_;  // inverse: of the pivots
};
using SparseLu = BasicLu<double>;

template <class R>
Which<R> BasicLu<R>::factor() {
  std::vector<R> nothing(work_.size(), R(0.0));
  return factor_solve(nothing.data(), nothing.data());
}

/// f<n>() for n up to 3, and f<-1>() for what is longer.
template <class F>
[[gnu::always_inline]] inline void with_length(int n, const F& f) {
  switch (n) {
    case 0:
      return f.template operator()<0>();
    case 1:
      return f.template operator()<1>();
    case 2:
      return f.template operator()<2>();
    case 3:
      return f.template operator()<3>();
    default:
      return f.template operator()<-1>();
  }
}

/// Pivots with this many factors and entries right of the diagonal; -1: as the run says.
template <class R>
template <int kFactors, int kRight>
[[gnu::always_inline]] inline void BasicLu<R>::eliminate(const LuPlan::Run& run, Progress& at) {
  R *const a = values.data(), *const y = work_.data(), *const inverse = inverse_.data();
  const std::int32_t* const diagonal = plan_->diagonal.data();
  const int factors = kFactors < 0 ? run.factors : kFactors,
            right = kRight < 0 ? run.right : kRight;
  const LuPlan::Factor* f = at.factor;
  const std::int32_t* target = at.target;
  R least = at.least, wrong = at.wrong;
  for (int k = run.from; k < run.to; ++k) {
    const R *const own = a + diagonal[k], pivot = *own, one = 1.0 / pivot, size = absolute(pivot),
                   y_k = y[k];
    least = minimum(size, least);
    wrong += size - size;  // NOLINT(misc-redundant-expression)
    inverse[k] = one;
    for (int i = 0; i < factors; ++i, ++f) {
      const R factor = a[f->slot] * one;
      a[f->slot] = factor;
      y[f->row] -= factor * y_k;
      for (int u = 1; u <= right; ++u) a[*target++] -= factor * own[u];
    }
  }
  at = {f, target, least, wrong};
}

template <class R>
Which<R> BasicLu<R>::factor_solve(const R* b, R* x) {
  const LuPlan& p = *plan_;
  R* const y = work_.data();
  const std::int32_t* const order = p.order.data();
  for (int i = 0; i < p.size; ++i) y[i] = b[order[i]];
  Progress at{p.factors.data(), p.targets.data()};
  for (const LuPlan::Run& run : p.runs)
    with_length(run.factors, [&]<int kFactors>() {
      with_length(run.right, [&]<int kRight>() { eliminate<kFactors, kRight>(run, at); });
    });
  back_substitute(x);
  return both(at.least > R(0.0), at.wrong >= R(0.0));
}

template <class R>
template <int kRight>
[[gnu::always_inline]] inline void BasicLu<R>::substitute_back(const LuPlan::Run& run, R* b) {
  const LuPlan& p = *plan_;
  R* const y = work_.data();
  const R *const a = values.data(), *const inverse = inverse_.data();
  const std::int32_t *const diagonal = p.diagonal.data(), *const order = p.order.data(),
                            *const pivot = p.pivot.data();
  const int right = kRight < 0 ? run.right : kRight;
  for (int i = run.to - 1; i >= run.from; --i) {
    const int own = diagonal[i];
    R sum = y[i];
    for (int u = own + 1; u <= own + right; ++u) sum -= a[u] * y[pivot[u]];
    y[i] = sum * inverse[i];
    b[order[i]] = y[i];
  }
}

template <class R>
void BasicLu<R>::back_substitute(R* b) {
  const std::vector<LuPlan::Run>& runs = plan_->runs;
  for (auto run = runs.rbegin(); run != runs.rend(); ++run)
    with_length(run->right, [&]<int kRight>() { substitute_back<kRight>(*run, b); });
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

/// Of rows with so many terms; -1: as the run says.
template <int kLength, class R>
[[gnu::always_inline]] inline void subtract_rows(const ProductPlan::Run& run,
                                                 const ProductPlan::Term*& term,
                                                 const std::int32_t*& row, const R* a, const R* x,
                                                 R* r) {
  const int length = kLength < 0 ? run.length : kLength;
  for (const std::int32_t* const end = row + run.rows; row != end; ++row) {
    R sum = R(0.0);
    for (int k = 0; k < length; ++k, ++term) sum += a[term->slot] * x[term->column];
    r[*row] -= sum;
  }
}

/// r -= A x.
template <class R>
void subtract_product(const ProductPlan& p, const R* a, const R* x, R* r) {
  const ProductPlan::Term* term = p.terms.data();
  const std::int32_t* row = p.row.data();
  for (const ProductPlan::Run& run : p.runs) switch (run.length) {
      case 2:
        subtract_rows<2>(run, term, row, a, x, r);
        break;
      case 3:
        subtract_rows<3>(run, term, row, a, x, r);
        break;
      case 4:
        subtract_rows<4>(run, term, row, a, x, r);
        break;
      case 5:
        subtract_rows<5>(run, term, row, a, x, r);
        break;
      default:
        subtract_rows<-1>(run, term, row, a, x, r);
    }
}

}  // namespace pb::physics
