// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Driver chips: what they add to the checks of switches. Their switches are out of sight; what can
// be judged is what goes into the package and what heats it.
#include "judgement/checks_parts.h"
#include "judgement/hand.h"
#include "physics/board_heat.h"
#include "physics/sense_path.h"

namespace pb::checks {
namespace {

template <class F>
void for_chips(const Case& c, F f) {
  for (const Place& p : c.design.wiring.places) {
    const auto part = c.design.parts.find(p.role);
    if (part == c.design.parts.end()) continue;
    const PartClass* k = find_part_class(part->second.part_class);
    if (k && is_driver_chip(*k)) f(p, part->second, *k);
  }
}

/// T_a + R_th (n I^2 R_on + I_q V): n windings on the package, each always on; and what as many
/// chips as it takes for all windings make of the board.
Hand junction_by_hand(const Case& c, const Paper& paper, const Place& p, const Part& part,
                      const PartClass& k, bool holding) {
  const double bridges = static_cast<double>(k.inputs.size()) / 2.0;
  const double windings = std::min(bridges, paper.windings()), i = paper.winding_A();
  const double idle_W = figure(part, "quiescent") * paper.supply_V(),
               on_W = windings * i * i * paper.value(p.role + ".on_resistance") + idle_W;
  const auto lasting_W = [&](std::span<const ThermalStage> stages) {
    return holding ? on_W : paper.lasting_W(stages, on_W, on_W, idle_W);
  };
  const double rise_K = without_board_K_W(figure(part, "rth_ja")) * lasting_W(kPackage) +
                        board_K_W(c.design.brief.build.board_area_m2) * lasting_W(kBoardStage) *
                            paper.windings() / windings;
  std::string formula = "T_a + R_th (n I^2 R_on + I_q V) + R_b P_others";
  if (!holding && cycle_of(c.design.brief.motion)) formula += ", each over moves and rests";
  return {std::move(formula), kelvin_to_celsius(paper.value("ambient") + rise_K)};
}

}  // namespace

double chip_rating_V(const Case& c) {
  double least = 1e300;
  for_chips(c, [&](const Place&, const Part& part, const PartClass&) {
    least = std::min(least, derating(c).voltage * figure(part, "supply_max"));
  });
  return least;
}

void add_chip_levels(const Case& c, const Point& point, const Evidence& e, bool high, Rows& out) {
  const Paper paper(c, point);
  for_chips(c, [&](const Place& p, const Part& part, const PartClass& k) {
    for (std::string_view terminal : k.inputs) {
      const std::string name = input_name(p.ref, terminal);
      const auto s = e.move.figures.switches.find(name);
      if (s == e.move.figures.switches.end()) continue;
      const SwitchState& w = s->second;
      // Between the two levels an input is neither: what the chip then does is anybody's guess.
      if (high && w.on_states > 0)
        out.push_back({name,
                       w.on_control_V,
                       figure(part, "input_high_min"),
                       Grade::guaranteed,
                       {"V_logic", paper.logic_V()}});
      if (!high && w.off_states > 0)
        out.push_back(
            {name, w.off_control_V, figure(part, "input_low_max"), Grade::guaranteed, {"0", 0.0}});
    }
    // The chip drives its own switches from its supply.
    const double drop_V =
        paper.windings() * paper.winding_A() * c.design.brief.supply.resistance_ohm;
    if (high)
      out.push_back({p.ref + " supply",
                     e.move.figures.rail_min_V,
                     figure(part, "supply_min"),
                     Grade::guaranteed,
                     {"V - n I R_source", paper.supply_V() - drop_V}});
  });
  if (!high) return;
  for_parts(c, {"comparator"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " supply",
                   paper.logic_V(),
                   figure(part, "supply_min"),
                   Grade::guaranteed,
                   {"V_logic", paper.logic_V()}});
  });
}

void add_chip_voltages(const Case& c, const Point& point, const Evidence& e, Rows& out) {
  const Paper paper(c, point);
  const Derating d = derating(c);
  for_chips(c, [&](const Place& p, const Part& part, const PartClass&) {
    const PartFigures& f = of(e.move.figures, p.ref);
    out.push_back({p.ref + " supply",
                   f.voltage_V.value,
                   d.voltage * figure(part, "supply_max"),
                   Grade::guaranteed,
                   {"V", paper.supply_V()}});
    out.push_back({p.ref + " inputs",
                   f.control_V.value,
                   d.gate * figure(part, "input_max"),
                   Grade::guaranteed,
                   {"V_logic", paper.logic_V()}});
  });
  for_parts(c, {"comparator"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " supply",
                   paper.logic_V(),
                   d.voltage * figure(part, "supply_max"),
                   Grade::guaranteed,
                   {"V_logic", paper.logic_V()}});
  });
}

void add_chip_peaks(const Case& c, const Point& point, const Evidence& e, Rows& out) {
  for_chips(c, [&](const Place& p, const Part& part, const PartClass& k) {
    out.push_back({p.ref,
                   of(e.move.figures, p.ref).current_A.value,
                   figure(part, "output_peak"),
                   Grade::guaranteed,
                   {"V/(R + R_on)", Paper(c, point).winding_A()}});
    if (!measures_current(c.design.brief) || !physics::is_chopper_chip(k)) return;
    // Beyond its greatest sense voltage the chip promises no current.
    for (int w : {0, 1})
      out.push_back({p.ref + (w == 0 ? " sense a" : " sense b"),
                     (w == 0 ? e.move.figures.winding_a : e.move.figures.winding_b).peak_A,
                     figure(part, "sense_max") / physics::sense_ohm(c.design, w),
                     Grade::guaranteed,
                     {"I", regulated_current(c.design.brief)}});
  });
}

void add_chip_junctions(const Case& c, const Point& point, const HeatedRun& r, bool holding,
                        Rows& out) {
  const Paper paper(c, point);
  for_chips(c, [&](const Place& p, const Part& part, const PartClass& k) {
    out.push_back({p.ref, kelvin_to_celsius(r.runaway ? kRunaway_K : temperature(r.figures, p.ref)),
                   kelvin_to_celsius(figure(part, "tj_max") - derating(c).junction_K),
                   Grade::modelled, junction_by_hand(c, paper, p, part, k, holding)});
  });
}

}  // namespace pb::checks
