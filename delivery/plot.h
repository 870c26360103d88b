// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Plots as SVG: lines over a common axis, the ladder of a cost, the bar of a margin. Colours come
// from the page (--trace-1 and so on) with fallbacks that colour-blind readers tell apart; dashes
// tell the lines apart without any colour. Tested by tests/unit/delivery_plot.cpp.
#pragma once

#include <string>
#include <vector>

namespace pb::delivery {

struct Trace {
  std::string name;
  std::vector<double> y;  // one a point of the plot's x
};

struct LinePlot {
  std::string title, x_name, x_unit, y_name, y_unit;  // units as with_unit() takes them
  std::vector<double> x;                              // rising
  std::vector<Trace> traces;
};

/// At most about 800 points a trace; every column of the picture keeps its least and greatest
/// value, so no spike is lost.
std::string line_plot_svg(const LinePlot& plot);

/// Indices kept of `y`: ends, and the least and greatest of every stretch.
std::vector<std::size_t> decimated(const std::vector<double>& y, std::size_t stretches);

struct Step {
  std::string name;
  double amount = 0;
};
/// One bar an amount, each beginning where the one above ends, and their sum.
std::string ladder_svg(const std::string& title, const std::vector<Step>& steps,
                       const std::string& currency);

/// A bar from the limit (0) to the margin, cut at -100 % and +100 %.
std::string margin_svg(double margin);

/// Round positions for the marks of an axis, about `wanted` of them, inside [low, high].
std::vector<double> axis_marks(double low, double high, int wanted);

}  // namespace pb::delivery
