// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <cmath>

#include "judgement/cost.h"
#include "tests/book/topics.h"

namespace pb::book {
namespace {

const Source kHand{"worked by hand from the rules at the head of judgement/cost.h",
                   Basis::closed_form};

Part priced(std::string number, std::string package, std::vector<PriceBreak> breaks,
            double multiple = 1) {
  Part p;
  p.number = std::move(number);
  p.part_class = "resistor";
  p.package = std::move(package);
  p.price_breaks = std::move(breaks);
  p.multiple = multiple;
  return p;
}

/// 500 boards, 3 % lost: six SOT-23 in two roles, ten 0603, one electrolytic with leads.
Cost board() {
  Brief b;
  b.build.quantity = 500;
  b.build.currency = "USD";
  b.build.attrition = 0.03;
  b.build.placement_smd = 0.01;
  b.build.placement_tht = 0.08;
  b.build.setup_per_line = 8;
  b.build.board_cost_area_1_m2 = 200;
  b.build.test_time_s = 6;
  b.build.test_rate_1_s = 0.01;
  b.build.one_off = 1500;
  b.build.joint_defects = 40e-6;
  const Part t = priced("t", "SOT-23", {{1, 0.10}, {1000, 0.04}, {5000, 0.02}}),
             r = priced("r", "0603", {{1, 0.002}}, 1000),
             c = priced("c", "RADIAL-6.3", {{1, 0.08}});
  return landed_cost(b, {{&t, 4}, {&r, 10}, {&c, 1}, {&t, 2}}, {.unit_yield = 0.995});
}

// Transistors: 3090 needed; 3090 at 0.04 are 123.60, 5000 at 0.02 are 100.00, so 5000 are bought.
// Resistors: 5150 needed, sold by the thousand: 6000 at 0.002 are 12.00.
// Capacitors: 515 at 0.08 are 41.20.
constexpr double kParts = 6 * 0.02 + 10 * 0.002 + 0.08,
                 kLost = (100.0 + 12.0 + 41.2) / 500 - kParts, kPlaced = 16 * 0.01 + 0.08,
                 kArea = 2 * (6 * 3.5 * 3.8 + 10 * 1.5 * 3.0 + 6.9 * 6.9) * 1e-6 * 200,
                 kTest = 0.06, kThrownAway = kParts + kLost + kPlaced + kArea + kTest;

double scrap_by_hand() {
  const double good = 0.995 * std::pow(1 - 40e-6, 6 * 3 + 10 * 2 + 2);
  return kThrownAway * (1 / good - 1);
}

}  // namespace

Topic money() {
  struct Item {
    const char *id, *claim;
    double expected, Cost::*item;
  };
  Topic t{
      "Landed cost", "One board worked by hand; arithmetic, but the kind that is got wrong.", {}};
  for (const Item& i :
       {Item{"cost-parts", "Parts, at the break that is worth buying up to", kParts, &Cost::parts},
        Item{"cost-attrition", "Parts lost, and bought to reach a break or a whole reel", kLost,
             &Cost::attrition},
        Item{"cost-area", "Board area", kArea, &Cost::area},
        Item{"cost-scrap", "Scrap at 40 joints and 99.5 % good units", scrap_by_hand(),
             &Cost::scrap},
        Item{"cost-total", "All of a board at 500 pieces",
             kThrownAway + 3 * 8.0 / 500 + 1500.0 / 500 + scrap_by_hand(), &Cost::total}})
    t.rows.push_back({i.id, i.claim, kHand, i.expected, "USD", within(1e-9),
                      [i](const Skew&) { return board().*i.item; }});
  return t;
}

}  // namespace pb::book
