// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Plots of money as SVG: cost over quantity, what the cost hangs on, cost against what it buys.
// Inks and dashes are those of plot.h. Tested by tests/unit/delivery_cost_plots.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/cost_study.h"

namespace pb::delivery {

/// Both axes logarithmic; a line a board, its number at the right end. Lines of boards that do not
/// pass are left out.
std::string price_ladder_svg(const PriceLadder& ladder, const std::string& currency,
                             bool with_one_off);

/// A bar an input from the least to the greatest cost, about the cost at the brief's own figures.
std::string tornado_svg(const std::vector<TornadoBar>& bars, double cost,
                        const std::string& currency);

/// One dot a design, numbered in the order given; less is better both ways.
struct Dots {
  std::string title, y_name, y_unit;
  std::vector<double> cost, y;
};
std::string dots_svg(const Dots& dots, const std::string& currency);

}  // namespace pb::delivery
