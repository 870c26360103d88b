// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/cost_plots.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>

#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

std::vector<std::pair<double, double>> points_of(const std::string& text) {
  std::vector<std::pair<double, double>> out;
  double x = 0, y = 0;
  const char* at = text.c_str();
  for (int used = 0; std::sscanf(at, "%lf,%lf %n", &x, &y, &used) == 2; at += used)
    out.emplace_back(x, y);
  return out;
}

PriceLadder ladder() {
  PriceLadder out;
  out.quantities = {100, 1000, 10000};
  for (const bool bought : {false, true}) {
    LadderLine line;
    line.name = bought ? "chip <x>" : "own";
    line.bought = bought;
    for (double q : out.quantities) {
      Cost c;
      c.one_off = bought ? 0 : 3000 / q;
      c.total = (bought ? 0.7 : 0.3) + c.one_off;
      line.costs.push_back(c);
    }
    out.lines.push_back(line);
  }
  return out;
}

TEST(DeliveryCostPlots, LadderFallsWithQuantityAndIsFlatWithoutOneOff) {
  for (const bool with : {true, false}) {
    std::vector<std::vector<std::pair<double, double>>> lines;
    for (const auto& e : test::read_markup(price_ladder_svg(ladder(), "USD", with)))
      if (e.name == "polyline") lines.push_back(points_of(e.attributes.at("points")));
    ASSERT_EQ(lines.size(), 2u);
    ASSERT_EQ(lines[0].size(), 3u);
    EXPECT_LT(lines[0][0].first, lines[0][2].first);
    if (with)
      EXPECT_LT(lines[0][0].second, lines[0][2].second - 20);  // dearer is higher up
    else
      EXPECT_NEAR(lines[0][0].second, lines[0][2].second, 0.01);
    EXPECT_GT(lines[0][2].second, lines[1][2].second);  // cheaper than the chip in the end
  }
}

TEST(DeliveryCostPlots, LadderLeavesOutWhatDoesNotPass) {
  PriceLadder l = ladder();
  l.lines[1].passes = false;
  int lines = 0;
  for (const auto& e : test::read_markup(price_ladder_svg(l, "USD", true)))
    lines += e.name == "polyline";
  EXPECT_EQ(lines, 1);
}

TEST(DeliveryCostPlots, TornadoBarsMeetAtTheCost) {
  const std::vector<TornadoBar> bars = {{"one-off", 0.5, 2, 3000, "once", 1, 4},
                                        {"quantity", 0.5, 2, 1000, "pieces", 3, 1.5}};
  std::vector<std::pair<double, double>> spans;
  for (const auto& e : test::read_markup(tornado_svg(bars, 2, "USD"))) {
    if (e.name != "rect") continue;
    const double x = std::stod(e.attributes.at("x"));
    spans.emplace_back(x, x + std::stod(e.attributes.at("width")));
  }
  ASSERT_EQ(spans.size(), 4u);
  for (int k : {0, 2}) EXPECT_NEAR(spans[k].second, spans[k + 1].first, 0.01);
  EXPECT_NEAR(spans[0].second, spans[2].second, 0.01);
  // One unit of money is as long in every bar: 1 below and 2 above, 0.5 below and 1 above.
  const double unit = spans[0].second - spans[0].first;
  EXPECT_NEAR(spans[1].second - spans[1].first, 2 * unit, 0.01);
  EXPECT_NEAR(spans[2].second - spans[2].first, 0.5 * unit, 0.01);
  EXPECT_NEAR(spans[3].second - spans[3].first, unit, 0.01);
}

TEST(DeliveryCostPlots, EveryFiniteDotIsDrawnInside) {
  const Dots dots{"t", "heat", "degC", {0.3, 0.4, NAN}, {80, 60, 50}};
  int circles = 0;
  for (const auto& e : test::read_markup(dots_svg(dots, "USD"))) {
    if (e.name != "circle") continue;
    ++circles;
    const double x = std::stod(e.attributes.at("cx")), y = std::stod(e.attributes.at("cy"));
    EXPECT_TRUE(x > 70 && x < 380 && y > 20 && y < 220) << x << ',' << y;
  }
  EXPECT_EQ(circles, 2);
}

}  // namespace
}  // namespace pb::delivery
