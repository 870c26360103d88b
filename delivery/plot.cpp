// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/plot.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "base/quantity.h"
#include "base/text.h"
#include "delivery/plot_style.h"
#include "delivery/svg.h"
#include "delivery/values.h"

namespace pb::delivery {
namespace {

// Four inks that differ in lightness as much as in hue, so that they stay apart for readers who see
// no red or no green, and on a grey printer; with a dash each.
constexpr const char* kInks[] = {"var(--trace-1, #14507e)", "var(--trace-2, #b4540a)",
                                 "var(--trace-3, #3d8f86)", "var(--trace-4, #7a2e6d)"};
constexpr const char* kDashes[] = {"", "7 3", "2 3", "9 3 2 3"};
constexpr std::size_t kInkCount = std::size(kInks);

constexpr double kWidth = 760, kHeight = 250, kLeft = 84, kRight = 14, kTop = 30, kBottom = 44;
constexpr std::size_t kStretches = 400;  // two points each

Range range_of(const LinePlot& plot) {
  Range r;
  for (const Trace& t : plot.traces)
    for (double v : t.y) r.include(v);
  if (!r.any()) r = {0, 1};
  r.widen(0.05);
  return r;
}

struct Frame {
  Range x, y;
  XY at(double px, double py) const {
    return {kLeft + (px - x.low) / (x.high - x.low) * (kWidth - kLeft - kRight),
            kHeight - kBottom - (py - y.low) / (y.high - y.low) * (kHeight - kTop - kBottom)};
  }
};

void draw_axes(Svg& svg, const LinePlot& plot, const Frame& f) {
  svg.open_group("stroke=\"var(--rule, #888)\" stroke-width=\"0.6\" fill=\"none\"");
  const double scale = shown_scale(plot.y_unit);  // round numbers are round in the unit shown
  for (double shown : axis_marks(f.y.low * scale, f.y.high * scale, 5)) {
    const double v = shown / scale;
    const double y = f.at(f.x.low, v).y;
    svg.line({kLeft, y}, {kWidth - kRight, y});
    svg.text({kLeft - 6, y + 4}, with_unit(v, plot.y_unit), kPlotText, Anchor::end, kTextStyle);
  }
  for (double v : axis_marks(f.x.low, f.x.high, 6)) {
    const double x = f.at(v, f.y.low).x;
    svg.line({x, kHeight - kBottom}, {x, kHeight - kBottom + 5});
    svg.text({x, kHeight - kBottom + 18}, with_unit(v, plot.x_unit, 4), kPlotText, Anchor::middle,
             kTextStyle);
  }
  svg.rect(kLeft, kTop, kWidth - kLeft - kRight, kHeight - kTop - kBottom);
  svg.close_group();
  svg.text({(kLeft + kWidth - kRight) / 2, kHeight - 6}, plot.x_name, kPlotText, Anchor::middle,
           kTextStyle);
  svg.text({4, 16}, plot.y_name, kPlotText, Anchor::start, kTextStyle);
}

void draw_trace(Svg& svg, const LinePlot& plot, const Trace& trace, const Frame& f,
                const Paint& paint) {
  std::vector<XY> points;
  const auto flush = [&] {
    if (points.size() > 1) svg.polyline(points, paint);
    points.clear();
  };
  for (const std::size_t i : decimated(trace.y, kStretches)) {
    if (i < plot.x.size() && std::isfinite(trace.y[i]))
      points.push_back(f.at(plot.x[i], trace.y[i]));
    else
      flush();
  }
  flush();
}

}  // namespace

std::vector<double> axis_marks(double low, double high, int wanted) {
  std::vector<double> out;
  if (!(high > low) || !std::isfinite(high - low)) return out;
  const double rough = (high - low) / wanted;
  const double decade = std::pow(10.0, std::floor(std::log10(rough)));
  double step = 10 * decade;
  for (const double m : {1.0, 2.0, 5.0})
    if (m * decade >= rough) {
      step = m * decade;
      break;
    }
  for (double k = std::ceil(low / step); k * step <= high && out.size() < 100; ++k)
    out.push_back(k == 0 ? 0.0 : k * step);
  return out;
}

std::vector<std::size_t> decimated(const std::vector<double>& y, std::size_t stretches) {
  std::vector<std::size_t> out;
  if (y.size() <= 2 * stretches) {
    for (std::size_t i = 0; i < y.size(); ++i) out.push_back(i);
    return out;
  }
  for (std::size_t k = 0; k < stretches; ++k) {
    const std::size_t from = k * y.size() / stretches, to = (k + 1) * y.size() / stretches;
    std::size_t low = from, high = from;
    for (std::size_t i = from; i < to; ++i) {
      if (y[i] < y[low]) low = i;
      if (y[i] > y[high]) high = i;
    }
    out.push_back(std::min(low, high));
    if (low != high) out.push_back(std::max(low, high));
  }
  if (out.front() != 0) out.insert(out.begin(), 0);
  if (out.back() != y.size() - 1) out.push_back(y.size() - 1);
  return out;
}

std::string line_plot_svg(const LinePlot& plot) {
  Svg svg(0, 0, kWidth, kHeight, plot.title, kPlotClass);
  Frame f{{}, range_of(plot)};
  for (double v : plot.x) f.x.include(v);
  if (!f.x.any() || f.x.low == f.x.high) f.x = {0, 1};
  draw_axes(svg, plot, f);
  double x = kWidth - kRight;
  for (std::size_t i = plot.traces.size(); i-- > 0;) {  // the legend grows from the right
    const Paint paint{kInks[i % kInkCount], "none", kDashes[i % kInkCount], 1.5};
    draw_trace(svg, plot, plot.traces[i], f, paint);
    if (plot.traces.size() < 2) continue;
    svg.text({x, 16}, plot.traces[i].name, kPlotText, Anchor::end, kTextStyle);
    x -= 0.62 * kPlotText * static_cast<double>(plot.traces[i].name.size()) + 8;
    svg.line({x - 26, 12}, {x, 12}, paint);
    x -= 42;
  }
  return svg.finish();
}

std::string ladder_svg(const std::string& title, const std::vector<Step>& steps,
                       const std::string& currency) {
  constexpr double kRowHeight = 24, kNames = 130, kBars = 480, kNumbers = 140;
  double total = 0;
  for (const Step& s : steps) total += s.amount;
  const double scale = total > 0 ? kBars / total : 0;
  const double height = kRowHeight * static_cast<double>(steps.size() + 1) + 6;
  Svg svg(0, 0, kNames + kBars + kNumbers, height, title, kPlotClass);
  double done = 0, y = 0;
  const auto row = [&](const std::string& name, double from, double amount, const char* ink) {
    svg.text({kNames - 8, y + 16}, name, kPlotText, Anchor::end, kTextStyle);
    svg.rect(kNames + from * scale, y + 4, std::max(amount * scale, 0.6), kRowHeight - 8,
             {"none", ink, "", 0});
    svg.text({kNames + (from + amount) * scale + 6, y + 16}, money(amount, currency), kPlotText,
             Anchor::start, kTextStyle);
    y += kRowHeight;
  };
  for (const Step& s : steps) {
    row(s.name, done, s.amount, kInks[0]);
    done += s.amount;
  }
  row("total", 0, total, kInks[1]);
  return svg.finish();
}

std::string margin_svg(double margin) {
  constexpr double kHalf = 60, kHigh = 12;
  const double cut = std::isfinite(margin) ? std::clamp(margin, -1.0, 1.0) : 0;
  Svg svg(0, 0, 2 * kHalf, kHigh, "margin " + format_percent(margin), "class=\"margin\"");
  svg.rect(cut < 0 ? kHalf + cut * kHalf : kHalf, 2, std::max(std::abs(cut) * kHalf, 0.8),
           kHigh - 4, {"none", cut < 0 ? "var(--bad, #a11d1d)" : "var(--good, #14507e)", "", 0});
  svg.line({kHalf, 0}, {kHalf, kHigh}, {"currentColor", "", "", 1});
  return svg.finish();
}

}  // namespace pb::delivery
