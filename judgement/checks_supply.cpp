// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The rail and what stands across it: supply, capacitors, clamp.
#include "judgement/checks_parts.h"

#include <algorithm>

namespace pb::checks {
namespace {

/// Least rating of what stands across the rail; switches through their drain rating.
double rail_rating(const Case& c) {
  double least = 1e300;
  const Derating d = derating(c);
  for_parts(c, {"electrolytic", "ceramic"}, [&](const Place& p, const Part& part) {
    if (across_rail(p)) least = std::min(least, d.capacitor * figure(part, "voltage_max"));
  });
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place&, const Part& part) {
    least = std::min(least, d.voltage * figure(part, "vds_max"));
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place&, const Part& part) {
    least = std::min(least, d.voltage * figure(part, "vce_max"));
  });
  return least;
}

}  // namespace

Rows clamp_standoff(const Case& c, const Point& point, const Evidence&) {
  Rows out;
  for_parts(c, {"zener"}, [&](const Place& p, const Part& part) {
    if (!across_rail(p)) return;
    const double vz = value_of(c.spreads, point, p.role + ".breakdown");
    const double knee = vz - figure(part, "zz") * figure(part, "iz_test");
    out.push_back({p.ref,
                   knee,
                   value_of(c.spreads, point, "supply.voltage"),
                   Grade::guaranteed,
                   {"V_Z - Z_Z I_ZT", knee}});
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

Rows rail_peak(const Case& c, const Point&, const Evidence& e) {
  return {{"rail", e.move.figures.rail_max_V, rail_rating(c), Grade::modelled}};
}

Rows rail_dip(const Case& c, const Point& p, const Evidence& e) {
  // A rail that falls by a fifth at an edge resets what lives on it; common practice, no source.
  return {{"rail", e.move.figures.rail_min_V, 0.8 * value_of(c.spreads, p, "supply.voltage"),
           Grade::assumed}};
}

Rows hot_plug(const Case& c, const Point&, const Evidence& e) {
  if (!e.has_windows) return {};
  return {{"rail", e.reset.rail_max_V, rail_rating(c), Grade::modelled}};
}

Rows supply_mean(const Case& c, const Point& p, const Evidence& e) {
  const double limit = c.design.brief.supply.current_limit_A;
  if (!given(limit)) return {};
  const double windings = c.hold_flow.find('0') == std::string::npos ? 2.0 : 1.0;
  return {{"supply",
           std::max(e.move.figures.supply_mean_A, e.hold.figures.supply_mean_A),
           limit,
           Grade::modelled,
           {"n V/R", windings * current_by_hand(c, p)}}};
}

Rows supply_peak(const Case& c, const Point&, const Evidence& e) {
  const double limit = c.design.brief.supply.current_limit_A;
  if (!given(limit)) return {};
  return {{"supply", e.move.figures.supply_peak_A, 1.5 * limit, Grade::assumed}};
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

Rows capacitor_voltage(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"electrolytic", "ceramic"}, [&](const Place& p, const Part& part) {
    if (across_rail(p))
      out.push_back({p.ref, e.move.figures.rail_max_V,
                     derating(c).capacitor * figure(part, "voltage_max"), Grade::guaranteed});
  });
  return out;
}

}  // namespace pb::checks
