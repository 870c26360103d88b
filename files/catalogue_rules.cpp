// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/catalogue_rules.h"

#include "base/check.h"
#include "base/quantity.h"

namespace pb {
namespace {

constexpr FigureOrder kOrders[] = {
    {"threshold_min", "threshold_max"},
    {"threshold_min", "threshold_typ"},
    {"threshold_typ", "threshold_max"},
    {"rds_typ", "rds_max"},
    {"rds_high_max", "rds_max"},  // more gate voltage never makes a switch worse
    {"rds_gate", "rds_high_gate", true},
    {"rds_gate", "vgs_max"},
    {"crss", "coss"},  // C_oss = C_ds + C_gd, C_iss = C_gs + C_gd: each holds C_rss
    {"crss", "ciss"},
    {"hfe_min", "hfe_max"},
    {"hfe_min", "hfe_typ"},
    {"hfe_typ", "hfe_max"},
    {"ic_sat", "ic_max"},
    {"zz", "zzk"},
    {"izk", "iz_test", true},
    {"ir_max", "ir_hot_max"},
    {"if_low", "if_high", true},
    {"vf_low_typ", "vf_high_max"},
    {"if_max", "if_surge"},
    {"undervoltage", "supply_min"},
    {"supply_min", "supply_max", true},
    {"input_low_max", "input_high_min", true},
    {"input_high_min", "input_max"},
    {"on_resistance_typ", "on_resistance_max"},
};

}  // namespace

std::vector<FigureOrder> broken_orders(const Part& part) {
  std::vector<FigureOrder> out;
  const PartClass* c = find_part_class(part.part_class);
  PB_CHECK(c != nullptr, part.part_class);
  for (const FigureOrder& order : kOrders) {
    const int low = figure_index(*c, order.low), high = figure_index(*c, order.high);
    if (low < 0 || high < 0) continue;
    const double a = part.figures[static_cast<std::size_t>(low)];
    const double b = part.figures[static_cast<std::size_t>(high)];
    if (!given(a) || !given(b)) continue;
    if (a > b || (order.strictly && a == b)) out.push_back(order);
  }
  return out;
}

std::string expected_of(const Part& part, const FigureOrder& order, Dim dim) {
  return std::string(order.strictly ? "less than " : "at most ") + std::string(order.high) + " " +
         format_quantity(figure(part, order.high), dim, 6);
}

}  // namespace pb
