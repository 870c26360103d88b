// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Cheapest paths by Dijkstra's method over (point, direction).
#include "delivery/route.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <queue>

namespace pb::delivery {
namespace {

constexpr int kDx[] = {1, 0, -1, 0}, kDy[] = {0, 1, 0, -1};  // right, down, left, up

// What makes a wire easy to follow, in grid steps: a bend is worth a detour of three steps, a
// crossing of four. Set by looking at drawings.
constexpr double kBend = 3, kCrossing = 4, kDiscouraged = 2;

int sign(int x) { return (x > 0) - (x < 0); }

int direction_of(GridPoint a, GridPoint b) {
  for (int d = 0; d < 4; ++d)
    if (kDx[d] == sign(b.x - a.x) && kDy[d] == sign(b.y - a.y)) return d;
  return -1;
}

struct Visit {
  double cost;
  std::size_t state;
  bool operator<(const Visit& o) const {  // the queue's top is the cheapest; ties by state
    return cost != o.cost ? cost > o.cost : state > o.state;
  }
};

}  // namespace

WireGrid::WireGrid(int left, int top, int right, int bottom)
    : left_(left),
      top_(top),
      right_(right),
      bottom_(bottom),
      cells_(static_cast<std::size_t>(right - left + 1) *
             static_cast<std::size_t>(bottom - top + 1)) {}

void WireGrid::block(const Box& box) {
  for (int y = static_cast<int>(std::ceil(box.top)); y <= box.bottom; ++y)
    for (int x = static_cast<int>(std::ceil(box.left)); x <= box.right; ++x)
      if (inside(x, y)) cells_[index(x, y)].blocked = true;
}

void WireGrid::discourage(const Box& box) {
  for (int y = static_cast<int>(std::ceil(box.top)); y <= box.bottom; ++y)
    for (int x = static_cast<int>(std::ceil(box.left)); x <= box.right; ++x)
      if (inside(x, y)) cells_[index(x, y)].discouraged = true;
}

void WireGrid::reserve(GridPoint p, int net) {
  if (!inside(p.x, p.y)) return;
  Cell& c = cells_[index(p.x, p.y)];
  c.blocked = false;
  c.owner = net;
}

int WireGrid::link(GridPoint p, int direction) const {
  if (direction == 2) return inside(p.x - 1, p.y) ? cell(p.x - 1, p.y).across : kNobody;
  if (direction == 3) return inside(p.x, p.y - 1) ? cell(p.x, p.y - 1).down : kNobody;
  return direction == 0 ? cell(p.x, p.y).across : cell(p.x, p.y).down;
}

void WireGrid::set_link(GridPoint p, int direction, int net) {
  if (direction == 0) cells_[index(p.x, p.y)].across = net;
  if (direction == 1) cells_[index(p.x, p.y)].down = net;
  if (direction == 2) cells_[index(p.x - 1, p.y)].across = net;
  if (direction == 3) cells_[index(p.x, p.y - 1)].down = net;
}

/// The starts and every point their net's wires lead to.
std::vector<GridPoint> WireGrid::reached(int net, const std::vector<GridPoint>& starts) const {
  std::vector<GridPoint> out;
  std::vector<bool> seen(cells_.size(), false);
  const auto visit = [&](GridPoint p) {
    if (!inside(p.x, p.y) || seen[index(p.x, p.y)]) return;
    seen[index(p.x, p.y)] = true;
    out.push_back(p);
  };
  for (const GridPoint& p : starts) visit(p);
  for (std::size_t i = 0; i < out.size(); ++i)
    for (int d = 0; d < 4; ++d)
      if (link(out[i], d) == net) visit({out[i].x + kDx[d], out[i].y + kDy[d]});
  return out;
}

/// True if the point holds another net's straight wire and nothing else of it.
bool WireGrid::crosses(GridPoint p, int net) const {
  for (int d = 0; d < 4; ++d)
    if (link(p, d) != kNobody && link(p, d) != net) return true;
  return false;
}

/// Whether a wire of `net` may be at `p` when it runs in `direction`.
bool WireGrid::may_stand(GridPoint p, int direction, int net) const {
  if (!inside(p.x, p.y)) return false;
  const Cell& c = cell(p.x, p.y);
  if (c.owner != kNobody) return c.owner == net;
  if (c.blocked) return false;
  if (!crosses(p, net)) return true;
  // Another net's wire: cross it squarely, where it neither bends nor branches.
  const int side = (direction + 1) % 4;
  return link(p, side) != kNobody && link(p, side) == link(p, (side + 2) % 4) &&
         link(p, direction) == kNobody && link(p, (direction + 2) % 4) == kNobody;
}

void WireGrid::add(const Wire& wire, int net) {
  if (wire.from == wire.to) return;
  const int d = direction_of(wire.from, wire.to);
  for (GridPoint p = wire.from; !(p == wire.to); p = {p.x + kDx[d], p.y + kDy[d]})
    set_link(p, d, net);
}

bool WireGrid::free(const Wire& wire, int net) const {
  const int d = direction_of(wire.from, wire.to);
  for (GridPoint p = wire.from;; p = {p.x + kDx[d], p.y + kDy[d]}) {
    if (!may_stand(p, d, net)) return false;
    if (p == wire.to) return true;
  }
}

bool WireGrid::empty(const Box& box) const {
  for (int y = static_cast<int>(std::ceil(box.top)); y <= box.bottom; ++y)
    for (int x = static_cast<int>(std::ceil(box.left)); x <= box.right; ++x) {
      if (!inside(x, y)) return false;
      const Cell& c = cell(x, y);
      if (c.blocked || c.owner != kNobody || crosses({x, y}, kNothing)) return false;
    }
  return true;
}

bool WireGrid::route(int net, const std::vector<GridPoint>& starts, GridPoint goal,
                     double longest) {
  if (!inside(goal.x, goal.y)) return false;
  std::vector<double> cost(cells_.size() * 4, std::numeric_limits<double>::infinity());
  std::vector<std::size_t> before(cells_.size() * 4, 0);
  std::priority_queue<Visit> queue;
  const std::size_t width = static_cast<std::size_t>(right_ - left_ + 1);
  const auto begin = [&](GridPoint p) {
    for (std::size_t d = 0; d < 4; ++d) {
      const std::size_t s = index(p.x, p.y) * 4 + d;
      cost[s] = 0;
      before[s] = s;
      queue.push({0, s});
    }
  };
  for (const GridPoint& p : reached(net, starts))
    if (!crosses(p, net)) begin(p);

  while (!queue.empty()) {
    const Visit v = queue.top();
    queue.pop();
    if (v.cost > cost[v.state]) continue;
    const std::size_t at = v.state / 4;
    const GridPoint p{left_ + static_cast<int>(at % width), top_ + static_cast<int>(at / width)};
    if (p == goal) {
      for (std::size_t s = v.state; before[s] != s; s = before[s])
        set_link({left_ + static_cast<int>(before[s] / 4 % width),
                  top_ + static_cast<int>(before[s] / 4 / width)},
                 static_cast<int>(s % 4), net);
      return true;
    }
    const bool crossing = crosses(p, net);
    for (std::size_t d = 0; d < 4; ++d) {
      const int direction = static_cast<int>(d);
      if ((d + 2) % 4 == v.state % 4 && before[v.state] != v.state) continue;  // no way back
      const bool bend = d != v.state % 4 && before[v.state] != v.state;
      if (bend && crossing) continue;
      const GridPoint q{p.x + kDx[d], p.y + kDy[d]};
      if (!may_stand(q, direction, net) || link(p, direction) != kNobody) continue;
      const double next = v.cost + 1 + (bend ? kBend : 0) + (crosses(q, net) ? kCrossing : 0) +
                          (cell(q.x, q.y).discouraged ? kDiscouraged : 0);
      const std::size_t s = index(q.x, q.y) * 4 + d;
      if (next > longest || next >= cost[s]) continue;
      cost[s] = next;
      before[s] = v.state;
      queue.push({next, s});
    }
  }
  return false;
}

std::vector<Wire> WireGrid::wires(int net) const {
  std::vector<Wire> out;
  for (int y = top_; y <= bottom_; ++y)
    for (int x = left_; x <= right_; ++x)
      for (int d = 0; d < 2; ++d) {
        const GridPoint p{x, y};
        if (link(p, d) != net || link(p, d + 2) == net) continue;  // not the start of a stretch
        GridPoint q = p;
        while (link(q, d) == net) q = {q.x + kDx[d], q.y + kDy[d]};
        out.push_back({p, q});
      }
  return out;
}

int WireGrid::arms(GridPoint p) const {
  int out = 0;
  for (int d = 0; d < 4; ++d) out += link(p, d) != kNobody;
  return out;
}

std::vector<GridPoint> WireGrid::joints() const {
  std::vector<GridPoint> out;
  for (int y = top_; y <= bottom_; ++y)
    for (int x = left_; x <= right_; ++x)
      for (int d = 0; d < 4; ++d) {
        const int net = link({x, y}, d);
        int arms = 0;
        for (int e = 0; e < 4; ++e) arms += net != kNobody && link({x, y}, e) == net;
        if (arms >= 3) {
          out.push_back({x, y});
          break;
        }
      }
  return out;
}

}  // namespace pb::delivery
