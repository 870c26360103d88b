// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/plot.h"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "delivery/values.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

TEST(DeliveryPlot, DecimationKeepsEverySpikeAndBothEnds) {
  std::vector<double> y(100000, 0.0);
  y[12345] = 7;
  y[54321] = -9;
  const auto kept = decimated(y, 400);
  EXPECT_LE(kept.size(), 802u);
  EXPECT_TRUE(std::is_sorted(kept.begin(), kept.end()));
  EXPECT_EQ(std::adjacent_find(kept.begin(), kept.end()), kept.end());
  EXPECT_EQ(kept.front(), 0u);
  EXPECT_EQ(kept.back(), y.size() - 1);
  for (const std::size_t spike : {12345u, 54321u})
    EXPECT_NE(std::find(kept.begin(), kept.end(), spike), kept.end());
  EXPECT_EQ(decimated({1, 2, 3}, 400).size(), 3u);
  EXPECT_TRUE(decimated({}, 400).empty());
}

TEST(DeliveryPlot, MarksAreRoundAndInside) {
  EXPECT_EQ(axis_marks(-0.1, 10.3, 5), (std::vector<double>{0, 5, 10}));
  for (const double scale : {1e-9, 1e-3, 1.0, 1e6}) {
    const auto marks = axis_marks(-1.7 * scale, 2.9 * scale, 5);
    ASSERT_GE(marks.size(), 2u);
    EXPECT_LE(marks.size(), 6u);
    EXPECT_GE(marks.front(), -1.7 * scale);
    EXPECT_LE(marks.back(), 2.9 * scale);
  }
  EXPECT_TRUE(axis_marks(1, 1, 5).empty());
  EXPECT_TRUE(axis_marks(0, INFINITY, 5).empty());
}

TEST(DeliveryPlot, EachTraceIsALineInsideThePicture) {
  LinePlot plot{"title", "time", "s", "current", "A", {}, {{"a<b", {}}, {"b", {}}}};
  for (int i = 0; i < 5000; ++i) {
    plot.x.push_back(i * 1e-4);
    plot.traces[0].y.push_back(std::sin(i * 0.01));
    plot.traces[1].y.push_back(i == 100 ? NAN : 0.5);
  }
  int lines = 0;
  for (const auto& e : test::read_markup(line_plot_svg(plot))) {
    EXPECT_EQ(e.text.find('<'), std::string::npos);
    if (e.name != "polyline") continue;
    ++lines;
    double x = 0, y = 0;
    const char* at = e.attributes.at("points").c_str();
    for (int used = 0; std::sscanf(at, "%lf,%lf %n", &x, &y, &used) == 2; at += used) {
      EXPECT_TRUE(x >= 0 && x <= 760 && y >= 0 && y <= 250) << x << ',' << y;
    }
  }
  EXPECT_GE(lines, 2);
}

TEST(DeliveryPlot, EmptyFlatAndStrangeDataDraw) {
  test::read_markup(line_plot_svg({"t", "x", "s", "y", "V", {}, {}}));
  test::read_markup(line_plot_svg({"t", "x", "s", "y", "V", {0, 1}, {{"a", {0, 0}}}}));
  test::read_markup(
      line_plot_svg({"t", "x", "s", "y", "V", {0, 1, 2}, {{"a", {NAN, INFINITY, 1e300}}}}));
  test::read_markup(margin_svg(NAN));
  test::read_markup(ladder_svg("t", {}, "USD"));
}

TEST(DeliveryPlot, LadderRowsBeginWhereTheLastEnded) {
  std::vector<std::pair<double, double>> bars;
  for (const auto& e : test::read_markup(ladder_svg("t", {{"a", 0.1}, {"b", 0.3}}, "USD")))
    if (e.name == "rect")
      bars.emplace_back(std::stod(e.attributes.at("x")), std::stod(e.attributes.at("width")));
  ASSERT_EQ(bars.size(), 3u);
  EXPECT_NEAR(bars[1].first, bars[0].first + bars[0].second, 2e-3);
  EXPECT_NEAR(bars[1].second, 3 * bars[0].second, 5e-3);
  EXPECT_NEAR(bars[2].second, bars[0].second + bars[1].second, 5e-3);
}

TEST(DeliveryValues, EngineeringNotationWhateverTheUnit) {
  EXPECT_EQ(with_unit(0.35, "A"), "350 mA");
  EXPECT_EQ(with_unit(47e-6, "F"), "47 µF");
  EXPECT_EQ(with_unit(0.125, "N m"), "125 mN·m");
  EXPECT_EQ(with_unit(85, "degC"), "85 °C");
  EXPECT_EQ(with_unit(0.41, "1"), "0.41");
  EXPECT_EQ(with_unit(3, "furlong"), "3 furlong");
  EXPECT_EQ(with_unit(NAN, "V"), "not known");
  EXPECT_EQ(money(0.0185, "USD"), "0.0185 USD");
  EXPECT_EQ(money(12.5, "USD"), "12.50 USD");
  EXPECT_EQ(money(0.004, ""), "0.004");
  EXPECT_EQ(money(0, "USD"), "0.00 USD");
  EXPECT_TRUE(ref_before("Q2", "Q10"));
  EXPECT_TRUE(ref_before("D10", "Q2"));
  EXPECT_FALSE(ref_before("Q10", "Q2"));
}

}  // namespace
}  // namespace pb::delivery
