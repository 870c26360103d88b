// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/shelf.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <unordered_map>

#include "base/check.h"

namespace pb {
namespace {

bool can_be_bought(const Brief& brief, const Part& p) {
  return p.lifecycle != "obsolete" && cost_faults(brief, {{&p, 1}}).empty() &&
         missing_figures(p).empty();
}

/// All that a proof can know of a part, as bytes.
std::string seen_of(const Part& p) {
  std::string out = p.package;
  for (double f : p.figures) {
    if (!given(f)) f = kNotGiven;  // one pattern of bits for all that are missing
    out.append(reinterpret_cast<const char*>(&f), sizeof f);
  }
  return out;
}

/// Needs, as bits, that are bought together as one row.
struct Order {
  std::size_t set;
  const Part* row;
};

bool one_row_twice(const std::vector<Order>& orders) {
  for (std::size_t k = 0; k < orders.size(); ++k)
    for (std::size_t j = 0; j < k; ++j)
      if (orders[j].row == orders[k].row) return true;
  return false;
}

struct Apart {
  double cost = std::numeric_limits<double>::infinity();
  std::vector<Order> orders;  // none: it cannot be had
};

/// The cheapest way to share the needs `left` among rows that each serve one order only.
/// `price(set, without)`: the cheapest row for a set, and what it costs; null if there is none.
template <class Price>
Apart cheapest_apart(std::size_t left, const Price& price, const std::vector<Order>& before) {
  if (left == 0) return {0, before};
  std::vector<const Part*> used;
  used.reserve(before.size());
  for (const Order& o : before) used.push_back(o.row);
  Apart best;
  for (std::size_t part = left; part > 0; part = (part - 1) & left) {
    if ((part & (left & (~left + 1))) == 0) continue;
    // The best row, or one of the next: the best may be wanted more elsewhere. As many of them as
    // there may be other orders.
    std::vector<const Part*> without = used;
    for (std::size_t other = left;; other &= other - 1) {
      const auto [row, cost] = price(part, without);
      if (!row) break;
      std::vector<Order> orders = before;
      orders.push_back({part, row});
      Apart rest = cheapest_apart(left ^ part, price, orders);
      if (cost + rest.cost < best.cost) best = {cost + rest.cost, std::move(rest.orders)};
      without.push_back(row);
      if (other == 0) break;
    }
  }
  return best;
}

}  // namespace

Shelf shelf_of(const Brief& brief, const std::vector<Part>& parts) {
  Shelf out;
  std::map<std::string_view, std::unordered_map<std::string, std::size_t>> known;
  for (const Part& p : parts) {
    ShelfClass& c = out[p.part_class];
    ++c.rows;
    if (!can_be_bought(brief, p)) continue;
    const auto [at, fresh] = known[p.part_class].try_emplace(seen_of(p), c.kinds.size());
    if (fresh) c.kinds.emplace_back();
    c.kinds[at->second].rows.push_back(&p);
  }
  for (auto& [name, c] : out) {
    for (Kind& k : c.kinds)
      std::sort(k.rows.begin(), k.rows.end(), [](const Part* a, const Part* b) {
        return std::pair(best_price(*a), std::string_view(a->number)) <
               std::pair(best_price(*b), std::string_view(b->number));
      });
  }
  return out;
}

Buyer::Row Buyer::best_row(const Kind& kind, int count,
                           const std::vector<const Part*>& without) const {
  Row best{nullptr, std::numeric_limits<double>::infinity()};
  for (const Part* p : kind.rows) {
    // Rows come by best price: from here on none can cost less.
    if (best_price(*p) * brief_.build.quantity * count > best.money) break;
    if (!in_stock(brief_, {p, count}) || std::ranges::count(without, p) > 0) continue;
    const double money = order_money(brief_, {p, count});
    if (money < best.money || (money == best.money && best.part && p->number < best.part->number))
      best = {p, money};
  }
  return best;
}

const Buyer::Row& Buyer::best_row(const Kind& kind, int count) {
  const auto [at, fresh] = known_.try_emplace({&kind, count}, Row{nullptr, 0});
  return fresh ? at->second = best_row(kind, count, {}) : at->second;
}

bool Buyer::share(const std::vector<Need>& needs, const std::vector<std::size_t>& of, double yield,
                  std::vector<CostLine>& out) {
  const BuildBrief& build = brief_.build;
  const std::size_t all = (std::size_t{1} << of.size()) - 1;
  const auto count = [&](std::size_t set) {
    int n = 0;
    for (std::size_t k = 0; k < of.size(); ++k)
      if ((set >> k) & 1U) n += needs[of[k]].count;
    return n;
  };
  // least[m]: what the needs in the set m cost; whole[m]: those bought together with its lowest.
  std::vector<double> least(all + 1, std::numeric_limits<double>::infinity());
  std::vector<std::size_t> whole(all + 1, 0);
  least[0] = 0;
  const Kind& kind = *needs[of.front()].kind;
  for (std::size_t set = 1; set <= all; ++set)
    for (std::size_t part = set; part > 0; part = (part - 1) & set) {
      if ((part & (set & (~set + 1))) == 0) continue;
      const double cost =
          (best_row(kind, count(part)).money / yield + build.setup_per_line) + least[set ^ part];
      if (cost < least[set]) least[set] = cost, whole[set] = part;
    }
  if (!std::isfinite(least[all])) return false;
  std::vector<Order> orders;
  for (std::size_t left = all; left > 0; left ^= whole[left])
    orders.push_back({whole[left], best_row(kind, count(whole[left])).part});
  if (one_row_twice(orders)) {
    // As one order it would be cheaper, so its stock does not reach that far: every choice of rows
    // is weighed.
    const auto price = [&](std::size_t set, const std::vector<const Part*>& without) {
      const Row row = best_row(kind, count(set), without);
      return std::pair(row.part, row.money / yield + build.setup_per_line);
    };
    orders = cheapest_apart(all, price, {}).orders;
    if (orders.empty()) return false;
  }
  for (const Order& o : orders)
    for (std::size_t k = 0; k < of.size(); ++k)
      if ((o.set >> k) & 1U) out[of[k]] = {o.row, needs[of[k]].count, needs[of[k]].reel};
  return true;
}

std::vector<CostLine> Buyer::cheapest(const std::vector<Need>& needs) {
  std::vector<CostLine> out;
  out.reserve(needs.size());
  for (const Need& n : needs) out.push_back({&n.kind->part(), n.count, n.reel});
  const double yield = board_yield(brief_, out);  // of the packages, whatever the rows
  for (std::size_t k = 0; k < needs.size(); ++k) {
    std::vector<std::size_t> same;
    for (std::size_t j = 0; j < needs.size(); ++j)
      if (needs[j].kind == needs[k].kind && needs[j].reel == needs[k].reel) same.push_back(j);
    if (same.front() == k && !share(needs, same, yield, out)) return {};
  }
  return out;
}

}  // namespace pb
