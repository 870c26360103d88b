// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/checks_parts.h"

namespace pb::checks {

Derating derating(const Case& c) {
  if (c.design.brief.rules.derating == "none") return {0, 1, 1, 1, 1};
  return {25, 0.9, 0.9, 0.6, 0.8};
}

const PartFigures& of(const RunFigures& f, const std::string& ref) {
  static const PartFigures kNone;
  const auto p = f.parts.find(ref);
  return p == f.parts.end() ? kNone : p->second;
}

double temperature(const RunFigures& f, const std::string& ref) {
  const auto t = f.temperatures.junction_K.find(ref);
  return t == f.temperatures.junction_K.end() ? 0.0 : t->second;
}

double weakest_pulse_A(const Case& c, const Leg& leg) {
  double least = 1e300;
  for (const auto* side : {&leg.high, &leg.low})
    for (const std::string& ref : *side)
      if (const Place* p = find_place(c.design.wiring, ref)) {
        const Part& part = c.design.parts.at(p->role);
        const bool mos = part.part_class == "n-mosfet" || part.part_class == "p-mosfet";
        const double rating = figure(part, mos ? "drain_pulsed" : "ic_max");
        if (given(rating)) least = std::min(least, rating);
      }
  return least;
}

bool across_rail(const Place& p) {
  const auto has = [&](const char* n) {
    return std::find(p.nodes.begin(), p.nodes.end(), n) != p.nodes.end();
  };
  return p.nodes.size() == 2 && has(kRail) && has(kGround);
}

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
  return std::min(least, chip_rating_V(c));
}

}  // namespace pb::checks
