// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Wires of a schematic: orthogonal paths on a grid that go round symbols and texts, may cross other
// nets at a right angle and never run along one. Tested by tests/unit/delivery_schematic.cpp.
#pragma once

#include <vector>

#include "delivery/svg.h"
#include "delivery/symbols.h"

namespace pb::delivery {

struct GridPoint {
  int x = 0, y = 0;
  bool operator==(const GridPoint&) const = default;
};

/// A straight stretch of wire.
struct Wire {
  GridPoint from, to;
};

class WireGrid {
 public:
  /// Grid points from (left, top) to (right, bottom), edges included.
  WireGrid(int left, int top, int right, int bottom);

  /// No wire may enter the box.
  void block(const Box& box);
  /// Wires avoid the box where a slightly longer way does it.
  void discourage(const Box& box);
  /// The point belongs to `net` alone.
  void reserve(GridPoint p, int net);
  /// A straight wire as drawn already.
  void add(const Wire& wire, int net);
  /// True if a wire of the net may be put there without touching anything else.
  bool free(const Wire& wire, int net) const;
  /// True if nothing at all is inside the box.
  bool empty(const Box& box) const;

  /// Joins `goal` to the starts or to any wire that leads to them; false if there is no
  /// way of at most `longest` grid steps.
  bool route(int net, const std::vector<GridPoint>& starts, GridPoint goal, double longest);

  /// Everything drawn for the net; stretches that continue each other are one.
  std::vector<Wire> wires(int net) const;
  /// Wires that end at the point or pass it.
  int arms(GridPoint p) const;
  /// Points where three or more wires of a net meet.
  std::vector<GridPoint> joints() const;

 private:
  static constexpr int kNobody = -1, kNothing = -2;
  struct Cell {
    bool blocked = false, discouraged = false;
    int owner = kNobody;   // only this net may use the point
    int across = kNobody;  // net whose wire leaves to the right
    int down = kNobody;    // net whose wire leaves downwards
  };
  bool inside(int x, int y) const { return x >= left_ && x <= right_ && y >= top_ && y <= bottom_; }
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y - top_) * static_cast<std::size_t>(right_ - left_ + 1) +
           static_cast<std::size_t>(x - left_);
  }
  const Cell& cell(int x, int y) const { return cells_[index(x, y)]; }
  int link(GridPoint p, int direction) const;
  void set_link(GridPoint p, int direction, int net);
  std::vector<GridPoint> reached(int net, const std::vector<GridPoint>& starts) const;
  bool may_stand(GridPoint p, int direction, int net) const;
  bool crosses(GridPoint p, int net) const;

  int left_, top_, right_, bottom_;
  std::vector<Cell> cells_;
};

}  // namespace pb::delivery
