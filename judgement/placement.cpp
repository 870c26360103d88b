// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/placement.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "base/random.h"
#include "judgement/package.h"

namespace pb {
namespace {

constexpr double kTrack_mm = 1.0;  // between courtyards: room for a track; common practice
constexpr double kPitch_mm = 2.54, kHeader_mm = 6.0;  // of a pin header; common practice

struct Box {
  PlacedBox at;
  std::vector<std::size_t> nets;
  double middle_x() const { return at.x_mm + 0.5 * at.width_mm; }
  double middle_y() const { return at.y_mm + 0.5 * at.height_mm; }
};
struct Loop {
  std::string name;
  std::vector<std::size_t> parts;       // boxes, without the capacitor
  std::vector<std::size_t> capacitors;  // one of these closes it
};
using Corner = CurrentLoop::Corner;

/// Convex hull, by monotone chains (A. Andrew, Inf. Process. Lett. 9, 1979, 216-219).
std::vector<Corner> hull_of(std::vector<Corner> p) {
  std::sort(p.begin(), p.end(), [](const Corner& a, const Corner& b) {
    return a.x_mm < b.x_mm || (a.x_mm == b.x_mm && a.y_mm < b.y_mm);
  });
  const auto turns_left = [](const Corner& a, const Corner& b, const Corner& c) {
    return (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm) > 0;
  };
  std::vector<Corner> hull;
  for (int side = 0; side < 2; ++side) {
    const std::size_t from = hull.size();
    for (const Corner& c : p) {
      while (hull.size() >= from + 2 && !turns_left(hull[hull.size() - 2], hull.back(), c))
        hull.pop_back();
      hull.push_back(c);
    }
    hull.pop_back();
    std::reverse(p.begin(), p.end());
  }
  return hull;
}

double area_of(const std::vector<Corner>& polygon) {
  double twice = 0;
  for (std::size_t k = 0; k < polygon.size(); ++k) {
    const Corner &a = polygon[k], &b = polygon[(k + 1) % polygon.size()];
    twice += a.x_mm * b.y_mm - b.x_mm * a.y_mm;
  }
  return 0.5 * std::abs(twice);
}

class Placer {
 public:
  Placer(const Design& d, const std::map<std::string, double>& current_A) : d_(d) {
    for (const Place& p : d.wiring.places)
      if (d.parts.contains(p.role)) add_part(p);
    if (!out_.trouble.empty()) return;
    parts_ = boxes_.size();
    add_connectors();
    list_loops();
    weigh(current_A);
  }

  Placement place() {
    if (!out_.trouble.empty()) return out_;
    anneal();
    lay(order_);
    for (const Box& b : boxes_) out_.boxes.push_back(b.at);
    out_.width_mm = width_mm_, out_.height_mm = height_mm_;
    for (const Loop& l : loops_) out_.loops.push_back(drawn(l));
    return std::move(out_);
  }

 private:
  std::size_t net(const std::string& name) {
    const auto at = std::find(net_names_.begin(), net_names_.end(), name);
    const auto index = static_cast<std::size_t>(at - net_names_.begin());
    if (index == net_names_.size()) net_names_.push_back(name);
    return index;
  }

  void add_box(PlacedBox at, const std::vector<std::string>& nodes) {
    Box b{std::move(at), {}};
    b.nets.reserve(nodes.size());
    for (const std::string& n : nodes) b.nets.push_back(net(n));
    boxes_.push_back(std::move(b));
  }

  void add_part(const Place& p) {
    const Part& part = d_.parts.at(p.role);
    const Package* package = find_package(part.package);
    if (!package) {
      out_.trouble = "the size of package " + part.package + " is not known";
      return;
    }
    add_box({p.ref, false, 0, 0, package->width_mm, package->length_mm, false}, p.nodes);
  }

  /// One row of pins each, along an edge.
  void add_connectors() {
    const Template& t = d_.wiring;
    std::vector<std::string> pins = {kGround}, motor;
    pins.reserve(t.pins.size() + 2);
    for (const Pin& p : t.pins) pins.push_back(p.node);
    for (const auto* w : {&t.winding_a, &t.winding_b})
      for (const std::string& n : *w)
        if (std::find(motor.begin(), motor.end(), n) == motor.end()) motor.push_back(n);
    const bool logic = std::any_of(t.places.begin(), t.places.end(), [&](const Place& p) {
      return d_.parts.contains(p.role) &&
             std::find(p.nodes.begin(), p.nodes.end(), kLogic) != p.nodes.end();
    });
    if (logic) pins.emplace_back(kLogic);
    const auto header = [&](const char* name, const std::vector<std::string>& nodes) {
      add_box({name, true, 0, 0, kPitch_mm * static_cast<double>(nodes.size()) + 1.0, kHeader_mm,
               false},
              nodes);
    };
    header("controller", pins);
    header("supply", {kRail, kGround});
    header("motor", motor);
  }

  std::size_t box_of(const std::string& ref) const {
    for (std::size_t k = 0; k < parts_; ++k)
      if (boxes_[k].at.ref == ref) return k;
    return boxes_.size();
  }

  bool joins(std::size_t box, const std::string& a, const std::string& b) const {
    const Place* p = find_place(d_.wiring, boxes_[box].at.ref);
    const auto has = [&](const std::string& n) {
      return std::find(p->nodes.begin(), p->nodes.end(), n) != p->nodes.end();
    };
    return has(a) && has(b);
  }

  /// The switch, and what stands between it and the supply line it works against.
  void add_side(Loop& loop, const std::string& ref, const char* line) const {
    const std::size_t box = box_of(ref);
    if (box == boxes_.size()) return;
    loop.parts.push_back(box);
    const Place* p = find_place(d_.wiring, ref);
    if (std::find(p->nodes.begin(), p->nodes.end(), line) != p->nodes.end()) return;
    for (const std::string& n : {p->nodes.front(), p->nodes.back()})
      for (std::size_t k = 0; k < parts_; ++k)
        if (k != box && joins(k, n, line) &&
            d_.parts.at(find_place(d_.wiring, boxes_[k].at.ref)->role).part_class == "resistor")
          loop.parts.push_back(k);
  }

  void list_loops() {
    std::vector<std::size_t> capacitors;
    for (std::size_t k = 0; k < parts_; ++k) {
      const Place* p = find_place(d_.wiring, boxes_[k].at.ref);
      const Part& part = d_.parts.at(p->role);
      if (is_capacitor(part.part_class) && joins(k, kRail, kGround)) capacitors.push_back(k);
      if (is_driver_chip(*find_part_class(part.part_class)))
        loops_.push_back({boxes_[k].at.ref, {k}, {}});
    }
    for (const Leg& leg : d_.wiring.legs) {
      Loop loop{leg.output, {}, {}};
      for (const std::string& ref : leg.high) add_side(loop, ref, kRail);
      for (const std::string& ref : leg.low) add_side(loop, ref, kGround);
      std::sort(loop.parts.begin(), loop.parts.end());
      loop.parts.erase(std::unique(loop.parts.begin(), loop.parts.end()), loop.parts.end());
      if (!loop.parts.empty()) loops_.push_back(std::move(loop));
    }
    if (capacitors.empty())
      for (std::size_t k = parts_; k < boxes_.size(); ++k)
        if (boxes_[k].at.ref == "supply") capacitors.push_back(k);
    for (Loop& l : loops_) l.capacitors = capacitors;
  }

  void weigh(const std::map<std::string, double>& current_A) {
    double most_A = 1e-9;
    for (const auto& [name, a] : current_A) most_A = std::max(most_A, a);
    constexpr double kLight = 0.2;  // a net without current still wants to be short
    for (const std::string& name : net_names_) {
      const auto a = current_A.find(name);
      // Ground is a plane, or nearly so: its length is nobody's concern.
      const double share = a == current_A.end() ? 0 : a->second / most_A;
      weights_.push_back(name == kGround ? 0.1 : kLight + share);
    }
  }

  // --- laying out an order
  // ------------------------------------------------------------------------

  struct Order {
    std::vector<std::size_t> parts;
    std::vector<bool> turned;
    double width_mm = 0;
  };

  double row_of_connectors(double x_mm, double y_mm, std::initializer_list<std::size_t> which) {
    for (const std::size_t k : which) {
      PlacedBox& b = boxes_[k].at;
      b.x_mm = x_mm, b.y_mm = y_mm;
      x_mm += b.width_mm + kTrack_mm;
    }
    return y_mm + kHeader_mm + kTrack_mm;
  }

  void lay(const Order& o) {
    const std::size_t controller = parts_, supply = parts_ + 1, motor = parts_ + 2;
    double y = row_of_connectors(kTrack_mm, kTrack_mm, {supply, motor}), x = kTrack_mm, high = 0,
           wide = 0;
    for (const std::size_t k : o.parts) {
      PlacedBox& b = boxes_[k].at;
      if (b.turned != o.turned[k]) std::swap(b.width_mm, b.height_mm), b.turned = o.turned[k];
      if (x > kTrack_mm && x + b.width_mm + kTrack_mm > o.width_mm) {
        y += high + kTrack_mm, x = kTrack_mm, high = 0;
      }
      b.x_mm = x, b.y_mm = y;
      x += b.width_mm + kTrack_mm;
      high = std::max(high, b.height_mm), wide = std::max(wide, x);
    }
    const double bottom = row_of_connectors(kTrack_mm, y + high + kTrack_mm, {controller});
    for (std::size_t k = parts_; k < boxes_.size(); ++k)
      wide = std::max(wide, boxes_[k].at.x_mm + boxes_[k].at.width_mm + kTrack_mm);
    width_mm_ = wide, height_mm_ = bottom;
  }

  std::vector<Corner> hull(const Loop& l, std::size_t capacitor) const {
    std::vector<Corner> corners;
    const auto add = [&](std::size_t k) {
      const PlacedBox& b = boxes_[k].at;
      for (double x : {b.x_mm, b.x_mm + b.width_mm})
        for (double y : {b.y_mm, b.y_mm + b.height_mm}) corners.push_back({x, y});
    };
    add(capacitor);
    for (std::size_t k : l.parts) add(k);
    return hull_of(std::move(corners));
  }

  CurrentLoop drawn(const Loop& l) const {
    CurrentLoop out;
    out.name = l.name;
    out.area_mm2 = HUGE_VAL;
    for (const std::size_t c : l.capacitors) {
      std::vector<Corner> h = hull(l, c);
      const double area = area_of(h);
      if (area >= out.area_mm2) continue;
      out.area_mm2 = area, out.hull = std::move(h), out.refs = {boxes_[c].at.ref};
      out.least_mm2 = boxes_[c].at.width_mm * boxes_[c].at.height_mm;
    }
    for (std::size_t k : l.parts) {
      out.refs.push_back(boxes_[k].at.ref);
      out.least_mm2 += boxes_[k].at.width_mm * boxes_[k].at.height_mm;
    }
    return out;
  }

  double cost() {
    double sum = 0.1 * width_mm_ * height_mm_;
    for (const Loop& l : loops_) {
      double least = HUGE_VAL;
      for (const std::size_t c : l.capacitors) least = std::min(least, area_of(hull(l, c)));
      sum += least;
    }
    extents_.assign(net_names_.size(), {HUGE_VAL, -HUGE_VAL, HUGE_VAL, -HUGE_VAL});
    for (const Box& b : boxes_)
      for (const std::size_t n : b.nets) {
        auto& e = extents_[n];
        e[0] = std::min(e[0], b.middle_x()), e[1] = std::max(e[1], b.middle_x());
        e[2] = std::min(e[2], b.middle_y()), e[3] = std::max(e[3], b.middle_y());
      }
    constexpr double kWire_mm = 0.5;
    for (std::size_t n = 0; n < extents_.size(); ++n) {
      const auto& e = extents_[n];
      if (e[1] >= e[0]) sum += kWire_mm * weights_[n] * (e[1] - e[0] + e[3] - e[2]);
    }
    return sum;
  }

  double cost(const Order& o) {
    lay(o);
    return cost();
  }

  // --- the search
  // -----------------------------------------------------------------------------------

  double draw(std::uint64_t k) const {
    constexpr double kScale = 0x1p-53;
    return static_cast<double>(mix64(k * 0x9e3779b97f4a7c15u + 1) >> 11) * kScale;
  }
  std::size_t pick(std::uint64_t k, std::size_t among) const {
    return std::min(among - 1, static_cast<std::size_t>(draw(k) * static_cast<double>(among)));
  }

  Order changed(const Order& o, std::uint64_t k) const {
    Order n = o;
    const std::size_t a = pick(4 * k + 1, parts_), b = pick(4 * k + 2, parts_);
    const double what = draw(4 * k);
    if (what < 0.4) {
      std::swap(n.parts[a], n.parts[b]);
    } else if (what < 0.75) {
      const std::size_t moved = n.parts[a];
      n.parts.erase(n.parts.begin() + static_cast<std::ptrdiff_t>(a));
      n.parts.insert(n.parts.begin() + static_cast<std::ptrdiff_t>(b), moved);
    } else if (what < 0.9) {
      n.turned[a] = !n.turned[a];
    } else {
      n.width_mm = square_mm_ * (0.8 + draw(4 * k + 3));
    }
    return n;
  }

  void anneal() {
    double area = 0;
    for (std::size_t k = 0; k < parts_; ++k)
      area += (boxes_[k].at.width_mm + kTrack_mm) * (boxes_[k].at.height_mm + kTrack_mm);
    square_mm_ = std::sqrt(area);
    order_ = {std::vector<std::size_t>(parts_), std::vector<bool>(parts_), 1.3 * square_mm_};
    std::iota(order_.parts.begin(), order_.parts.end(), std::size_t{0});
    if (parts_ < 2) return;
    constexpr std::uint64_t kMoves = 20000;
    constexpr double kHot = 0.03, kCold = 1e-4;  // of the first cost
    Order now = order_;
    double at = cost(now), best = at;
    const double first = at;
    for (std::uint64_t k = 0; k < kMoves; ++k) {
      const double share = static_cast<double>(k) / static_cast<double>(kMoves);
      const double heat = first * kHot * std::pow(kCold / kHot, share);
      Order next = changed(now, k);
      const double to = cost(next);
      if (to > at && draw(~k) > std::exp((at - to) / heat)) continue;
      now = std::move(next), at = to;
      if (at < best) best = at, order_ = now;
    }
  }

  const Design& d_;
  Placement out_;
  std::vector<Box> boxes_;
  std::size_t parts_ = 0;
  std::vector<std::string> net_names_;
  std::vector<double> weights_;
  std::vector<std::array<double, 4>> extents_;  // left, right, top, bottom
  std::vector<Loop> loops_;
  Order order_;
  double square_mm_ = 0, width_mm_ = 0, height_mm_ = 0;
};

}  // namespace

Placement placement_of(const Design& design, const std::map<std::string, double>& current_A) {
  return Placer(design, current_A).place();
}

}  // namespace pb
