// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/layout.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "delivery/values.h"

namespace pb::delivery {
namespace {

// Set by looking at drawings of the templates that come with the program.
constexpr double kStretchX =
    1.5;                         // templates place parts as close as symbols allow; texts need more
constexpr double kWidest = 1.4;  // of a row's share of the page, over its height
constexpr double kLargest = 2000;  // grid units; positions beyond are a mistake
constexpr int kMargin = 9;         // left and right of the parts: pin flags
constexpr int kRailRoom = 7;       // between the parts and a supply line
constexpr int kRowGap = 8;
constexpr int kColumn = 16, kPitch = 14;  // when the parts are put in rows
constexpr std::size_t kValueLine = 9;     // characters

/// "NFET-30V-40mR-SOT23-a" in lines of at most kValueLine characters where hyphens allow.
std::vector<std::string> wrapped(const std::string& text) {
  std::vector<std::string> lines;
  std::string line;
  const auto pieces = split(text, '-');
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const std::string piece = std::string(pieces[i]) + (i + 1 < pieces.size() ? "-" : "");
    const bool tail = i + 1 == pieces.size() && piece.size() <= 2;  // no line for one letter
    if (!line.empty() && !tail && line.size() + piece.size() > kValueLine) {
      lines.push_back(line);
      line.clear();
    }
    line += piece;
  }
  if (!line.empty()) lines.push_back(line);
  return lines;
}

int sign(double x) { return (x > 0) - (x < 0); }

void set_terminals(Item& item, const std::vector<std::string>& nodes) {
  item.terminals.clear();
  for (std::size_t i = 0; i < nodes.size() && i < item.symbol->terminals.size(); ++i) {
    const XY p = turned(item.symbol->terminals[i], item.turn);
    Terminal t;
    t.at = {item.at.x + static_cast<int>(std::lround(p.x)),
            item.at.y + static_cast<int>(std::lround(p.y))};
    if (std::abs(p.x) > std::abs(p.y))
      t.dx = sign(p.x);
    else
      t.dy = sign(p.y);
    t.node = nodes[i];
    t.row = item.row;
    item.terminals.push_back(t);
  }
}

struct Placed {
  Item item;
  std::vector<std::string> nodes;
  double x, y;
};

std::vector<Placed> placed_parts(const Design& design) {
  std::vector<Placed> out;
  for (const Place& place : design.wiring.places) {
    const auto part = design.parts.find(place.role);
    if (part == design.parts.end()) continue;
    Item item;
    item.ref = place.ref;
    item.value = wrapped(short_value(design, place.role));
    item.symbol = &symbol_of(part->second.part_class, &part->second);
    item.turn = parse_turn(place.turn);
    out.push_back({std::move(item), place.nodes, place.x * kStretchX, place.y});
  }
  return out;
}

Box room_of(const Placed& p) {
  Box b = turned(p.item.symbol->body, p.item.turn);
  for (const XY& t : p.item.symbol->terminals) {
    const XY q = turned(t, p.item.turn);
    b = {std::min(b.left, q.x), std::min(b.top, q.y), std::max(b.right, q.x),
         std::max(b.bottom, q.y)};
  }
  return {b.left + p.x, b.top + p.y, b.right + p.x, b.bottom + p.y};
}

/// Symbols on top of each other, or positions no page holds.
bool positions_usable(const std::vector<Placed>& parts) {
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (!(std::abs(parts[i].x) < kLargest && std::abs(parts[i].y) < kLargest)) return false;
    for (std::size_t j = 0; j < i; ++j)
      if (room_of(parts[i]).overlaps(room_of(parts[j]))) return false;
  }
  double left = kLargest, right = -kLargest, top = kLargest, bottom = -kLargest;
  for (const Placed& p : parts) {
    left = std::min(left, p.x), right = std::max(right, p.x);
    top = std::min(top, p.y), bottom = std::max(bottom, p.y);
  }
  // A page with more empty room than this is a misplaced part.
  return (right - left) * (bottom - top) < 1000.0 * static_cast<double>(parts.size());
}

void put_in_rows(std::vector<Placed>& parts) {
  double wide = kColumn, high = kPitch;  // room for wires beside the largest symbol
  for (Placed& p : parts) {
    p.x = p.y = 0;
    const Box b = room_of(p);
    wide = std::max(wide, b.right - b.left + kColumn - 8);
    high = std::max(high, b.bottom - b.top + kPitch - 6);
  }
  const double columns = std::ceil(std::sqrt(static_cast<double>(parts.size()) * 1.5));
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const double n = static_cast<double>(i);
    parts[i].x = wide * (n - columns * std::floor(n / columns));
    parts[i].y = high * std::floor(n / columns);
  }
}

/// Nets with parts on both sides of x, without the supplies.
int nets_across(const std::vector<Placed>& parts, double x) {
  std::map<std::string, std::pair<bool, bool>> sides;
  for (const Placed& p : parts)
    for (const std::string& node : p.nodes)
      (p.x < x ? sides[node].first : sides[node].second) = true;
  return static_cast<int>(std::count_if(sides.begin(), sides.end(), [](const auto& s) {
    return s.first != kRail && s.first != kGround && s.second.first && s.second.second;
  }));
}

/// Where to fold: at the widest gap between columns near each equal share of the width.
std::vector<double> folds(const std::vector<Placed>& parts) {
  std::vector<double> xs, cuts;
  double top = kLargest, bottom = -kLargest;
  for (const Placed& p : parts) {
    xs.push_back(p.x);
    top = std::min(top, p.y), bottom = std::max(bottom, p.y);
  }
  std::sort(xs.begin(), xs.end());
  if (xs.empty()) return cuts;
  const double width = xs.back() - xs.front(), height = bottom - top + 20;
  const int rows =
      std::clamp(static_cast<int>(std::lround(std::sqrt(width / (kWidest * height)))), 1, 6);
  for (int k = 1; k < rows; ++k) {
    const double wanted = xs.front() + width * k / rows;
    double best = -1e9, cut = wanted;
    for (std::size_t i = 1; i < xs.size(); ++i) {
      const double middle = (xs[i] + xs[i - 1]) / 2;
      const double worth =
          xs[i] - xs[i - 1] - 0.3 * std::abs(middle - wanted) - 10.0 * nets_across(parts, middle);
      if (worth > best) best = worth, cut = middle;
    }
    if (cuts.empty() || cut > cuts.back()) cuts.push_back(cut);
  }
  return cuts;
}

int row_of(double x, const std::vector<double>& cuts) {
  return static_cast<int>(std::lower_bound(cuts.begin(), cuts.end(), x) - cuts.begin());
}

/// Both windings, to the right of the shortest row.
void add_windings(Layout& layout, const Template& wiring) {
  auto row = std::min_element(layout.rows.begin(), layout.rows.end(),
                              [](const Row& a, const Row& b) { return a.right < b.right; });
  const struct {
    const char* name;
    const std::vector<std::string>& nodes;
  } windings[] = {{"winding a", wiring.winding_a}, {"winding b", wiring.winding_b}};
  int x = row->right + 8;
  for (const auto& w : windings) {
    Item item;
    item.ref = w.name;
    item.symbol = &winding_symbol();
    item.at = {x, (row->rail_y + row->ground_y) / 2};
    item.row = static_cast<int>(row - layout.rows.begin());
    set_terminals(item, w.nodes);
    layout.items.push_back(std::move(item));
    x += kColumn;
  }
  row->right = x;
}

}  // namespace

Box body_box(const Item& item) {
  const Box b = turned(item.symbol->body, item.turn);
  return {b.left + item.at.x, b.top + item.at.y, b.right + item.at.x, b.bottom + item.at.y};
}

Layout lay_out(const Design& design) {
  std::vector<Placed> parts = placed_parts(design);
  if (!positions_usable(parts)) put_in_rows(parts);
  const std::vector<double> cuts = folds(parts);
  Layout layout;
  int y = 0;
  for (int r = 0; r <= static_cast<int>(cuts.size()); ++r) {
    Box all{1e9, 1e9, -1e9, -1e9};
    for (const Placed& p : parts) {
      if (row_of(p.x, cuts) != r) continue;
      const Box b = room_of(p);
      all = {std::min(all.left, b.left), std::min(all.top, b.top), std::max(all.right, b.right),
             std::max(all.bottom, b.bottom)};
    }
    if (all.left > all.right) all = {0, 0, 10, 14};
    const Row row{0, static_cast<int>(all.right - all.left) + 2 * kMargin, y,
                  y + static_cast<int>(all.bottom - all.top) + 2 * kRailRoom};
    for (const Placed& p : parts) {
      if (row_of(p.x, cuts) != r) continue;
      Item item = p.item;
      item.row = r;
      item.at = {static_cast<int>(std::lround(p.x - all.left)) + kMargin,
                 static_cast<int>(std::lround(p.y - all.top)) + y + kRailRoom};
      set_terminals(item, p.nodes);
      layout.items.push_back(std::move(item));
    }
    layout.rows.push_back(row);
    y = row.ground_y + kRowGap;
  }
  add_windings(layout, design.wiring);
  int right = 0;
  for (const Row& row : layout.rows) right = std::max(right, row.right);
  for (Row& row : layout.rows) row.right = right;
  return layout;
}

}  // namespace pb::delivery
