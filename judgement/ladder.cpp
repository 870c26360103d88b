// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/ladder.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "base/text.h"
#include "judgement/screens.h"

namespace pb {
namespace {

constexpr double kFirst = 100, kLast = 1e6;

Cost cost_at(Design& d, double quantity, bool one_off) {
  d.brief.build.quantity = quantity;
  Cost c = landed_cost(d.brief, cost_lines(d));
  if (!one_off) c.total -= c.one_off;
  return c;
}

/// Whole quantities from `low` to `high`, `steps` a decade.
std::vector<double> grid(double low, double high, int steps) {
  std::vector<double> out;
  const int count = static_cast<int>(std::lround(std::log10(high / low) * steps));
  out.reserve(static_cast<std::size_t>(count) + 1);
  for (int k = 0; k <= count; ++k)
    out.push_back(std::round(low * std::pow(10.0, static_cast<double>(k) / steps)));
  return out;
}

double beats_from(Design own, Design bought, bool one_off) {
  // Costs are not monotone: at a break one of them jumps. So from the far end, then between the
  // last two.
  constexpr int kSteps = 100;
  const auto wins = [&](double q) {
    return cost_at(own, q, one_off).total < cost_at(bought, q, one_off).total;
  };
  const std::vector<double> at = grid(kFirst, kLast, kSteps);
  std::size_t from = at.size();
  while (from > 0 && wins(at[from - 1])) --from;
  if (from == at.size()) return kNotGiven;
  if (from == 0) return at.front();
  double loses = at[from - 1], first = at[from];
  while (first - loses > 1) {
    const double middle = std::floor((loses + first) / 2);
    (wins(middle) ? first : loses) = middle;
  }
  return first;
}

struct Chip {
  std::string role;
  const Part* part = nullptr;
};

Chip chip_of(const Design& d) {
  for (const auto& [role, part] : d.parts)
    if (is_bought_driver(*find_part_class(part.part_class))) return {role, &part};
  return {};
}

std::string kind_of(const Design& d) {
  const Chip chip = chip_of(d);
  return d.wiring.title + (chip.part ? ", " + chip.part->package : "");
}

/// The same board with every other chip of the class that could do, cheapest first.
std::vector<Design> exchanged(const Design& board, const std::vector<Part>& parts) {
  const Chip chip = chip_of(board);
  std::vector<std::pair<double, Design>> found;
  for (const Part& p : parts) {
    if (p.part_class != chip.part->part_class || p.number == chip.part->number ||
        p.lifecycle == "obsolete" || !missing_figures(p).empty() ||
        !cost_faults(board.brief, {{&p, 1}}).empty())
      continue;
    Design d = board;
    d.parts[chip.role] = p;
    const double cost = landed_cost(d.brief, cost_lines(d)).total;
    found.emplace_back(cost, std::move(d));
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<Design> out;
  out.reserve(found.size());
  for (auto& [cost, design] : found) out.push_back(std::move(design));
  return out;
}

std::string why_not(const Verdict& v) {
  for (const Check& c : v.checks)
    if (!c.passes)
      return c.id + " of " + c.subject + ": " + significant(c.value, 3) + " against " +
             significant(c.limit, 3) + " " + c.unit;
  return v.undecided.empty() ? "" : "undecided: " + v.undecided.front();
}

/// Judged by screens first, then by a proof that ends at the first failure.
ChipBoard judged(Design d, const StopToken& stop) {
  const Chip chip = chip_of(d);
  ChipBoard out{std::move(d), false, ""};
  const Role& role = *find_role(out.design.wiring, chip.role);
  if (const std::string id =
          screened_by({out.design.brief, out.design.wiring, role}, out.design.parts.at(chip.role));
      !id.empty()) {
    out.why = id;
    return out;
  }
  ProofOptions o;
  o.fail_first = true, o.stop = stop;
  const Verdict v = prove(out.design, o).verdict;
  out.passes = v.passes;
  out.why = why_not(v);
  return out;
}

}  // namespace

std::vector<double> ladder_quantities() { return grid(kFirst, kLast, 3); }

LadderLine ladder_line(const Design& design, const std::vector<double>& quantities) {
  Design d = design;
  const Chip chip = chip_of(d);
  LadderLine out;
  out.bought = chip.part != nullptr;
  out.name = chip.part ? chip.part->number : d.wiring.title;
  out.kind = kind_of(d);
  out.costs.reserve(quantities.size());
  for (double q : quantities) out.costs.push_back(cost_at(d, q, true));
  return out;
}

BreakEven break_even(const Design& own, const Design& bought) {
  const Chip chip = chip_of(bought);
  return {chip.part ? chip.part->number : bought.wiring.title, beats_from(own, bought, true),
          beats_from(own, bought, false)};
}

std::vector<ChipBoard> chip_kinds(const SearchResult& result, const std::vector<Part>& parts,
                                  std::size_t wanted, const ParallelFor& parallel,
                                  const StopToken& stop) {
  // Of each kind so many are tried before it counts as one that does not pass.
  constexpr std::size_t kTries = 3;
  std::vector<ChipBoard> out;
  std::map<std::string, std::vector<Design>> others;  // by kind
  std::set<std::string> kinds;
  for (const ChipOffer& c : result.chips) {
    if (!c.passes) continue;
    if (kinds.insert(kind_of(c.design)).second) out.push_back({c.design, true, ""});
    for (Design& d : exchanged(c.design, parts)) {
      std::vector<Design>& list = others[kind_of(d)];
      if (list.size() < kTries) list.push_back(std::move(d));
    }
  }
  std::vector<std::vector<Design>> open;
  for (auto& [kind, list] : others)
    if (!kinds.contains(kind)) open.push_back(std::move(list));
  std::stable_sort(open.begin(), open.end(), [](const auto& a, const auto& b) {
    const auto cost = [](const Design& d) { return landed_cost(d.brief, cost_lines(d)).total; };
    return cost(a.front()) < cost(b.front());
  });
  if (open.size() > wanted) open.resize(wanted);
  std::vector<std::optional<ChipBoard>> found(open.size());
  parallel(open.size(), [&](std::size_t k) {
    for (Design& d : open[k]) {
      if (stop.stop_requested()) return;
      ChipBoard board = judged(std::move(d), stop);
      if (!found[k] || board.passes) found[k] = std::move(board);
      if (found[k]->passes) return;
    }
  });
  // Those that pass first; the others only to make up the number.
  for (const bool passes : {true, false})
    for (std::optional<ChipBoard>& b : found)
      if (b && b->passes == passes && out.size() < wanted) out.push_back(std::move(*b));
  return out;
}

PriceLadder price_ladder(const Design* winner, const std::vector<ChipBoard>& chips) {
  PriceLadder out;
  out.quantities = ladder_quantities();
  if (winner) out.lines.push_back(ladder_line(*winner, out.quantities));
  for (const ChipBoard& c : chips) {
    LadderLine line = ladder_line(c.design, out.quantities);
    line.passes = c.passes;
    line.why = c.why;
    out.lines.push_back(std::move(line));
    if (winner && c.passes) out.break_even.push_back(break_even(*winner, c.design));
  }
  return out;
}

}  // namespace pb
