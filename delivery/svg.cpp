// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The SVG writer.
#include "delivery/svg.h"

#include <cmath>

#include <fmt/format.h>

#include "base/check.h"
#include "base/text.h"

namespace pb::delivery {
namespace {

/// Length of the well-formed UTF-8 character at the start of `text`, or 0.
std::size_t character_length(std::string_view text) {
  for (std::size_t n = 1; n <= 4 && n <= text.size(); ++n)
    if (is_utf8(text.substr(0, n))) return n;
  return 0;
}

std::string points_text(const std::vector<XY>& points) {
  std::string out;
  for (const XY& p : points)
    out += (out.empty() ? "" : " ") + svg_number(p.x) + "," + svg_number(p.y);
  return out;
}

std::string attribute(std::string_view name, double value) {
  return fmt::format(" {}=\"{}\"", name, svg_number(value));
}

}  // namespace

std::string escape_markup(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t n = character_length(text.substr(i));
    const char c = text[i];
    if (n == 0) {
      out += "\xEF\xBF\xBD";
    } else if (n > 1) {
      out += text.substr(i, n);
    } else if (c == '&') {
      out += "&amp;";
    } else if (c == '<') {
      out += "&lt;";
    } else if (c == '>') {
      out += "&gt;";
    } else if (c == '"') {
      out += "&quot;";
    } else if (c == '\'') {
      out += "&#39;";
    } else {
      out += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? ' ' : c;
    }
    i += n == 0 ? 1 : n;
  }
  return out;
}

std::string svg_number(double x) {
  if (!std::isfinite(x)) return "0";
  std::string out = fmt::format("{:.3f}", x);
  while (out.back() == '0') out.pop_back();
  if (out.back() == '.') out.pop_back();
  return out == "-0" ? "0" : out;
}

Svg::Svg(double left, double top, double width, double height, std::string_view title,
         std::string_view extra) {
  const std::string name = escape_markup(title);
  out_ = fmt::format(
      "<svg viewBox=\"{} {} {} {}\" role=\"img\" aria-label=\"{}\"{}{}>\n<title>{}</title>\n",
      svg_number(left), svg_number(top), svg_number(width), svg_number(height), name,
      extra.empty() ? "" : " ", extra, name);
}

void Svg::shape(std::string_view element, const std::string& attributes, const Paint& paint) {
  out_ += fmt::format("<{}{}", element, attributes);
  if (!paint.stroke.empty()) out_ += fmt::format(" stroke=\"{}\"", paint.stroke);
  if (!paint.fill.empty()) out_ += fmt::format(" fill=\"{}\"", paint.fill);
  if (!paint.dash.empty()) out_ += fmt::format(" stroke-dasharray=\"{}\"", paint.dash);
  if (paint.width > 0) out_ += attribute("stroke-width", paint.width);
  out_ += "/>\n";
}

void Svg::line(XY a, XY b, const Paint& paint) {
  shape("line",
        attribute("x1", a.x) + attribute("y1", a.y) + attribute("x2", b.x) + attribute("y2", b.y),
        paint);
}

void Svg::polyline(const std::vector<XY>& points, const Paint& paint) {
  shape("polyline", " points=\"" + points_text(points) + "\"", paint);
}

void Svg::polygon(const std::vector<XY>& points, const Paint& paint) {
  shape("polygon", " points=\"" + points_text(points) + "\"", paint);
}

void Svg::rect(double x, double y, double width, double height, const Paint& paint) {
  shape("rect",
        attribute("x", x) + attribute("y", y) + attribute("width", width) +
            attribute("height", height),
        paint);
}

void Svg::circle(XY centre, double radius, const Paint& paint) {
  shape("circle", attribute("cx", centre.x) + attribute("cy", centre.y) + attribute("r", radius),
        paint);
}

void Svg::path(std::string_view d, const Paint& paint) {
  shape("path", fmt::format(" d=\"{}\"", d), paint);
}

void Svg::text(XY at, std::string_view content, double size, Anchor anchor,
               std::string_view attributes) {
  static constexpr std::string_view kAnchors[] = {"start", "middle", "end"};
  out_ += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\"{}{}>{}</text>\n",
                      svg_number(at.x), svg_number(at.y), svg_number(size),
                      kAnchors[static_cast<int>(anchor)], attributes.empty() ? "" : " ", attributes,
                      escape_markup(content));
}

void Svg::open_group(std::string_view attributes) {
  out_ += fmt::format("<g {}>\n", attributes);
  ++open_;
}

void Svg::close_group() {
  PB_CHECK(open_ > 0, open_);
  out_ += "</g>\n";
  --open_;
}

std::string Svg::finish() {
  PB_CHECK(open_ == 0, open_);
  out_ += "</svg>\n";
  return std::move(out_);
}

}  // namespace pb::delivery
