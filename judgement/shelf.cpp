// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/shelf.h"

#include <algorithm>
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

const Buyer::Row& Buyer::best_row(const Kind& kind, int count) {
  const auto [at, fresh] = known_.try_emplace({&kind, count}, Row{nullptr, 0});
  if (!fresh) return at->second;
  Row best{nullptr, std::numeric_limits<double>::infinity()};
  for (const Part* p : kind.rows) {
    // Rows come by best price: from here on none can cost less.
    if (best_price(*p) * brief_.build.quantity * count > best.money) break;
    const double money = order_money(brief_, {p, count});
    if (money < best.money || (money == best.money && best.part && p->number < best.part->number))
      best = {p, money};
  }
  PB_CHECK(best.part != nullptr, count);
  return at->second = best;
}

void Buyer::share(const std::vector<Need>& needs, const std::vector<std::size_t>& of, double yield,
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
  for (std::size_t left = all; left > 0; left ^= whole[left])
    for (std::size_t k = 0; k < of.size(); ++k)
      if ((whole[left] >> k) & 1U)
        out[of[k]] = {best_row(kind, count(whole[left])).part, needs[of[k]].count};
}

std::vector<CostLine> Buyer::cheapest(const std::vector<Need>& needs) {
  std::vector<CostLine> out;
  out.reserve(needs.size());
  for (const Need& n : needs) out.push_back({&n.kind->part(), n.count});
  const double yield = board_yield(brief_, out);  // of the packages, whatever the rows
  for (std::size_t k = 0; k < needs.size(); ++k) {
    std::vector<std::size_t> same;
    for (std::size_t j = 0; j < needs.size(); ++j)
      if (needs[j].kind == needs[k].kind) same.push_back(j);
    if (same.front() == k) share(needs, same, yield, out);
  }
  return out;
}

}  // namespace pb
