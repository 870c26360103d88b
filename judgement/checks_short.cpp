// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What could short the supply: edges, reset, patterns of the pins, one supply alone.
#include "judgement/checks_parts.h"

#include <algorithm>

namespace pb::checks {
namespace {

Rows standing_cross(const Case& c, const RunFigures& f) {
  Rows out;
  for (const Leg& l : c.design.wiring.legs) {
    const auto x = f.leg_settled_cross_A.find(l.output);
    if (x != f.leg_settled_cross_A.end())
      out.push_back({l.output, x->second, kStandingCross_A, Grade::assumed});
  }
  return out;
}

/// V/(R_source + R_on of both sides): what a shorted leg draws once the capacitors are empty. [A]
double short_by_hand_A(const Case& c, const Paper& paper, const Leg& leg) {
  double ohms = c.design.brief.supply.resistance_ohm;
  for (const auto* side : {&leg.high, &leg.low})
    for (const std::string& ref : *side)
      if (const Place* p = find_place(c.design.wiring, ref)) {
        const std::string& part_class = c.design.parts.at(p->role).part_class;
        if (part_class == "n-mosfet" || part_class == "p-mosfet")
          ohms += paper.value(p->role + ".on_resistance");
      }
  return paper.supply_V() / ohms;
}

}  // namespace

Rows shoot_through_edge(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for (const Leg& l : c.design.wiring.legs) {
    const double limit = weakest_pulse_A(c, l);
    const auto x = e.move.figures.leg_cross_A.find(l.output);
    if (limit < 1e299 && x != e.move.figures.leg_cross_A.end())
      out.push_back({l.output, x->second.value, limit, Grade::modelled});
  }
  return out;
}

Rows shoot_through_reset(const Case& c, const Point&, const Evidence& e) {
  return e.has_windows ? standing_cross(c, e.reset) : Rows{};
}

// What the program passes through lasts as long as one write takes: the pulse rating bounds it. A
// pattern the program never writes is a fault, shown but not judged, unless the brief's rules ask
// that the driver lives with it for ever.
Rows shoot_through_fault(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  const bool survive = c.design.brief.rules.wrong_pins == "survive";
  for (const Leg& l : c.design.wiring.legs) {
    const auto found = e.patterns.find(l.output);
    if (found == e.patterns.end()) continue;
    const LegPatterns& leg = found->second;
    const double pulse_A = weakest_pulse_A(c, l);
    const double limit = survive || pulse_A > 1e299 ? kStandingCross_A : pulse_A;
    const double value = leg.unknown ? kNotGiven : survive ? leg.worst_A : leg.worst_passed_A;
    Measured m{l.output, value, limit, survive ? Grade::assumed : Grade::modelled};
    m.facts = {{"patterns_1", leg.patterns},
               {"patterns_passed_through_1", leg.passed},
               {"patterns_that_conduct_through_1", leg.shorting},
               {"worst_of_all_patterns_A", leg.worst_A},
               {"worst_passed_through_A", leg.worst_passed_A}};
    if (value > kStandingCross_A)
      m.hand = {"V/(R_source + R_high + R_low)", short_by_hand_A(c, paper, l)};
    out.push_back(std::move(m));
  }
  return out;
}

Rows partial_supply(const Case& c, const Point& point, const Evidence& e) {
  if (!e.has_windows) return {};
  Rows out = standing_cross(c, e.rail_only);
  const Paper paper(c, point);
  // Into an unpowered controller through its protection diode; common practice, no source.
  constexpr double kInjection_A = 5e-3, kDiode_V = 0.6;
  for (const Pin& p : c.design.wiring.pins) {
    const double to_rail_S = paper.conductance_S(p.node, kRail);
    out.push_back({"into " + p.name, of(e.rail_only, p.name).current_A.value, kInjection_A,
                   Grade::assumed,
                   to_rail_S > 0 ? Hand{"(V - 0.6 V)/R to the rail",
                                        std::max(paper.supply_V() - kDiode_V, 0.0) * to_rail_S}
                                 : Hand{}});
  }
  for (const Pin& p : c.design.wiring.pins) {
    const auto i = e.logic_only.pin_current_A.find(p.name);
    if (i != e.logic_only.pin_current_A.end())
      out.push_back({"from " + p.name, i->second.value,
                     c.design.brief.controller.pin_source_current_A, Grade::guaranteed});
  }
  return out;
}

}  // namespace pb::checks
