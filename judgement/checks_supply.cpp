// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The rail and what stands across it: supply, capacitors, clamp.
#include "judgement/checks_parts.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "judgement/protection.h"
#include "physics/extraction.h"

namespace pb::checks {
namespace {

bool has_clamp(const Case& c) {
  bool any = false;
  for_parts(c, {"zener"}, [&](const Place& p, const Part&) { any = any || across_rail(p); });
  return any;
}

/// What a breakdown diode takes in one pulse. Without a rated pulse energy: what its steady rating
/// lets through in a millisecond, which a part that lives with it for ever takes for once; beyond
/// that only the missing figure can tell.
double pulse_energy_J(const Part& part, double needed_J) {
  constexpr double kSure_s = 1e-3;
  if (const double rated = figure(part, "pulse_energy"); given(rated)) return rated;
  const double sure = kSure_s * figure(part, "power_max");
  return needed_J <= sure ? sure : kNotGiven;
}

/// Rating of the fuse in the supply's lead: the supply's own limit, else half as much again as the
/// motor draws at rest (common practice, no source), but one that is made.
double fuse_A(const Case& c, const Paper& paper) {
  constexpr double kSmallest_A = 0.032;  // IEC 60127-2; from memory
  const double limit = c.design.brief.supply.current_limit_A;
  return given(limit) ? limit : std::max(1.5 * paper.windings() * paper.winding_A(), kSmallest_A);
}

/// First peak of a supply switched on to R, L and C in series. Source: any text on circuits.
double plugged_V(const Case& c, const Paper& paper) {
  const SupplyBrief& s = c.design.brief.supply;
  const double ohms = s.resistance_ohm + paper.rail_esr_ohm();
  const double z = 0.5 * ohms * std::sqrt(paper.rail_F() / s.cable_inductance_H);
  const double over = z < 1 ? std::exp(-std::numbers::pi * z / std::sqrt(1.0 - z * z)) : 0.0;
  return paper.supply_V() * (1.0 + over);
}

}  // namespace

Rows clamp_standoff(const Case& c, const Point& point, const Evidence&) {
  Rows out;
  for_parts(c, {"zener"}, [&](const Place& p, const Part& part) {
    if (!across_rail(p)) return;
    const double knee = physics::knee_V(part, place_value(c.spreads, point, p, "breakdown"));
    out.push_back({p.ref,
                   knee,
                   value_of(c.spreads, point, "supply.voltage"),
                   Grade::guaranteed,
                   {"V_Z - R (I_ZT - I_ZK) - nV_T ln(I_ZT/I_ZK)", knee}});
  });
  return out;
}

Rows clamp_power(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"zener"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref,
                   std::max(of(e.move.figures, p.ref).loss_W, of(e.hold.figures, p.ref).loss_W),
                   derating(c).resistor * figure(part, "power_max"), Grade::guaranteed});
  });
  return out;
}

Rows clamp_energy(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  const Hand hand{"n L I^2/2", paper.winding_energy_J()};
  for_parts(c, {"zener"}, [&](const Place& p, const Part& part) {
    if (!across_rail(p)) return;
    const double pulse = of(e.move.figures, p.ref).state_loss_J;
    out.push_back({p.ref, pulse, pulse_energy_J(part, pulse), Grade::modelled, hand});
  });
  if (!out.empty()) return out;
  // No clamp: the capacitors across the rail take it, from the supply's voltage up to the weakest
  // part's.
  const double f = paper.rail_F(), at_supply_J = paper.rail_stored_J(paper.supply_V());
  const auto above_supply_J = [&](double peak) { return paper.rail_stored_J(peak) - at_supply_J; };
  constexpr double kNothing_J = 1e-12;
  const double room_J = std::max(above_supply_J(rail_rating(c)), kNothing_J);
  out.push_back({"rail capacitors",
                 std::max(above_supply_J(e.move.figures.rail_max_V), 0.0),
                 room_J,
                 Grade::modelled,
                 hand,
                 {{"needed_by_hand_F", f * hand.value / room_J}}});
  return out;
}

Rows rail_peak(const Case& c, const Point& p, const Evidence& e) {
  const Paper paper(c, p);
  return {{"rail", e.move.figures.rail_max_V, rail_rating(c), Grade::modelled,
           has_clamp(c) ? Hand{} : Hand{"sqrt(V^2 + n L I^2/C)", paper.swallowed_V()}}};
}

Rows rail_dip(const Case& c, const Point& p, const Evidence& e) {
  // A rail that falls by a fifth at an edge resets what lives on it; common practice, no source.
  const Paper paper(c, p);
  const double drop_V = paper.windings() * paper.winding_A() * c.design.brief.supply.resistance_ohm;
  return {{"rail",
           e.move.figures.rail_min_V,
           0.8 * paper.supply_V(),
           Grade::assumed,
           {"V - n I R_source", paper.supply_V() - drop_V}}};
}

Rows hot_plug(const Case& c, const Point& p, const Evidence& e) {
  if (!e.has_windows) return {};
  return {{"rail",
           e.reset.rail_max_V,
           rail_rating(c),
           Grade::modelled,
           {"V (1 + exp(-pi z/sqrt(1 - z^2))), z = (R/2) sqrt(C/L)", plugged_V(c, Paper(c, p))}}};
}

Rows supply_mean(const Case& c, const Point& p, const Evidence& e) {
  const double limit = c.design.brief.supply.current_limit_A;
  if (!given(limit)) return {};
  const Paper paper(c, p);
  return {{"supply",
           std::max(e.move.figures.supply_mean_A, e.hold.figures.supply_mean_A),
           limit * Protection(c.design.brief).carries(paper.value("ambient")),
           Grade::modelled,
           {"n V/(R + R_on)", paper.windings() * paper.winding_A()}}};
}

Rows supply_peak(const Case& c, const Point& p, const Evidence& e) {
  const double limit = c.design.brief.supply.current_limit_A;
  if (!given(limit)) return {};
  const Paper paper(c, p);
  return {{"supply",
           e.move.figures.supply_peak_A,
           1.5 * limit,
           Grade::assumed,
           {"n V/(R + R_on)", paper.windings() * paper.winding_A()}}};
}

Rows supply_inrush(const Case& c, const Point& p, const Evidence& e) {
  if (!e.has_windows) return {};
  const Paper paper(c, p);
  const double ohms = c.design.brief.supply.resistance_ohm + paper.rail_esr_ohm();
  return {
      {"supply",
       e.reset.supply_i2t_A2s,
       Protection(c.design.brief).survives_A2s(paper.value("ambient")) * square(fuse_A(c, paper)),
       given(c.design.brief.supply.current_limit_A) ? Grade::modelled : Grade::assumed,
       {"C V^2/(2 (R_source + ESR))", 0.5 * paper.rail_F() * square(paper.supply_V()) / ohms},
       {{"peak_A", e.reset.supply_peak_A}, {"fuse_A", fuse_A(c, paper)}}}};
}

Rows capacitor_ripple(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"electrolytic"}, [&](const Place& p, const Part& part) {
    const double limit = figure(part, "ripple_max");
    if (given(limit))
      out.push_back({p.ref, of(e.move.figures, p.ref).rms_A, limit, Grade::modelled});
  });
  return out;
}

Rows capacitor_voltage(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  for_parts(c, {"electrolytic", "ceramic"}, [&](const Place& p, const Part& part) {
    if (across_rail(p))
      out.push_back({p.ref, e.move.figures.rail_max_V,
                     derating(c).capacitor * figure(part, "voltage_max"), Grade::guaranteed,
                     has_clamp(c) ? Hand{} : Hand{"sqrt(V^2 + n L I^2/C)", paper.swallowed_V()}});
  });
  return out;
}

}  // namespace pb::checks
