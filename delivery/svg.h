// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A small writer of SVG 1.1, and the one place where text is made safe for HTML and XML. Whatever
// comes from a file goes through escape_markup(). Tested by tests/unit/delivery_svg.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace pb::delivery {

/// With & < > " ' as entities, ill-formed UTF-8 as U+FFFD and control characters as spaces: fit for
/// text and for quoted attributes of HTML and XML.
std::string escape_markup(std::string_view text);

/// At most three decimals, no trailing zeros, never an exponent; 0 for what is not finite.
std::string svg_number(double x);

struct XY {
  double x = 0, y = 0;
};

/// How a shape is painted; empty members are inherited from the group around it.
struct Paint {
  std::string stroke{}, fill{}, dash{};
  double width = 0;
};

enum class Anchor { start, middle, end };

class Svg {
 public:
  /// A drawing `width` by `height` user units whose top left corner is at (left, top). `title` is
  /// what a screen reader says, `extra` further attributes of the root.
  Svg(double left, double top, double width, double height, std::string_view title,
      std::string_view extra = "");

  void line(XY a, XY b, const Paint& paint = {});
  void polyline(const std::vector<XY>& points, const Paint& paint = {});
  void polygon(const std::vector<XY>& points, const Paint& paint = {});
  void rect(double x, double y, double width, double height, const Paint& paint = {});
  void circle(XY centre, double radius, const Paint& paint = {});
  /// `d` is trusted path data.
  void path(std::string_view d, const Paint& paint = {});
  /// (x, y) is on the base line. `attributes` are trusted.
  void text(XY at, std::string_view content, double size, Anchor anchor = Anchor::start,
            std::string_view attributes = "");
  /// `attributes` are trusted.
  void open_group(std::string_view attributes);
  void close_group();

  /// The whole element; nothing may be added afterwards.
  std::string finish();

 private:
  void shape(std::string_view element, const std::string& attributes, const Paint& paint);
  std::string out_;
  int open_ = 0;
};

}  // namespace pb::delivery
