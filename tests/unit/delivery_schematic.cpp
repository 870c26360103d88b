// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Drawings of every template of the tree, of the same with everything renamed, and of templates
// whose positions are no use: each reference once, no text over another, no wire that joins what
// the template keeps apart, none missing.
#include "delivery/schematic.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <tuple>

#include <gtest/gtest.h>

#include "delivery/layout.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

double number(const test::Element& e, const std::string& name) {
  return std::stod(e.attributes.at(name));
}

struct Segment {
  XY a, b;
  bool touches(const XY& p) const {
    const double d = std::abs((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x));
    return d < 1e-6 && p.x >= std::min(a.x, b.x) - 1e-6 && p.x <= std::max(a.x, b.x) + 1e-6 &&
           p.y >= std::min(a.y, b.y) - 1e-6 && p.y <= std::max(a.y, b.y) + 1e-6;
  }
};

/// What the picture shows: texts, and wires outside of symbols.
struct Picture {
  std::vector<test::Element> texts;
  std::vector<Segment> wires;

  explicit Picture(const std::string& svg) {
    for (const test::Element& e : test::read_markup(svg)) {
      if (e.name == "text") texts.push_back(e);
      if (e.name == "line")
        wires.push_back({{number(e, "x1"), number(e, "y1")}, {number(e, "x2"), number(e, "y2")}});
    }
  }
};

Box box_of(const test::Element& text) {
  const double size = number(text, "font-size");
  std::string plain;  // an entity is one character
  for (std::size_t i = 0; i < text.text.size(); ++i) {
    if (text.text[i] == '&') i = text.text.find(';', i);
    if ((static_cast<unsigned char>(text.text[i]) & 0xC0) != 0x80) plain += 'x';
  }
  const double width = kCharacterWidth * size * static_cast<double>(plain.size());
  const std::string anchor = text.attributes.at("text-anchor");
  const double x = number(text, "x") - (anchor == "middle" ? width / 2
                                        : anchor == "end"  ? width
                                                           : 0);
  // Capitals are about 0.73 of the size high (DejaVu Sans Mono), descenders 0.24.
  return {x, number(text, "y") - 0.73 * size, x + width, number(text, "y") + 0.24 * size};
}

void expect_no_overlap(const Picture& picture, const Layout& layout) {
  for (std::size_t i = 0; i < picture.texts.size(); ++i) {
    const Box a = box_of(picture.texts[i]);
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_FALSE(a.overlaps(box_of(picture.texts[j])))
          << picture.texts[i].text << " over " << picture.texts[j].text;
    const auto kind = picture.texts[i].attributes.find("class");
    const bool label = kind != picture.texts[i].attributes.end() && kind->second == "terminal";
    int homes = 0;
    for (const Item& item : layout.items) {
      const Box body = body_box(item);
      const bool inside =
          body.left < a.left && body.top < a.top && a.right < body.right && a.bottom < body.bottom;
      homes += inside;
      EXPECT_TRUE((label && inside) || !a.overlaps(body))
          << picture.texts[i].text << " over " << item.ref;
    }
    EXPECT_EQ(homes, label ? 1 : 0) << picture.texts[i].text;  // a terminal's name in its block
  }
}

void expect_each_ref_once(const Picture& picture, const Design& design) {
  for (const Place& place : design.wiring.places) {
    const auto n = std::count_if(picture.texts.begin(), picture.texts.end(),
                                 [&](const auto& t) { return t.text == place.ref; });
    EXPECT_EQ(n, design.parts.contains(place.role) ? 1 : 0) << place.ref;
  }
}

/// Nets as the picture has them: pieces of wire that touch, and the terminals on them.
class Nets {
 public:
  Nets(const Picture& picture, const Layout& layout) : picture_(picture) {
    for (const Item& item : layout.items)
      for (const Terminal& t : item.terminals) terminals_.push_back(t);
    piece_.resize(picture.wires.size());
    for (std::size_t i = 0; i < piece_.size(); ++i) piece_[i] = i;
    for (std::size_t i = 0; i < piece_.size(); ++i)
      for (std::size_t j = 0; j < i; ++j) {
        const Segment &a = picture.wires[i], &b = picture.wires[j];
        // A crossing without an end on it is no joint.
        if (a.touches(b.a) || a.touches(b.b) || b.touches(a.a) || b.touches(a.b)) join(i, j);
      }
  }

  void expect_right() {
    std::map<std::size_t, std::string> node_of_piece;
    std::map<std::string, std::set<std::size_t>> pieces_of_node;
    for (std::size_t k = 0; k < terminals_.size(); ++k) {
      const Terminal& t = terminals_[k];
      const std::size_t piece = piece_at(t, k);
      const auto [it, fresh] = node_of_piece.try_emplace(piece, t.node);
      EXPECT_EQ(it->second, t.node) << "shorted at " << t.at.x << ',' << t.at.y;
      pieces_of_node[t.node].insert(piece);
    }
    for (const auto& [node, pieces] : pieces_of_node) {
      if (pieces.size() < 2 || node == kGround || node == kRail || node == kLogic) continue;
      for (const std::size_t piece : pieces)
        EXPECT_TRUE(named(piece)) << node << " is in pieces, one without a name";
    }
  }

 private:
  std::size_t root(std::size_t i) {
    while (piece_[i] != i) i = piece_[i];
    return i;
  }
  void join(std::size_t i, std::size_t j) { piece_[root(i)] = root(j); }

  /// The wire piece at a terminal; without a wire the terminal is a piece of its own.
  std::size_t piece_at(const Terminal& t, std::size_t k) {
    const XY at{double(t.at.x), double(t.at.y)};
    for (std::size_t i = 0; i < piece_.size(); ++i)
      if (picture_.wires[i].touches(at)) {
        points_[root(i)].push_back(at);
        return root(i);
      }
    points_[piece_.size() + k].push_back(at);
    return piece_.size() + k;
  }

  /// Whether a name stands beside a point of the piece.
  bool named(std::size_t piece) {
    std::vector<XY> points = points_[piece];
    for (std::size_t i = 0; i < piece_.size(); ++i)
      if (root(i) == piece) {
        points.push_back(picture_.wires[i].a);
        points.push_back(picture_.wires[i].b);
      }
    return std::any_of(points.begin(), points.end(), [&](const XY& p) {
      return std::any_of(picture_.texts.begin(), picture_.texts.end(), [&](const auto& t) {
        return std::abs(number(t, "y") - p.y) < 0.9 && std::abs(number(t, "x") - p.x) < 1.5;
      });
    });
  }

  const Picture& picture_;
  std::vector<Terminal> terminals_;
  std::vector<std::size_t> piece_;
  std::map<std::size_t, std::vector<XY>> points_;
};

void expect_sound(const Design& design) {
  SCOPED_TRACE(design.wiring.title);
  const Picture picture(schematic_svg(design));
  const Layout layout = lay_out(design);
  expect_each_ref_once(picture, design);
  expect_no_overlap(picture, layout);
  Nets(picture, layout).expect_right();
}

TEST(DeliverySchematic, EveryTemplateWithAndWithoutOptionalParts) {
  const auto templates = test::all_templates();
  ASSERT_GE(templates.size(), 4u);
  for (const Template& t : templates)
    for (const bool optional : {true, false}) expect_sound(test::design_of(t, optional));
}

TEST(DeliverySchematic, PositionsOnTopOfEachOtherAreReplaced) {
  for (Template t : test::all_templates()) {
    for (Place& p : t.places) p.x = p.y = 3;
    expect_sound(test::design_of(t, true));
  }
}

TEST(DeliverySchematic, WildPositionsNeitherHangNorFail) {
  const double wild[] = {1e300, -1e300, 1e6, NAN, INFINITY, 0.5, 1999};
  std::size_t n = 0;
  for (Template t : test::all_templates()) {
    for (Place& p : t.places) {
      p.x = wild[n++ % std::size(wild)];
      p.y = wild[n++ % std::size(wild)];
    }
    expect_sound(test::design_of(t, true));
  }
}

TEST(DeliverySchematic, EveryTurnKeepsTerminalsOnTheirNets) {
  const char* turns[] = {"0", "90", "180", "270", "m0", "m90", "m180", "m270"};
  for (Template t : test::all_templates()) {
    std::size_t n = 0;
    for (Place& p : t.places) {
      p.turn = turns[n++ % std::size(turns)];
      p.x *= 2;  // room for any turn
      p.y *= 2;
    }
    expect_sound(test::design_of(t, true));
  }
}

/// Class letters of IEEE 315-1975 section 22.
std::string letters_of(const std::string& part_class) {
  if (part_class == "resistor") return "R";
  if (part_class == "ceramic" || part_class == "electrolytic") return "C";
  if (part_class == "diode" || part_class == "zener") return "D";
  if (part_class == "fuse") return "F";
  if (part_class.ends_with("-chip") || part_class == "comparator" || part_class == "buffers")
    return "U";
  if (part_class.ends_with("mosfet") || part_class == "npn" || part_class == "pnp") return "Q";
  return "none for " + part_class;
}

TEST(DeliverySchematic, DesignatorsAreThoseOfTheStandardsInOrder) {
  // ASME Y14.44-2008 section 2.1.3: from the upper left, left to right and top to bottom. Here the
  // columns go from left to right, each from top to bottom, so that folding a wide drawing or
  // leaving out a part changes no order.
  for (const Template& t : test::all_templates())
    for (const bool optional : {true, false}) {
      SCOPED_TRACE(t.title);
      const Design d = test::design_of(t, optional);
      struct Drawn {
        int row, x, y, number;
      };
      std::map<std::string, std::vector<Drawn>> by_letters;
      for (const Item& item : lay_out(d).items) {
        const Place* place = find_place(d.wiring, item.ref);
        if (!place) continue;  // a winding
        const std::size_t digits = item.ref.find_first_of("0123456789");
        const std::string letters = item.ref.substr(0, digits);
        EXPECT_EQ(letters, letters_of(d.parts.at(place->role).part_class)) << item.ref;
        by_letters[letters].push_back(
            {item.row, item.at.x, item.at.y, std::stoi(item.ref.substr(digits))});
      }
      for (auto& [letters, drawn] : by_letters) {
        std::sort(drawn.begin(), drawn.end(), [](const Drawn& a, const Drawn& b) {
          return std::tuple(a.row, a.x, a.y) < std::tuple(b.row, b.x, b.y);
        });
        for (std::size_t k = 1; k < drawn.size(); ++k)
          EXPECT_LT(drawn[k - 1].number, drawn[k].number) << letters;
        if (optional) {
          EXPECT_EQ(drawn.back().number, static_cast<int>(drawn.size())) << letters;
        }
      }
    }
}

TEST(DeliverySchematic, TurnsAreClockwiseAfterMirroring) {
  const XY top{0, -3};
  const XY right = turned(top, parse_turn("90")), left = turned(top, parse_turn("270"));
  EXPECT_EQ(right.x, 3);
  EXPECT_EQ(left.x, -3);
  const XY gate = turned(XY{-4, 0}, parse_turn("m180"));
  EXPECT_EQ(gate.x, -4);  // upside down, gate still to the left
}

TEST(DeliverySchematic, LongNamesAreEscapedAndDoNotCollide) {
  for (Template t : test::all_templates()) {
    t.title = "<script>alert(1)</script>";
    Design d = test::design_of(t, true);
    for (auto& [role, part] : d.parts) part.number = "<b>A-VERY-LONG-PART-NUMBER&WITHOUT_END</b>";
    expect_sound(d);
    EXPECT_EQ(schematic_svg(d).find("<b>"), std::string::npos);
    EXPECT_EQ(schematic_svg(d).find("<script>"), std::string::npos);
  }
}

}  // namespace
}  // namespace pb::delivery
