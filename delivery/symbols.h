// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Graphical symbols after IEC 60617, as data: where a symbol's terminals are on the drawing grid,
// which room it takes, and its strokes. One row a symbol in symbols.cpp.
#pragma once

#include <string_view>
#include <vector>

#include "delivery/svg.h"
#include "model/part.h"

namespace pb::delivery {

struct Box {
  double left = 0, top = 0, right = 0, bottom = 0;
  bool overlaps(const Box& o) const {
    return left < o.right && o.left < right && top < o.bottom && o.top < bottom;
  }
};

/// Drawn about its centre, unturned: first terminal up (transistors: drain or collector up, control
/// to the left).
struct Symbol {
  std::string_view name;
  std::vector<XY> terminals;               // grid points, in the order of the part class
  Box body;                                // without the leads
  std::string_view strokes;                // path data, drawn as lines
  std::string_view solid;                  // path data, filled
  std::vector<std::string_view> labels{};  // one a terminal, written inside the body; blocks only
};

/// The symbol of a class; `part` may be null. Which diode is drawn follows from the
/// part's figures.
const Symbol& symbol_of(std::string_view part_class, const Part* part);
const Symbol& winding_symbol();

/// A turn as templates write it: mirrored left to right first ("m"), then turned clockwise.
struct Turn {
  bool mirrored = false;
  int degrees = 0;
};
Turn parse_turn(std::string_view text);
XY turned(XY p, Turn turn);
Box turned(const Box& box, Turn turn);

/// Draws it with its centre at `at`.
void draw_symbol(Svg& svg, const Symbol& symbol, XY at, Turn turn);

}  // namespace pb::delivery
