// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What one good board costs, everything in: parts, parts lost, placing, setting up, board, test,
// one-off work and scrap; and a lower bound of it that a search may rely on. All amounts are in the
// brief's currency per good board. Tested by tests/unit/judgement_cost.cpp.
//
//   money(n)  = min over prices of unit_price · max(n, minimum, that price's quantity), rounded up
//               to the multiple, where so many are in stock; n = ceil(quantity · count · (1 +
//               attrition)) of one order: of one part number and, of resistors, one list of values
//   parts     = sum of unit_price · count             at the prices paid
//   attrition = sum of money / quantity − parts       parts lost and parts bought to reach a price
//   placement = sum of count · (placement_smd or placement_tht by the package)
//   setup     = setup_per_line · orders / quantity
//   area      = board_cost_area · (kRoutedShare · courtyards + extra copper)
//   test      = test_rate · test_time          one_off = one_off / quantity
//   scrap     = (parts + attrition + placement + area + test) · (1/Y − 1)
//   Y         = unit_yield · (1 − joint_defects)^joints
//
// A board that fails is thrown away: repair costs more than a driver of this size.
#pragma once

#include <string>
#include <vector>

#include "base/problem.h"
#include "model/brief.h"
#include "model/design.h"
#include "model/part.h"

namespace pb {

/// So many pieces of a part on one board. The same order may stand in several lines.
struct CostLine {
  const Part* part;
  int count;
  int reel = 0;  // of one row: resistors with other values come on another

  bool same_order(const CostLine& o) const;
};

/// One a role of the design that has a part, which must outlive them.
std::vector<CostLine> cost_lines(const Design& design);
/// A row of the catalogue serves all values of a resistor, but each comes on a reel of its own. A
/// value costs nothing to choose, so roles with different lists of values count as different reels,
/// whichever values are chosen: settings do not change what a design costs. Nothing: 0.
int reel_of(const Template& wiring, const std::string& role);

struct Cost {
  double parts = 0, attrition = 0, placement = 0, setup = 0, area = 0, test = 0, one_off = 0,
         scrap = 0;
  double total = 0;  // their sum
};

/// What the proof knows and the list of parts does not.
struct CostExtras {
  double extra_copper_m2 = 0;  // board bought to cool parts
  double unit_yield = 1;       // share of soundly soldered boards that meet the brief
};

/// Board area over the sum of courtyards: two sides' worth of tracks, edge and connectors. Common
/// practice, no source.
inline constexpr double kRoutedShare = 2.0;

/// One purchase: what is ordered, at which unit price.
struct Purchase {
  double quantity = 0, unit_price = 0;
  double money() const { return quantity * unit_price; }
};

/// The cheapest way to get at least `need` pieces; buying more at a better price counts. No more
/// than are in stock; where `need` is more than that, as if there were enough. `part` must have a
/// price.
Purchase cheapest_purchase(const Part& part, double need);

/// What is ordered for all boards of a role's part, together with other roles of the same order.
/// The role must have a part with a price.
Purchase order_of(const Design& design, const std::string& role);

/// Why the lines cannot be priced: no price, another currency, an unknown package. Keys are part
/// numbers.
Problems cost_faults(const Brief& brief, const std::vector<CostLine>& lines);

/// Whether the line's pieces are in stock, as one order for all boards. A stock that is not given
/// does not limit.
bool in_stock(const Brief& brief, const CostLine& line);

/// Of the routed board, without copper bought to cool parts. The packages must be known.
double board_area_m2(const std::vector<CostLine>& lines);

/// The lines must be without cost_faults.
Cost landed_cost(const Brief& brief, const std::vector<CostLine>& lines,
                 const CostExtras& extras = {});

/// Never above landed_cost of the same lines, nor of any lines that contain these, whatever the
/// extras: best price break, shared set-up, no copper beyond the least, no unit lost to the proof.
double floor_cost(const Brief& brief, const std::vector<CostLine>& lines);

/// The least price of a piece at any quantity. The part must have a price.
double best_price(const Part& part);
/// What the pieces of one line cost, over all boards, if it is an order of its own; those for the
/// attrition and for reaching a price included.
double order_money(const Brief& brief, const CostLine& line);
/// Share of boards that are soundly soldered, Y at a unit_yield of one.
double board_yield(const Brief& brief, const std::vector<CostLine>& lines);

/// A looser bound, but a sum: floor_base(brief, n) plus the floor_share of every line is never
/// above landed_cost, if at least `n` of the parts differ. floor_cost is no sum over lines, as a
/// part in two roles is set up once: a search that visits candidates by replacing one part after
/// another needs this one, where a dearer share can never lower the bound.
/// `joints`: that the board is known to have at the least.
double floor_base(const Brief& brief, int different_parts, bool chip = false, int joints = 0);
double floor_share(const Brief& brief, const CostLine& line);
/// A nearer share, for a line whose pieces are known to cost so much a board at the least, of a
/// board that is known to have so many joints.
double floor_share(const Brief& brief, const CostLine& line, double pieces, int joints);
int joints_of(const CostLine& line);

}  // namespace pb
