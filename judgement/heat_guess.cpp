// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/heat_guess.h"

#include <algorithm>

#include "judgement/run_requests.h"

namespace pb {

using namespace physics;

Temperatures shifted(const Case& c, const Point& p, const RunFigures& nominal) {
  Temperatures t = nominal.temperatures;
  const double by =
      value_of(c.spreads, p, "ambient") - value_of(c.spreads, typical(c.spreads), "ambient");
  for (auto& [ref, T_K] : t.junction_K) T_K += by;
  t.winding_K += by, t.board_K += by;
  return t;
}

namespace {

/// Where heating is likely to end, from where it ends at nominal: the windings' loss follows
/// V^2/R of hot copper, the junctions' the square of that current and their own on-resistance. Only
/// where an iteration begins; a good guess saves it a round.
Temperatures likely(const Case& c, const Point& p, const RunFigures& nominal) {
  const Point typ = typical(c.spreads);
  const auto ratio = [&](const std::string& name) {
    return value_of(c.spreads, p, name) / value_of(c.spreads, typ, name);
  };
  const double volts = ratio("supply.voltage"), ohms = ratio("motor.winding_resistance");
  const double from_K = value_of(c.spreads, typ, "ambient"),
               to_K = value_of(c.spreads, p, "ambient");
  Temperatures t = nominal.temperatures;
  const double rise_K = t.winding_K - from_K, copper = copper_ratio(t.winding_K);
  double hot = ohms;  // resistance of the hot winding over the nominal hot one
  constexpr int kRounds = 5;
  for (int k = 0; k < kRounds; ++k) {
    t.winding_K = to_K + rise_K * square(volts) / hot;
    hot = ohms * copper_ratio(t.winding_K) / copper;
  }
  t.board_K = to_K + (t.board_K - from_K) * square(volts / hot);
  for (auto& [ref, T_K] : t.junction_K) {
    const Place* place = find_place(c.design.wiring, ref);
    const auto own = std::find_if(c.spreads.begin(), c.spreads.end(), [&](const Spread& s) {
      return place && s.name == place->role + ".on_resistance";
    });
    const double own_ohms = own == c.spreads.end()
                                ? 1.0
                                : place_value(c.spreads, p, *place, "on_resistance") / own->typ;
    T_K = to_K + (T_K - from_K) * square(volts / hot) * own_ohms;
  }
  return t;
}

}  // namespace

HeatGuess likely_heat(const Case& c, const Point& p, const RunFigures& move,
                      const RunFigures& hold) {
  return {likely(c, p, move), likely(c, p, hold)};
}

HeatGuess heat_at_rest(const Case& c, const Point& p) {
  Temperatures cold;
  cold.winding_K = value_of(c.spreads, p, "ambient");
  HeatGuess out{cold, cold};
  if (regulated(c.design.brief)) return out;
  RunRequest r = standing_request(c, {}, 0.01, 1.0);
  const auto at_rest = [&](Temperatures& to) {
    const HeatedRun standing = stand_heated(c.design, c.spreads, p, r);
    if (standing.consistent) to = standing.figures.temperatures;
    return standing;
  };
  r.rest = rest_of(c, p, at_rest(out.hold));
  if (r.rest)
    at_rest(out.move);
  else
    out.move = out.hold;
  return out;
}

}  // namespace pb
