// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What could short the supply: edges, reset, one supply alone.
#include "judgement/checks_parts.h"

namespace pb::checks {
namespace {

// A leg that conducts through while nothing moves heats for ever; 10 mA is a hundredth of what any
// of these switches carries, and far above any leakage.
constexpr double kStandingCross_A = 10e-3;

Rows standing_cross(const Case& c, const RunFigures& f) {
  Rows out;
  for (const Leg& l : c.design.wiring.legs) {
    const auto x = f.leg_settled_cross_A.find(l.output);
    if (x != f.leg_settled_cross_A.end())
      out.push_back({l.output, x->second, kStandingCross_A, Grade::assumed});
  }
  return out;
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

Rows partial_supply(const Case& c, const Point&, const Evidence& e) {
  if (!e.has_windows) return {};
  Rows out = standing_cross(c, e.rail_only);
  constexpr double kInjection_A = 5e-3;  // into an unpowered controller through its protection
                                         // diode; common practice, no source
  for (const Pin& p : c.design.wiring.pins)
    out.push_back(
        {"into " + p.name, of(e.rail_only, p.name).current_A.value, kInjection_A, Grade::assumed});
  for (const Pin& p : c.design.wiring.pins) {
    const auto i = e.logic_only.pin_current_A.find(p.name);
    if (i != e.logic_only.pin_current_A.end())
      out.push_back({"from " + p.name, i->second.value,
                     c.design.brief.controller.pin_source_current_A, Grade::guaranteed});
  }
  return out;
}

}  // namespace pb::checks
