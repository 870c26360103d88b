// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The controller: its pins and what they carry.
#include "judgement/checks_parts.h"

#include <algorithm>

namespace pb::checks {

Rows pin_current(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  const ControllerBrief& k = c.design.brief.controller;
  for (const auto& [name, peak] : e.move.figures.pin_current_A) {
    Hand hand;
    if (const Pin* pin = find_pin(c.design.wiring, name))
      if (const double s = paper.conductance_S(pin->node); s > 0)
        hand = {"V_logic/(R_pin + R), all of the pin's resistors",
                paper.logic_V() / (k.pin_resistance_ohm + 1.0 / s)};
    out.push_back({name, peak.value, std::min(k.pin_source_current_A, k.pin_sink_current_A),
                   Grade::guaranteed, std::move(hand)});
  }
  return out;
}

Rows pin_current_total(const Case& c, const Point&, const Evidence& e) {
  return {{"controller", e.move.figures.pin_total_A, c.design.brief.controller.total_current_A,
           Grade::guaranteed}};
}

Rows pins(const Case& c, const Point&, const Evidence&) {
  const double used = controller_pins(c.design.wiring);
  return {{"controller", used, c.design.brief.controller.pins, Grade::guaranteed, {"count", used}}};
}

}  // namespace pb::checks
