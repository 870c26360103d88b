// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/cost.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <string_view>

#include "base/check.h"
#include "base/text.h"
#include "judgement/package.h"

namespace pb {
namespace {

/// Quantities are whole; this swallows the last bits of quantity * 1.01 and nothing a buyer could
/// order.
constexpr double kWhole = 1e-9;

double whole_up(double x) { return std::ceil(x * (1.0 - kWhole)); }

std::vector<CostLine> orders_of(const std::vector<CostLine>& lines) {
  std::vector<CostLine> out;
  for (const CostLine& line : lines) {
    PB_CHECK(line.part != nullptr && line.count >= 0, line.count);
    if (line.count == 0) continue;
    const auto same =
        std::ranges::find_if(out, [&](const CostLine& o) { return o.same_order(line); });
    if (same == out.end())
      out.push_back(line);
    else
      same->count += line.count;
  }
  return out;
}

double need_of(const BuildBrief& build, int count) {
  return whole_up(build.quantity * count * (1.0 + build.attrition));
}

const Package& package_of(const Part& part) {
  const Package* package = find_package(part.package);
  PB_CHECK(package != nullptr, part.number, part.package);
  return *package;
}

double placement_of(const BuildBrief& build, const CostLine& line) {
  return line.count *
         (package_of(*line.part).through_hole ? build.placement_tht : build.placement_smd);
}

/// Placement, board and test: the same in the cost and in its floor.
struct BoardWork {
  double placement = 0, courtyards_m2 = 0;
  int joints = 0;
};

BoardWork board_work(const BuildBrief& build, const std::vector<CostLine>& orders) {
  BoardWork out;
  for (const CostLine& line : orders) {
    const Package& package = package_of(*line.part);
    out.placement += placement_of(build, line);
    out.courtyards_m2 += line.count * courtyard_m2(package);
    out.joints += line.count * package.joints;
  }
  return out;
}

double solder_yield(const BuildBrief& build, int joints) {
  return std::pow(1.0 - build.joint_defects, joints);
}

/// The sums of the cost run in another order than those of its floors: give way by more than their
/// rounding.
constexpr double kRounding = 1.0 - 1e-12;

}  // namespace

double best_price(const Part& part) {
  double best = std::numeric_limits<double>::infinity();
  for (const PriceBreak& b : part.price_breaks) best = std::min(best, b.unit_price);
  return best;
}

/// Of no more than `stock` pieces; of none where that cannot be.
static Purchase cheapest_of(const Part& part, double need, double stock) {
  Purchase best{0, std::numeric_limits<double>::infinity()};
  double best_money = std::numeric_limits<double>::infinity();
  for (const PriceBreak& b : part.price_breaks) {
    const double least = std::max({need, part.minimum, b.quantity});
    const Purchase p{whole_up(least / part.multiple) * part.multiple, b.unit_price};
    if (p.quantity > stock || p.money() >= best_money) continue;
    best = p;
    best_money = p.money();
  }
  return best;
}

Purchase cheapest_purchase(const Part& part, double need) {
  PB_CHECK(!part.price_breaks.empty() && part.multiple >= 1, part.number);
  constexpr double kAny = std::numeric_limits<double>::infinity();
  const Purchase now = cheapest_of(part, need, given(part.stock) ? part.stock : kAny);
  return now.quantity > 0 ? now : cheapest_of(part, need, kAny);
}

bool in_stock(const Brief& brief, const CostLine& line) {
  return !given(line.part->stock) ||
         cheapest_of(*line.part, need_of(brief.build, line.count), line.part->stock).quantity > 0;
}

double order_money(const Brief& brief, const CostLine& line) {
  return cheapest_purchase(*line.part, need_of(brief.build, line.count)).money();
}

double board_yield(const Brief& brief, const std::vector<CostLine>& lines) {
  return solder_yield(brief.build, board_work(brief.build, lines).joints);
}

std::vector<CostLine> cost_lines(const Design& design) {
  std::map<std::string, int> places;
  for (const Place& p : design.wiring.places) ++places[p.role];
  std::vector<CostLine> out;
  out.reserve(design.parts.size());
  for (const auto& [role, part] : design.parts)
    out.push_back({&part, places[role], reel_of(design.wiring, role)});
  return out;
}

int reel_of(const Template& wiring, const std::string& role) {
  const Role* of = find_role(wiring, role);
  if (!of || of->values.empty()) return 0;
  const auto first =
      std::ranges::find_if(wiring.roles, [&](const Role& r) { return r.values == of->values; });
  return 1 + static_cast<int>(first - wiring.roles.begin());
}

Purchase order_of(const Design& design, const std::string& role) {
  const std::vector<CostLine> lines = cost_lines(design);
  const auto own = std::ranges::find(lines, &design.parts.at(role), &CostLine::part);
  PB_CHECK(own != lines.end(), role);
  int count = 0;
  for (const CostLine& line : lines)
    if (line.same_order(*own)) count += line.count;
  return cheapest_purchase(*own->part, need_of(design.brief.build, count));
}

bool CostLine::same_order(const CostLine& o) const {
  return part->number == o.part->number && reel == o.reel;
}

Problems cost_faults(const Brief& brief, const std::vector<CostLine>& lines) {
  Problems out;
  for (const CostLine& line : orders_of(lines)) {
    const Part& part = *line.part;
    if (part.price_breaks.empty())
      out.push_back({.key = part.number, .expected = "a price", .found = "none"});
    if (part.currency != brief.build.currency)
      out.push_back({.key = part.number,
                     .expected = "a price in " + brief.build.currency,
                     .found = part.currency,
                     .message = "no rates are applied"});
    if (!find_package(part.package))
      out.push_back({.key = part.number,
                     .expected = "a package of the table",
                     .found = part.package.empty() ? "nothing" : quoted(part.package)});
  }
  return out;
}

double board_area_m2(const std::vector<CostLine>& lines) {
  double out = 0;
  for (const CostLine& line : lines)
    out += kRoutedShare * line.count * courtyard_m2(package_of(*line.part));
  return out;
}

/// The work of proving a driver of one's own; a bought one comes proven.
static double one_off(const BuildBrief& build, const std::vector<CostLine>& lines) {
  const bool bought = std::any_of(lines.begin(), lines.end(), [](const CostLine& l) {
    return is_bought_driver(*find_part_class(l.part->part_class));
  });
  return bought ? 0.0 : build.one_off;
}

Cost landed_cost(const Brief& brief, const std::vector<CostLine>& lines, const CostExtras& extras) {
  const BuildBrief& build = brief.build;
  PB_CHECK(build.quantity >= 1 && extras.unit_yield > 0 && extras.unit_yield <= 1, build.quantity,
           extras.unit_yield);
  const std::vector<CostLine> orders = orders_of(lines);
  Cost out;
  for (const CostLine& line : orders) {
    const Purchase bought = cheapest_purchase(*line.part, need_of(build, line.count));
    const double used = bought.unit_price * line.count;
    out.parts += used;
    out.attrition += bought.money() / build.quantity - used;
  }
  const BoardWork work = board_work(build, orders);
  out.placement = work.placement;
  out.setup = build.setup_per_line * static_cast<double>(orders.size()) / build.quantity;
  out.area = build.board_cost_area_1_m2 *
             (kRoutedShare * work.courtyards_m2 + std::max(0.0, extras.extra_copper_m2));
  out.test = build.test_rate_1_s * build.test_time_s;
  out.one_off = one_off(build, orders) / build.quantity;
  const double yield = extras.unit_yield * solder_yield(build, work.joints);
  out.scrap =
      (out.parts + out.attrition + out.placement + out.area + out.test) * (1.0 / yield - 1.0);
  out.total = out.parts + out.attrition + out.placement + out.setup + out.area + out.test +
              out.one_off + out.scrap;
  return out;
}

double floor_cost(const Brief& brief, const std::vector<CostLine>& lines) {
  const BuildBrief& build = brief.build;
  const std::vector<CostLine> orders = orders_of(lines);
  double made = build.test_rate_1_s * build.test_time_s;  // what a scrapped board loses
  for (const CostLine& line : orders)
    made += best_price(*line.part) * need_of(build, line.count) / build.quantity;
  const BoardWork work = board_work(build, orders);
  made += work.placement + build.board_cost_area_1_m2 * kRoutedShare * work.courtyards_m2;
  const double once =
      (build.setup_per_line * static_cast<double>(orders.size()) + one_off(build, orders)) /
      build.quantity;
  return (made / solder_yield(build, work.joints) + once) * kRounding;
}

double floor_base(const Brief& brief, int different_parts, bool chip, int joints) {
  const BuildBrief& build = brief.build;
  return (build.test_rate_1_s * build.test_time_s / solder_yield(build, joints) +
          (build.setup_per_line * different_parts + (chip ? 0.0 : build.one_off)) /
              build.quantity) *
         kRounding;
}

double floor_share(const Brief& brief, const CostLine& line) {
  // Without rounding up to whole pieces, which two lines of one number share.
  const double pieces = line.count * (1.0 + brief.build.attrition) * (1.0 - kWhole);
  return floor_share(brief, line, best_price(*line.part) * pieces, joints_of(line));
}

double floor_share(const Brief& brief, const CostLine& line, double pieces, int joints) {
  const BuildBrief& build = brief.build;
  if (line.count == 0) return 0;
  const BoardWork work = board_work(build, {line});
  const double made =
      pieces + work.placement + build.board_cost_area_1_m2 * kRoutedShare * work.courtyards_m2;
  return made / solder_yield(build, joints) * kRounding;
}

int joints_of(const CostLine& line) { return line.count * package_of(*line.part).joints; }

}  // namespace pb
