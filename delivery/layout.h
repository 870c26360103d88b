// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where the parts of a schematic stand on the drawing grid: a template's positions, stretched to
// make room for texts and folded into rows. Internal to the schematic.
#pragma once

#include <string>
#include <vector>

#include "delivery/route.h"
#include "delivery/symbols.h"
#include "model/design.h"

namespace pb::delivery {

struct Terminal {
  GridPoint at;
  int dx = 0, dy = 0;  // the way out of the symbol
  std::string node;
  int row = 0;
};

struct Item {
  std::string ref;
  std::vector<std::string> value;  // lines
  const Symbol* symbol = nullptr;
  Turn turn;
  GridPoint at;
  int row = 0;
  std::vector<Terminal> terminals;
};

/// One stretch between an upper and a lower supply line.
struct Row {
  int left = 0, right = 0, rail_y = 0, ground_y = 0;
};

struct Layout {
  std::vector<Item> items;
  std::vector<Row> rows;
};

/// The design's parts and its two windings; parts of roles left out are not there.
Layout lay_out(const Design& design);

Box body_box(const Item& item);

}  // namespace pb::delivery
