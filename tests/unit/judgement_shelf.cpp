// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Which rows are bought: against every assignment of rows tried one by one.
#include "judgement/shelf.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "base/random.h"

namespace pb {
namespace {

constexpr double kNone = std::numeric_limits<double>::infinity();

Brief brief_of(double quantity) {
  Brief b;
  b.build.quantity = quantity;
  b.build.currency = "USD";
  b.build.attrition = 0.02;
  b.build.setup_per_line = 5;
  return b;
}

Part resistor(const std::string& number, std::vector<PriceBreak> breaks, double stock) {
  Part p;
  p.number = number;
  p.part_class = "resistor";
  p.package = "0603";
  p.figures = {0.01, 0.1};
  p.price_breaks = std::move(breaks);
  p.stock = stock;
  return p;
}

/// Every assignment of rows to needs, stocks looked at by order.
double by_hand(const Brief& brief, const std::vector<Buyer::Need>& needs,
               std::vector<CostLine> lines = {}) {
  if (lines.size() == needs.size()) {
    for (const CostLine& a : lines) {
      CostLine order = a;
      order.count = 0;
      for (const CostLine& b : lines) order.count += a.part == b.part ? b.count : 0;
      if (!in_stock(brief, order)) return kNone;
    }
    return landed_cost(brief, lines).total;
  }
  const Buyer::Need& n = needs[lines.size()];
  double least = kNone;
  for (const Part* row : n.kind->rows) {
    std::vector<CostLine> more = lines;
    more.push_back({row, n.count});
    least = std::min(least, by_hand(brief, needs, std::move(more)));
  }
  return least;
}

TEST(Shelf, BuysAsAnyOtherWayOfBuyingWouldNotBeCheaper) {
  int shared = 0, none = 0;
  for (std::uint64_t unit = 0; unit < 400; ++unit) {
    const Draws d(11, unit);
    const auto draw = [&](const std::string& what, int k, double low, double high) {
      return d.uniform(what + std::to_string(k), low, high);
    };
    const Brief brief = brief_of(std::floor(draw("quantity", 0, 50, 3000)));
    std::vector<Part> rows;
    for (int k = 0; k < 4; ++k) {
      const double unit_price = draw("price", k, 0.01, 0.03);
      rows.push_back(resistor(
          "r" + std::to_string(k),
          {{1, unit_price}, {std::floor(draw("break", k, 100, 9000)), unit_price * 0.6}},
          draw("limited", k, 0, 1) < 0.7 ? std::floor(draw("stock", k, 0, 15000)) : kNotGiven));
    }
    const Shelf shelf = shelf_of(brief, rows);
    const Kind& kind = shelf.at("resistor").kinds.at(0);
    std::vector<Buyer::Need> needs;
    for (int k = 0; k < 4; ++k)
      needs.push_back({&kind, 1 + static_cast<int>(draw("count", k, 0, 4))});
    Buyer buyer(brief);
    const std::vector<CostLine> lines = buyer.cheapest(needs);
    const double least = by_hand(brief, needs);
    ASSERT_EQ(lines.size() == needs.size(), std::isfinite(least)) << unit;
    if (lines.empty()) {
      ++none;
      continue;
    }
    EXPECT_NEAR(landed_cost(brief, lines).total, least, 1e-9 * least) << unit;
    for (std::size_t k = 0; k < lines.size(); ++k)
      for (std::size_t j = 0; j < k; ++j) shared += lines[k].part == lines[j].part ? 1 : 0;
  }
  EXPECT_GT(shared, 100);
  EXPECT_GT(none, 20);
}

// 1000 boards of 4 and 2, 2 % attrition: 4080 and 2040 pieces. The cheap row has 5000: enough for
// either, not for both, and the greater need gains more by it.
TEST(Shelf, AStockThatServesOneRoleGoesWhereItSavesMost) {
  const Brief brief = brief_of(1000);
  const std::vector<Part> rows = {resistor("cheap", {{1, 0.01}}, 5000),
                                  resistor("dear", {{1, 0.02}}, kNotGiven)};
  const Shelf shelf = shelf_of(brief, rows);
  const Kind& kind = shelf.at("resistor").kinds.at(0);
  Buyer buyer(brief);
  const std::vector<CostLine> lines = buyer.cheapest({{&kind, 2}, {&kind, 4}});
  ASSERT_EQ(lines.size(), 2u);
  EXPECT_EQ(lines[0].part->number, "dear");
  EXPECT_EQ(lines[1].part->number, "cheap");
  EXPECT_TRUE(std::isinf(buyer.money(Kind{{&rows[0]}}, 5)));
}

}  // namespace
}  // namespace pb
