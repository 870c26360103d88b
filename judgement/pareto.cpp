// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/pareto.h"

#include <algorithm>
#include <array>

#include "judgement/cost.h"

namespace pb {
namespace {

std::array<double, 5> list_of(const Goals& g) {
  return {g.landed_cost, g.hottest_degC, g.board_area_m2, g.parts, g.energy_J};
}

/// As good in everything and better in something, or equal and earlier.
bool beats(const Goals& a, const Goals& b, bool earlier) {
  const auto x = list_of(a), y = list_of(b);
  bool better = false;
  for (std::size_t k = 0; k < x.size(); ++k) {
    if (x[k] > y[k]) return false;
    better = better || x[k] < y[k];
  }
  return better || earlier;
}

bool is_junction(const Check& c) {
  return c.id == "switch_junction" || c.id == "diode_junction" || c.id == "permanent_hold";
}

}  // namespace

Goals goals_of(const Design& design, const Proof& proof, double landed_cost) {
  Goals g;
  g.landed_cost = landed_cost;
  for (const Check& c : proof.verdict.checks)
    if (is_junction(c)) g.hottest_degC = std::max(g.hottest_degC, c.value);
  const std::vector<CostLine> lines = cost_lines(design);
  g.board_area_m2 = board_area_m2(lines);
  for (const CostLine& line : lines) g.parts += line.count;
  g.energy_J = proof.nominal.ledger.source_J;
  return g;
}

std::vector<std::size_t> pareto_front(const std::vector<Goals>& all) {
  std::vector<std::size_t> out;
  for (std::size_t k = 0; k < all.size(); ++k) {
    bool beaten = false;
    for (std::size_t o = 0; o < all.size() && !beaten; ++o)
      beaten = o != k && beats(all[o], all[k], o < k);
    if (!beaten) out.push_back(k);
  }
  return out;
}

}  // namespace pb
