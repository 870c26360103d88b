// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/sparse.h"

#include <algorithm>
#include <array>

#include "base/check.h"

namespace pb::physics {
namespace {

using Pattern = std::vector<std::vector<bool>>;

/// Fill-reducing order: at each turn the pivot with the least (rows-1)(columns-1); of several the
/// one that waits for the shortest chain of others, so that pivots in a row may overlap, then the
/// lower index. The pattern gains the fill of each elimination.
std::vector<int> markowitz_order(Pattern& has) {
  const int n = static_cast<int>(has.size());
  std::vector<bool> done(has.size(), false);
  std::vector<int> chain(has.size(), 0);
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
      const long cost = rows * columns;
      if (best < 0 || cost < best_cost || (cost == best_cost && chain[p] < chain[best]))
        best = p, best_cost = cost;
    }
    done[best] = true;
    order.push_back(best);
    for (int i = 0; i < n; ++i)
      if (has[i][best]) chain[i] = std::max(chain[i], chain[best] + 1);
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < n; ++j)
        if (!done[i] && !done[j] && has[i][best] && has[best][j]) has[i][j] = true;
  }
  return order;
}

}  // namespace

LuPlan::LuPlan(int unknowns, const std::vector<std::pair<int, int>>& entries) : size(unknowns) {
  const std::size_t n = static_cast<std::size_t>(size);
  Pattern has(n, std::vector<bool>(n, false));
  for (std::size_t i = 0; i < n; ++i) has[i][i] = true;
  for (const auto& [i, j] : entries) has[i][j] = true;
  const std::vector<int> turn = markowitz_order(has);
  order.assign(turn.begin(), turn.end());
  slot_of.assign(n, std::vector<int>(n, -1));
  for (int k = 0; k < size; ++k) {
    row.push_back(nonzeros);
    for (int m = 0; m < size; ++m) {
      if (!has[turn[k]][turn[m]]) continue;
      if (m == k) diagonal.push_back(nonzeros);
      pivot.push_back(m);
      column.push_back(turn[m]);
      slot_of[turn[k]][turn[m]] = nonzeros++;
    }
  }
  row.push_back(nonzeros);
  for (int k = 0; k < size; ++k) {
    for (int i = k + 1; i < size; ++i) {
      const int l = slot_of[turn[i]][turn[k]];
      if (l < 0) continue;
      factors.push_back({l, i});
      for (int u = diagonal[k] + 1; u < row[k + 1]; ++u)
        targets.push_back(slot_of[turn[i]][column[u]]);
    }
  }
  list_runs();
}

void LuPlan::list_runs() {
  auto f = factors.begin();
  for (int k = 0; k < size; ++k) {
    const std::int32_t right = row[k + 1] - diagonal[k] - 1;
    std::int32_t below = 0;
    for (; f != factors.end() && pivot[f->slot] == k; ++f) ++below;
    if (runs.empty() || runs.back().factors != below || runs.back().right != right)
      runs.push_back({k, k, below, right});
    runs.back().to = k + 1;
  }
}

ProductPlan::ProductPlan(const LuPlan& plan, const std::vector<bool>& used) {
  std::vector<std::vector<Term>> of_row(static_cast<std::size_t>(plan.size));
  std::size_t longest = 0;
  for (int i = 0; i < plan.size; ++i) {
    for (int s = plan.row[i]; s < plan.row[i + 1]; ++s)
      if (used[s]) of_row[i].push_back({s, plan.column[s]});
    longest = std::max(longest, of_row[i].size());
  }
  for (std::size_t length = 1; length <= longest; ++length) {
    Run run{0, static_cast<std::int32_t>(length)};
    for (int i = 0; i < plan.size; ++i) {
      if (of_row[i].size() != length) continue;
      terms.insert(terms.end(), of_row[i].begin(), of_row[i].end());
      row.push_back(plan.order[i]);
      ++run.rows;
    }
    if (run.rows > 0) runs.push_back(run);
  }
}

LuPlan LuPlan::of(int size, const std::vector<std::pair<int, int>>& entries) {
  struct Last {
    std::vector<std::pair<int, int>> entries;
    LuPlan plan;
  };
  // A move, the same motor held, its resting state: a few circuits take turns.
  constexpr std::size_t kKept = 4;
  thread_local std::array<Last, kKept> kept;
  thread_local std::size_t oldest = 0;
  for (const Last& k : kept)
    if (!k.plan.row.empty() && k.plan.size == size && k.entries == entries) return k.plan;
  Last& out = kept[oldest];
  oldest = (oldest + 1) % kKept;
  out = {entries, LuPlan(size, entries)};
  return out.plan;
}

int LuPlan::slot(int at_row, int at_column) const {
  const int s = slot_of[at_row][at_column];
  PB_CHECK(s >= 0, at_row, at_column);
  return s;
}

}  // namespace pb::physics
