// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/cost_plots.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "delivery/plot.h"
#include "delivery/plot_style.h"
#include "delivery/svg.h"
#include "delivery/values.h"

namespace pb::delivery {
namespace {

constexpr const char* kGrid = "stroke=\"var(--rule, #888)\" stroke-width=\"0.6\" fill=\"none\"";

/// A rectangle of the picture and what it shows.
struct Frame {
  double left, top, right, bottom;
  Range x, y;
  XY at(double px, double py) const {
    return {left + (px - x.low) / (x.high - x.low) * (right - left),
            bottom - (py - y.low) / (y.high - y.low) * (bottom - top)};
  }
};

/// 1, 2 and 5 of every decade between two logarithms.
std::vector<double> round_numbers(double low, double high) {
  std::vector<double> out;
  for (int decade = static_cast<int>(std::floor(low)); decade <= static_cast<int>(std::ceil(high));
       ++decade)
    for (double digit : {1.0, 2.0, 5.0}) {
      const double v = digit * std::pow(10.0, decade);
      if (std::log10(v) >= low && std::log10(v) <= high) out.push_back(v);
    }
  return out;
}

void frame_of(Svg& svg, const Frame& f) {
  svg.rect(f.left, f.top, f.right - f.left, f.bottom - f.top);
}

void mark_x(Svg& svg, const Frame& f, double at, const std::string& label) {
  const double x = f.at(at, f.y.low).x;
  svg.line({x, f.bottom}, {x, f.bottom + 5});
  svg.text({x, f.bottom + 18}, label, kPlotText, Anchor::middle, kTextStyle);
}

void mark_y(Svg& svg, const Frame& f, double at, const std::string& label) {
  const double y = f.at(f.x.low, at).y;
  svg.line({f.left, y}, {f.right, y});
  svg.text({f.left - 6, y + 4}, label, kPlotText, Anchor::end, kTextStyle);
}

double shown(const Cost& c, bool with_one_off) {
  return with_one_off ? c.total : c.total - c.one_off;
}

/// Names at the right end, moved apart where lines end close together.
void label_ends(Svg& svg, std::vector<std::pair<double, std::string>> ends, double x) {
  std::stable_sort(ends.begin(), ends.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  double below = -std::numeric_limits<double>::infinity();
  for (const auto& [y, name] : ends) {
    const double at = std::max(y, below + kPlotText + 2);
    svg.text({x, at + 4}, name, kPlotText, Anchor::start, kTextStyle);
    below = at;
  }
}

}  // namespace

std::string price_ladder_svg(const PriceLadder& ladder, const std::string& currency,
                             bool with_one_off) {
  constexpr double kWidth = 760, kHeight = 300;
  constexpr const char* kInks[] = {"var(--trace-1, #14507e)", "var(--trace-2, #b4540a)",
                                   "var(--trace-3, #3d8f86)", "var(--trace-4, #7a2e6d)"};
  constexpr const char* kDashes[] = {"", "7 3", "2 3", "9 3 2 3", "4 2"};
  Frame f{70, 24, kWidth - 240, kHeight - 44, {}, {}};
  for (double q : ladder.quantities) f.x.include(std::log10(q));
  for (const LadderLine& line : ladder.lines)
    if (line.passes)
      for (const Cost& c : line.costs) f.y.include(std::log10(shown(c, with_one_off)));
  f.y.widen(0.08);
  Svg svg(0, 0, kWidth, kHeight,
          std::string("Landed cost over quantity, ") + (with_one_off ? "with" : "without") +
              " one-off work",
          kPlotClass);
  svg.open_group(kGrid);
  for (double v : round_numbers(f.y.low, f.y.high))
    mark_y(svg, f, std::log10(v), significant(v, 2));
  for (double q : ladder.quantities)
    if (const double digit = std::log10(q); digit == std::round(digit))
      mark_x(svg, f, digit, significant(q, 9));
  frame_of(svg, f);
  svg.close_group();
  std::vector<std::pair<double, std::string>> ends;
  std::size_t k = 0;
  for (const LadderLine& line : ladder.lines) {
    if (!line.passes) continue;
    std::vector<XY> points;
    points.reserve(line.costs.size());
    for (std::size_t i = 0; i < line.costs.size(); ++i)
      points.push_back(
          f.at(std::log10(ladder.quantities[i]), std::log10(shown(line.costs[i], with_one_off))));
    svg.polyline(points, {kInks[k % std::size(kInks)], "none", kDashes[k % std::size(kDashes)],
                          line.bought ? 1.3 : 2.4});
    ends.emplace_back(points.back().y, line.name);
    ++k;
  }
  label_ends(svg, std::move(ends), f.right + 8);
  svg.text({(f.left + f.right) / 2, kHeight - 6}, "boards made", kPlotText, Anchor::middle,
           kTextStyle);
  svg.text({4, 16}, currency + " a board", kPlotText, Anchor::start, kTextStyle);
  return svg.finish();
}

std::string tornado_svg(const std::vector<TornadoBar>& bars, double cost,
                        const std::string& currency) {
  constexpr double kRow = 24, kNames = 190, kBars = 380, kEnds = 95;
  Range r;
  r.include(cost);
  for (const TornadoBar& b : bars) r.include(b.cost_low), r.include(b.cost_high);
  r.widen(0.08);
  const double left = kNames + kEnds, height = kRow * static_cast<double>(bars.size()) + 26;
  const auto x_of = [&](double v) { return left + (v - r.low) / (r.high - r.low) * kBars; };
  Svg svg(0, 0, left + kBars + kEnds, height, "What the landed cost hangs on", kPlotClass);
  double y = 20;
  for (const TornadoBar& b : bars) {
    const double least = std::min(b.cost_low, b.cost_high);
    const double most = std::max(b.cost_low, b.cost_high);
    svg.text({kNames - 8, y + 16},
             b.input + ", x " + significant(b.low, 2) + " to " + significant(b.high, 2), kPlotText,
             Anchor::end, kTextStyle);
    svg.rect(x_of(least), y + 4, std::max(x_of(cost) - x_of(least), 0.6), kRow - 8,
             {"none", "var(--trace-1, #14507e)", "", 0});
    svg.rect(x_of(cost), y + 4, std::max(x_of(most) - x_of(cost), 0.6), kRow - 8,
             {"none", "var(--trace-2, #b4540a)", "", 0});
    svg.text({x_of(least) - 5, y + 16}, money(least, currency), kPlotText, Anchor::end, kTextStyle);
    svg.text({x_of(most) + 5, y + 16}, money(most, currency), kPlotText, Anchor::start, kTextStyle);
    y += kRow;
  }
  svg.line({x_of(cost), 16}, {x_of(cost), height - 4}, {"currentColor", "", "", 1});
  svg.text({x_of(cost), 12}, money(cost, currency), kPlotText, Anchor::middle, kTextStyle);
  return svg.finish();
}

std::string dots_svg(const Dots& dots, const std::string& currency) {
  constexpr double kWidth = 380, kHeight = 220, kRadius = 9;
  Frame f{70, 24, kWidth - 14, kHeight - 44, {}, {}};
  for (double v : dots.cost) f.x.include(v);
  for (double v : dots.y) f.y.include(v);
  f.x.widen(0.08);
  f.y.widen(0.08);
  Svg svg(0, 0, kWidth, kHeight, dots.title, kPlotClass);
  svg.open_group(kGrid);
  for (double v : axis_marks(f.y.low, f.y.high, 4)) mark_y(svg, f, v, with_unit(v, dots.y_unit));
  for (double v : axis_marks(f.x.low, f.x.high, 3)) mark_x(svg, f, v, significant(v, 3));
  frame_of(svg, f);
  svg.close_group();
  for (std::size_t k = 0; k < dots.cost.size() && k < dots.y.size(); ++k) {
    if (!std::isfinite(dots.cost[k]) || !std::isfinite(dots.y[k])) continue;
    const XY at = f.at(dots.cost[k], dots.y[k]);
    svg.circle(at, kRadius, {"var(--trace-1, #14507e)", "var(--panel, #f1f2ee)", "", 1.5});
    svg.text({at.x, at.y + 4}, std::to_string(k + 1), kPlotText - 1, Anchor::middle, kTextStyle);
  }
  svg.text({(f.left + f.right) / 2, kHeight - 6}, currency + " a board", kPlotText, Anchor::middle,
           kTextStyle);
  svg.text({4, 16}, dots.y_name, kPlotText, Anchor::start, kTextStyle);
  return svg.finish();
}

}  // namespace pb::delivery
