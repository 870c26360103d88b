// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/tornado.h"

#include <algorithm>
#include <cmath>

namespace pb {
namespace {

/// What one input moves.
struct Stake {
  Brief brief;
  std::vector<Part> parts;  // one a line
  CostExtras extras;
};

/// Ranges are common practice, no source: what a quotation still moves by before the order, and
/// what a first estimate of one's own work is wrong by.
struct Row {
  const char *input, *unit;
  double low, high;
  double (*value)(const BuildBrief&);  // null: not one number
  void (*move)(Stake&, double factor);
};

constexpr Row kRows[] = {
    {"part prices", "", 0.8, 1.2, nullptr,
     [](Stake& s, double f) {
       for (Part& p : s.parts)
         for (PriceBreak& b : p.price_breaks) b.unit_price *= f;
     }},
    {"quantity", "pieces", 0.5, 2, [](const BuildBrief& b) { return b.quantity; },
     [](Stake& s, double f) {
       s.brief.build.quantity = std::max(1.0, std::round(s.brief.build.quantity * f));
     }},
    {"placement", "a part", 0.5, 2, [](const BuildBrief& b) { return b.placement_smd; },
     [](Stake& s, double f) {
       s.brief.build.placement_smd *= f;
       s.brief.build.placement_tht *= f;
     }},
    {"attrition", "1", 0.5, 3, [](const BuildBrief& b) { return b.attrition; },
     [](Stake& s, double f) { s.brief.build.attrition *= f; }},
    {"set-up", "a line", 0.5, 2, [](const BuildBrief& b) { return b.setup_per_line; },
     [](Stake& s, double f) { s.brief.build.setup_per_line *= f; }},
    {"board area", "", 0.8, 1.5, nullptr,
     // Placed tighter or looser than the usual share of tracks; a board's price per area moves the
     // same item.
     [](Stake& s, double f) { s.brief.build.board_cost_area_1_m2 *= f; }},
    {"test time", "s", 0.5, 2, [](const BuildBrief& b) { return b.test_time_s; },
     [](Stake& s, double f) { s.brief.build.test_time_s *= f; }},
    {"one-off work", "once", 0.5, 2, [](const BuildBrief& b) { return b.one_off; },
     [](Stake& s, double f) { s.brief.build.one_off *= f; }},
    {"joint defects", "1", 0.3, 3, [](const BuildBrief& b) { return b.joint_defects; },
     [](Stake& s, double f) { s.brief.build.joint_defects *= f; }},
    {"yield", "1", 0.98, 1, [](const BuildBrief&) { return 1.0; },
     [](Stake& s, double f) { s.extras.unit_yield *= f; }},
};

double cost_of(const Brief& brief, const std::vector<CostLine>& lines, const Row& row, double f) {
  Stake s{brief, {}, {}};
  s.parts.reserve(lines.size());
  for (const CostLine& line : lines) s.parts.push_back(*line.part);
  row.move(s, f);
  std::vector<CostLine> moved;
  moved.reserve(lines.size());
  for (std::size_t k = 0; k < lines.size(); ++k)
    moved.push_back({&s.parts[k], lines[k].count, lines[k].reel});
  return landed_cost(s.brief, moved, s.extras).total;
}

}  // namespace

std::vector<TornadoBar> tornado(const Brief& brief, const std::vector<CostLine>& lines) {
  std::vector<TornadoBar> out;
  out.reserve(std::size(kRows));
  for (const Row& r : kRows) {
    TornadoBar bar{r.input, r.low, r.high, r.value ? r.value(brief.build) : kNotGiven,
                   r.unit,  0,     0};
    bar.cost_low = cost_of(brief, lines, r, r.low);
    bar.cost_high = cost_of(brief, lines, r, r.high);
    if (bar.cost_low != bar.cost_high) out.push_back(std::move(bar));
  }
  const auto swing = [](const TornadoBar& b) { return std::abs(b.cost_high - b.cost_low); };
  std::stable_sort(out.begin(), out.end(),
                   [&](const TornadoBar& a, const TornadoBar& b) { return swing(a) > swing(b); });
  return out;
}

}  // namespace pb
