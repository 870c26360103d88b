// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The board: resistors, traces, vias, leads, cost.
#include "judgement/checks_parts.h"

#include <algorithm>
#include <map>

#include "judgement/cost.h"
#include "physics/copper.h"

namespace pb::checks {
namespace {

double path_rms_A(const Evidence& e) {
  double most = 0;
  for (const RunFigures* f : {&e.move.figures, &e.hold.figures})
    most = std::max({most, f->winding_a.rms_A, f->winding_b.rms_A, f->supply_mean_A});
  return most;
}

double path_by_hand_A(const Case& c, const Point& p) {
  const Paper paper(c, p);
  return paper.windings() * paper.winding_A();
}

}  // namespace

Rows resistor_power(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  const auto level = [&](const std::string& node) {
    if (node == kGround) return 0.0;
    if (node == kRail) return paper.supply_V();
    const auto& pins = c.design.wiring.pins;
    const bool logic = node == kLogic || std::any_of(pins.begin(), pins.end(),
                                                     [&](const Pin& p) { return p.node == node; });
    return logic ? paper.logic_V() : kNotGiven;
  };
  for_parts(c, {"resistor"}, [&](const Place& p, const Part& part) {
    const double loss =
        std::max(of(e.move.figures, p.ref).loss_W, of(e.hold.figures, p.ref).loss_W);
    // Between a pin or supply and ground the closed form holds, at the pin's worse level.
    const bool to_ground = p.nodes[0] == kGround || p.nodes[1] == kGround;
    const double volts = level(p.nodes[0]) + level(p.nodes[1]);
    Hand hand;
    if (to_ground && given(volts))
      hand = {"V^2/R", square(volts) / paper.value(p.role + ".resistance")};
    out.push_back({p.ref, loss, derating(c).resistor * figure(part, "power_max"), Grade::guaranteed,
                   std::move(hand)});
  });
  return out;
}

Rows trace(const Case& c, const Point& p, const Evidence& e) {
  const Brief& b = c.design.brief;
  constexpr double kRouted_m = 1.0e-3;  // width this tool asks the layout for
  const auto width_m = [&](double i) {
    return trace_area_m2(i, b.rules.trace_rise_K, kOuterTrace) / b.build.copper_thickness_m;
  };
  return {{"rail and outputs",
           width_m(path_rms_A(e)),
           kRouted_m,
           Grade::assumed,
           {"width for n V/(R + R_on)", width_m(path_by_hand_A(c, p))}}};
}

Rows via(const Case& c, const Point& p, const Evidence& e) {
  constexpr double kHole_m = 0.3e-3, kPlating_m = 25e-6;
  return {{"rail and outputs, two vias",
           path_rms_A(e),
           2.0 * trace_current_A(via_area_m2(kHole_m, kPlating_m),
                                 c.design.brief.rules.trace_rise_K, kInnerTrace),
           Grade::assumed,
           {"n V/(R + R_on)", path_by_hand_A(c, p)}}};
}

Rows wire(const Case& c, const Point& p, const Evidence& e) {
  constexpr double kAwg26_A = 2.5;  // single wire, MIL-STD-975M appendix A
  return {{"motor and supply leads, AWG 26",
           path_rms_A(e),
           kAwg26_A,
           Grade::assumed,
           {"n V/(R + R_on)", path_by_hand_A(c, p)}}};
}

Rows cost_target(const Case& c, const Point&, const Evidence&) {
  const double target = c.design.brief.build.target_cost;
  if (!given(target)) return {};
  const std::vector<CostLine> lines = cost_lines(c.design);
  // A board that cannot be priced has no number: the proof is then undecided, not silent.
  if (!cost_faults(c.design.brief, lines).empty())
    return {{"board", kNotGiven, target, Grade::guaranteed}};
  return {{"board", landed_cost(c.design.brief, lines).total, target, Grade::guaranteed}};
}

}  // namespace pb::checks
