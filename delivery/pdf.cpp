// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "delivery/pdf.h"

#include <hpdf.h>

#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <memory>
#include <numbers>
#include <vector>

#include "base/check.h"
#include "base/text.h"
#include "delivery/svg.h"

namespace pb::delivery {
namespace {

struct Tag {
  std::string name, text;
  std::map<std::string, std::string, std::less<>> attributes;
  double number(const char* key) const {
    const auto a = attributes.find(key);
    return a == attributes.end() ? 0.0 : to_number(a->second).value_or(0.0);
  }
  std::string_view of(std::string_view key) const {
    const auto a = attributes.find(key);
    return a == attributes.end() ? std::string_view() : std::string_view(a->second);
  }
};

std::string unescaped(std::string_view text) {
  std::string out(text);
  constexpr std::array<std::array<const char*, 2>, 5> kEntities = {
      {{"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}, {"&#39;", "'"}, {"&amp;", "&"}}};
  for (const auto& [entity, plain] : kEntities) out = replace_all(out, entity, plain);
  return out;
}

/// UTF-8 as Windows-1252, whose upper half is Latin-1 from A0 on.
std::string windows_1252(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c < 0x80) {
      out += text[i];
    } else if ((c == 0xC2 || c == 0xC3) && i + 1 < text.size() &&
               (c == 0xC3 || static_cast<unsigned char>(text[i + 1]) >= 0xA0)) {
      out += static_cast<char>(static_cast<unsigned char>(text[++i]) | (c == 0xC3 ? 0x40 : 0));
    } else {
      out += '?';
      while (i + 1 < text.size() && (static_cast<unsigned char>(text[i + 1]) & 0xC0) == 0x80) ++i;
    }
  }
  return out;
}

/// The tags of the drawing in order; an end tag has the name "/g".
std::vector<Tag> tags_of(std::string_view svg) {
  std::vector<Tag> out;
  for (std::size_t at = svg.find('<'); at != std::string_view::npos; at = svg.find('<', at)) {
    const std::size_t end = svg.find('>', at);
    PB_CHECK(end != std::string_view::npos, at);
    std::string_view inside = svg.substr(at + 1, end - at - 1);
    Tag tag;
    const std::size_t space = std::min(inside.find_first_of(" >"), inside.size());
    tag.name = inside.substr(0, space);
    for (std::size_t k = space; k < inside.size();) {
      const std::size_t equals = inside.find("=\"", k);
      if (equals == std::string_view::npos) break;
      const std::size_t quote = inside.find('"', equals + 2);
      const std::string_view key = trim(inside.substr(k, equals - k));
      tag.attributes[std::string(key)] = unescaped(inside.substr(equals + 2, quote - equals - 2));
      k = quote + 1;
    }
    at = end + 1;
    tag.text = unescaped(svg.substr(at, std::min(svg.find('<', at), svg.size()) - at));
    out.push_back(std::move(tag));
  }
  return out;
}

/// Numbers of a list such as "1,2 -3 4" or "translate(1 2)".
std::vector<double> numbers_in(std::string_view text) {
  std::vector<double> out;
  const char *p = text.data(), *const end = text.data() + text.size();
  while (p != end) {
    double x = 0;
    const auto [after, error] = std::from_chars(p, end, x, std::chars_format::fixed);
    if (error == std::errc()) out.push_back(x);
    p = error == std::errc() ? after : p + 1;
  }
  return out;
}

[[noreturn]] void failed(HPDF_STATUS error, HPDF_STATUS detail, void*) {
  throw InternalError("the PDF library reports " + std::to_string(error) + ", " +
                      std::to_string(detail));
}

class Page {
 public:
  Page(HPDF_Doc doc, double left, double top, double width, double height)
      : page_(HPDF_AddPage(doc)),
        plain_(HPDF_GetFont(doc, "Courier", "WinAnsiEncoding")),
        bold_(HPDF_GetFont(doc, "Courier-Bold", "WinAnsiEncoding")) {
    constexpr double kMargin = 36, kFooter = 24, kLeast = 6.0 / 1.5;  // points a unit of ours
    struct Sheet {
      double width, height;
    };
    constexpr Sheet kA4{842, 595}, kA3{1191, 842};
    const auto scale = [&](const Sheet& s) {
      return std::min((s.width - 2 * kMargin) / width, (s.height - 2 * kMargin - kFooter) / height);
    };
    const Sheet sheet = scale(kA4) >= kLeast ? kA4 : kA3;
    HPDF_Page_SetWidth(page_, real(sheet.width));
    HPDF_Page_SetHeight(page_, real(sheet.height));
    const double k = std::min(scale(sheet), 8.0);
    footer_at_ = {kMargin, kMargin};
    HPDF_Page_GSave(page_);
    // From here on the drawing's units, y downwards.
    HPDF_Page_Concat(page_, real(k), 0, 0, real(-k), real((sheet.width - k * width) / 2 - k * left),
                     real(sheet.height - kMargin + k * top));
    HPDF_Page_SetLineCap(page_, HPDF_ROUND_END);
    HPDF_Page_SetLineJoin(page_, HPDF_ROUND_JOIN);
  }

  void draw(const Tag& t) {
    if (t.name == "g") return open(t);
    if (t.name == "/g") {
      HPDF_Page_GRestore(page_);
      return;
    }
    const bool filled = t.of("fill") == "currentColor";
    if (t.name == "line") {
      move(t.number("x1"), t.number("y1"));
      line(t.number("x2"), t.number("y2"));
      paint(false);
    } else if (t.name == "polyline" || t.name == "polygon") {
      polygon(numbers_in(t.of("points")), t.name == "polygon");
      paint(filled);
    } else if (t.name == "circle") {
      HPDF_Page_Circle(page_, real(t.number("cx")), real(t.number("cy")), real(t.number("r")));
      paint(filled);
    } else if (t.name == "path") {
      path(t.of("d"));
      paint(filled);
    } else if (t.name == "text") {
      const std::string text = windows_1252(t.text);
      const double size = t.number("font-size"), wide = 0.6 * size * double(text.size());
      const double left = t.of("text-anchor") == "middle" ? wide / 2
                          : t.of("text-anchor") == "end"  ? wide
                                                          : 0;
      write(t.number("x") - left, t.number("y"), size, text, !t.of("font-weight").empty(), true);
    }
  }

  void footer(std::string_view text) {
    HPDF_Page_GRestore(page_);
    write(footer_at_.x, footer_at_.y, 9, windows_1252(text), false, false);
  }

 private:
  static HPDF_REAL real(double x) { return static_cast<HPDF_REAL>(x); }
  void move(double x, double y) {
    at_ = {x, y};
    HPDF_Page_MoveTo(page_, real(x), real(y));
  }
  void line(double x, double y) {
    at_ = {x, y};
    HPDF_Page_LineTo(page_, real(x), real(y));
  }
  void paint(bool filled) {
    if (filled)
      HPDF_Page_FillStroke(page_);
    else
      HPDF_Page_Stroke(page_);
  }

  void open(const Tag& t) {
    HPDF_Page_GSave(page_);
    if (const double width = t.number("stroke-width"); width > 0)
      HPDF_Page_SetLineWidth(page_, real(width));
    // translate(x y) rotate(degrees) [scale(-1 1)]
    const std::vector<double> n = numbers_in(t.of("transform"));
    if (n.size() < 3) return;
    const double c = std::round(std::cos(n[2] * std::numbers::pi / 180)),
                 s = std::round(std::sin(n[2] * std::numbers::pi / 180)),
                 mirror = n.size() > 3 ? n[3] : 1.0;
    HPDF_Page_Concat(page_, real(c * mirror), real(s * mirror), real(-s), real(c), real(n[0]),
                     real(n[1]));
  }

  void polygon(const std::vector<double>& n, bool closed) {
    for (std::size_t k = 0; k + 1 < n.size(); k += 2)
      k == 0 ? move(n[k], n[k + 1]) : line(n[k], n[k + 1]);
    if (closed) HPDF_Page_ClosePath(page_);
  }

  /// M L H V A Z with absolute numbers, as the table of symbols has them.
  void path(std::string_view d) {
    while (!d.empty()) {
      const char command = d[0];
      const std::size_t end = std::min(d.find_first_of("MLHVAZ", 1), d.size());
      const std::vector<double> n = numbers_in(d.substr(1, end - 1));
      d.remove_prefix(end);
      switch (command) {
        case 'M':
          move(n.at(0), n.at(1));
          break;
        case 'L':
          line(n.at(0), n.at(1));
          break;
        case 'H':
          line(n.at(0), at_.y);
          break;
        case 'V':
          line(at_.x, n.at(0));
          break;
        case 'A':
          half_circle(n.at(0), n.at(4) > 0 ? 1 : -1, {n.at(5), n.at(6)});
          break;
        case 'Z':
          HPDF_Page_ClosePath(page_);
          break;
        default:
          PB_CHECK(false, command);
      }
    }
  }

  /// From here to `to` about the middle between them, as two quarter arcs.
  void half_circle(double radius, int sweep, XY to) {
    const XY centre{(at_.x + to.x) / 2, (at_.y + to.y) / 2};
    const double from = std::atan2(at_.y - centre.y, at_.x - centre.x);
    constexpr double kQuarter = 0.5522847498;  // 4/3 (sqrt 2 - 1)
    const auto point = [&](double angle, double along) {
      return XY{centre.x + radius * (std::cos(angle) - along * std::sin(angle)),
                centre.y + radius * (std::sin(angle) + along * std::cos(angle))};
    };
    for (int quarter = 0; quarter < 2; ++quarter) {
      const double a = from + sweep * quarter * std::numbers::pi / 2,
                   b = a + sweep * std::numbers::pi / 2;
      const XY p = point(a, sweep * kQuarter), q = point(b, -sweep * kQuarter), r = point(b, 0);
      HPDF_Page_CurveTo(page_, real(p.x), real(p.y), real(q.x), real(q.y), real(r.x), real(r.y));
    }
    at_ = to;
  }

  void write(double x, double y, double size, const std::string& text, bool bold, bool downwards) {
    HPDF_Page_BeginText(page_);
    HPDF_Page_SetFontAndSize(page_, bold ? bold_ : plain_, real(size));
    HPDF_Page_SetTextMatrix(page_, 1, 0, 0, downwards ? -1 : 1, real(x), real(y));
    HPDF_Page_ShowText(page_, text.c_str());
    HPDF_Page_EndText(page_);
  }

  HPDF_Page page_;
  HPDF_Font plain_, bold_;
  XY at_{}, footer_at_{};
};

}  // namespace

std::string pdf_of(std::string_view svg, std::string_view title, std::string_view footer) {
  const std::unique_ptr<std::remove_pointer_t<HPDF_Doc>, void (*)(HPDF_Doc)> doc(
      HPDF_New(&failed, nullptr), &HPDF_Free);
  PB_CHECK(doc != nullptr, "no memory for a PDF");
  HPDF_SetCompressionMode(doc.get(), HPDF_COMP_ALL);
  HPDF_SetInfoAttr(doc.get(), HPDF_INFO_TITLE, windows_1252(title).c_str());
  const std::vector<Tag> tags = tags_of(svg);
  PB_CHECK(!tags.empty() && tags.front().name == "svg", "not a drawing");
  const std::vector<double> box = numbers_in(tags.front().of("viewBox"));
  Page page(doc.get(), box.at(0), box.at(1), box.at(2), box.at(3));
  for (const Tag& t : tags) page.draw(t);
  page.footer(footer);
  HPDF_SaveToStream(doc.get());
  std::string out(HPDF_GetStreamSize(doc.get()), '\0');
  auto size = static_cast<HPDF_UINT32>(out.size());
  HPDF_ReadFromStream(doc.get(), reinterpret_cast<HPDF_BYTE*>(out.data()), &size);
  out.resize(size);
  return out;
}

}  // namespace pb::delivery
