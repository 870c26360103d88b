// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/unit_heat.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace pb {

using namespace physics;

namespace {

/// Parabola through 0 at 0 and what is known at the ends; a straight line through one of them.
double along(double x, double low_x, double low, double high_x, double high) {
  if (low_x == 0.0 && high_x == 0.0) return 0.0;
  if (low_x == 0.0) return high * x / high_x;
  if (high_x == 0.0) return low * x / low_x;
  const double span = high_x - low_x;
  return x * (high * (x - low_x) / high_x - low * (x - high_x) / low_x) / span;
}

/// How many parts away each place is, one that shares a node being the next; what all share, ground
/// and supplies, brings none together.
std::vector<int> steps_from(const Place& from, const std::vector<Place>& places) {
  constexpr int kFar = 1 << 20;
  const auto touch = [](const Place& a, const Place& b) {
    return std::any_of(a.nodes.begin(), a.nodes.end(), [&](const std::string& node) {
      return node != kGround && node != kRail && node != kLogic &&
             std::find(b.nodes.begin(), b.nodes.end(), node) != b.nodes.end();
    });
  };
  std::vector<int> steps(places.size(), kFar);
  std::vector<std::size_t> edge;
  for (std::size_t k = 0; k < places.size(); ++k)
    if (places[k].ref == from.ref) steps[k] = 0, edge.push_back(k);
  for (std::size_t next = 0; next < edge.size(); ++next)
    for (std::size_t k = 0; k < places.size(); ++k)
      if (steps[k] == kFar && touch(places[edge[next]], places[k]))
        steps[k] = steps[edge[next]] + 1, edge.push_back(k);
  return steps;
}

/// Those of a role that are the fewest steps away.
std::vector<const Place*> nearest_of(const std::string& role, const std::vector<int>& steps,
                                     const std::vector<Place>& places) {
  std::vector<const Place*> out;
  int least = 0;
  for (std::size_t k = 0; k < places.size(); ++k) {
    if (places[k].role != role || (!out.empty() && steps[k] > least)) continue;
    if (out.empty() || steps[k] < least) out.clear();
    least = steps[k];
    out.push_back(&places[k]);
  }
  return out;
}

}  // namespace

HeatByFigure::HeatByFigure(const Case& c, HeatGuess nominal, const std::vector<FigureEnd>& ends)
    : case_(c),
      nominal_(std::move(nominal)),
      ambient_K_(value_of(c.spreads, typical(c.spreads), "ambient")) {
  const Rises move = rises(nominal_.move, ambient_K_), hold = rises(nominal_.hold, ambient_K_);
  PB_CHECK(move.size() == hold.size(), move.size(), hold.size());
  for (const FigureEnd& e : ends) {
    if (figures_.empty() || figures_.back().at != e.figure) figures_.push_back({e.figure, {}, {}});
    const double away = e.point.value[e.figure] - c.spreads[e.figure].typ,
                 ambient_K = value_of(c.spreads, e.point, "ambient");
    const Rises moving = rises(e.heat.move, ambient_K), holding = rises(e.heat.hold, ambient_K);
    // A run that was stopped tells nothing.
    if (away == 0.0 || moving.size() != move.size() || holding.size() != hold.size()) continue;
    (away < 0 ? figures_.back().low : figures_.back().high) = {away, shares(moving, move),
                                                               shares(holding, hold)};
  }
  find_nearest();
}

HeatByFigure::Rises HeatByFigure::rises(const Temperatures& t, double ambient_K) {
  Rises out = {t.winding_K - ambient_K, t.board_K - ambient_K};
  for (const auto& [ref, T_K] : t.junction_K) out.push_back(T_K - t.board_K);
  return out;
}

HeatByFigure::Rises HeatByFigure::shares(const Rises& there, const Rises& nominal) {
  constexpr double kLeast_K = 0.01;  // of less heat no share is worth knowing
  Rises out(there.size(), 0.0);
  for (std::size_t k = 0; k < out.size(); ++k)
    if (nominal[k] > kLeast_K) out[k] = there[k] / nominal[k] - 1.0;
  return out;
}

void HeatByFigure::find_nearest() {
  const std::vector<Place>& places = case_.design.wiring.places;
  const std::vector<int> alike(places.size(), 0);
  std::vector<std::vector<int>> steps(2, alike);  // all count for windings and board
  for (const auto& [ref, T_K] : nominal_.move.junction_K) {
    const Place* own = find_place(case_.design.wiring, ref);
    steps.push_back(own ? steps_from(*own, places) : alike);
  }
  for (const Figure& f : figures_) {
    const std::string& role = case_.spreads[f.at].role;
    if (role.empty() || nearest_.contains(role)) continue;
    for (const std::vector<int>& s : steps) nearest_[role].push_back(nearest_of(role, s, places));
  }
}

/// What the figure is to windings, board and each junction.
std::vector<double> HeatByFigure::values(const Point& p, std::size_t figure) const {
  const Spread& s = case_.spreads[figure];
  std::vector<double> out(nominal_.move.junction_K.size() + 2, p.value[figure]);
  if (s.role.empty()) return out;
  const std::string name = s.name.substr(s.role.size() + 1);
  const std::vector<std::vector<const Place*>>& nearest = nearest_.at(s.role);
  for (std::size_t k = 0; k < out.size(); ++k) {
    if (nearest[k].empty()) continue;
    double sum = 0;
    for (const Place* place : nearest[k]) sum += place_value(case_.spreads, p, *place, name);
    out[k] = sum / static_cast<double>(nearest[k].size());
  }
  return out;
}

Temperatures HeatByFigure::guess(const Point& p, const Temperatures& nominal,
                                 Rises End::* of) const {
  Rises rise = rises(nominal, ambient_K_);
  for (const Figure& f : figures_) {
    const std::vector<double> x = values(p, f.at);
    for (std::size_t k = 0; k < rise.size(); ++k) {
      const auto share = [&](const End& e) { return e.away == 0.0 ? 0.0 : (e.*of)[k]; };
      rise[k] *= 1.0 + along(x[k] - case_.spreads[f.at].typ, f.low.away, share(f.low), f.high.away,
                             share(f.high));
    }
  }
  const double ambient_K = value_of(case_.spreads, p, "ambient");
  Temperatures t = nominal;
  t.winding_K = ambient_K + rise[0], t.board_K = ambient_K + rise[1];
  std::size_t k = 2;
  for (auto& [ref, T_K] : t.junction_K) T_K = t.board_K + rise[k++];
  return t;
}

HeatGuess HeatByFigure::at(const Point& p) const {
  return {guess(p, nominal_.move, &End::move), guess(p, nominal_.hold, &End::hold)};
}

}  // namespace pb
