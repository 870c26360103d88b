// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The catalogue as a search sees it. A proof reads figures, and nothing of who sells a part at what
// price: rows equal in class, package and every figure are one kind, proven once. Which row of a
// kind is bought is a matter of cost alone, and decided exactly.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "judgement/cost.h"

namespace pb {

struct Kind {
  std::vector<const Part*> rows;  // rising best price, then number; one at least
  const Part& part() const { return *rows.front(); }
};

/// The rows of one class.
struct ShelfClass {
  std::vector<Kind> kinds;  // of rows that can be bought, in the order of the rows
  std::uint64_t rows = 0;   // all of them, those too that cannot be bought
};

using Shelf = std::map<std::string, ShelfClass, std::less<>>;  // by class

/// The parts must outlive the shelf.
Shelf shelf_of(const Brief& brief, const std::vector<Part>& parts);

/// Buys picks of kinds at the least landed cost over all choices of rows. Remembers prices.
class Buyer {
 public:
  explicit Buyer(const Brief& brief) : brief_(brief) {}

  /// A kind and its places on the board, one a role; the kinds must outlive the buyer.
  struct Need {
    const Kind* kind;
    int count;
    int reel = 0;
  };
  /// A row for each need, with pieces enough in stock; none at all where that cannot be had. Needs
  /// of one kind and reel may share a row: one set-up, one better price; every way of sharing is
  /// weighed.
  std::vector<CostLine> cheapest(const std::vector<Need>& needs);
  /// What so many pieces a board cost for all boards, of the cheapest row, as one order; infinite
  /// where no row has them in stock.
  double money(const Kind& kind, int count) { return best_row(kind, count).money; }

 private:
  struct Row {
    const Part* part;
    double money;  // for all boards
  };
  const Row& best_row(const Kind& kind, int count);
  Row best_row(const Kind& kind, int count, const std::vector<const Part*>& without) const;
  /// Shares `of` among rows and writes their lines to `out`; false where stocks do not allow it.
  bool share(const std::vector<Need>& needs, const std::vector<std::size_t>& of, double yield,
             std::vector<CostLine>& out);

  const Brief& brief_;
  std::map<std::pair<const Kind*, int>, Row> known_;
};

}  // namespace pb
