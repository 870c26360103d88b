// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A sketch of where the parts may stand on the board: courtyards of the real packages on one side,
// none over another, so that the loops in which current changes hands stay small. A start for the
// layout, no layout. Tested by tests/unit/judgement_placement.cpp.
//
//   order   the parts in rows between two rows of connectors, in an order found by annealing
//   cost    sum over loops of their area + 0.5 mm times the wire length of each net, heavier by its
//           current + a tenth of the board's area
//   loop    a leg's high side, low side, what stands between them and the supplies, and the nearest
//           capacitor across the supply; its area is that of the convex hull of their courtyards:
//           no path through these parts encloses more
//
// Source of the annealing: S. Kirkpatrick, C. Gelatt, M. Vecchi, Science 220, 1983, 671-680. The
// same design gives the same sketch: its moves are drawn by number.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "model/design.h"

namespace pb {

struct PlacedBox {
  std::string ref;  // of a part; "supply", "motor" or "controller" of a connector
  bool connector = false;
  double x_mm = 0, y_mm = 0, width_mm = 0, height_mm = 0;  // top left corner, y down
  bool turned = false;                                     // by a quarter
};

struct CurrentLoop {
  std::string name;               // the leg's output, or the chip's ref
  std::vector<std::string> refs;  // the capacitor, or "supply", first
  struct Corner {
    double x_mm, y_mm;
  };
  std::vector<Corner> hull;
  double area_mm2 = 0;
  double least_mm2 = 0;  // of its courtyards themselves: no loop of these parts is less
};

struct Placement {
  double width_mm = 0, height_mm = 0;
  std::vector<PlacedBox> boxes;
  std::vector<CurrentLoop> loops;
  std::string trouble;  // why there is none
};

/// `current_A`: rms of each net; nets without one count as without current.
Placement placement_of(const Design& design, const std::map<std::string, double>& current_A);

}  // namespace pb
