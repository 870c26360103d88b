// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Switches and diodes: drive, ratings, junctions.
#include "judgement/checks_parts.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "physics/board_heat.h"
#include "physics/extraction.h"
#include "physics/heat.h"

namespace pb::checks {
namespace {

/// Gate voltage of a switch that is on; nothing where the closed form does not hold.
Hand on_by_hand(const Paper& paper, const Place& place, const char* formula) {
  const double volts = paper.gate_V(place, true);
  return given(volts) ? Hand{formula, volts} : Hand{};
}

/// Share of the time that a switch carries, moving or holding.
double carrying(const Paper& paper, const std::string& ref, bool holding) {
  if (!holding) return paper.duty(ref);
  return paper.on_in_hold(ref) ? 1.0 : 0.0;
}

/// Loss, as if it lasted, of a switch that carries for its share of the time; other parts have no
/// closed form.
double loss_by_hand(const Paper& paper, const Place& p, bool holding,
                    std::span<const ThermalStage> stages) {
  if (!paper.in_a_leg(p.ref)) return 0.0;
  const double on_W = paper.on_loss_W(p), hold_W = carrying(paper, p.ref, true) * on_W;
  return holding ? hold_W : paper.lasting_W(stages, carrying(paper, p.ref, false) * on_W, hold_W);
}

/// What the others add to a junction: through the board, and the other half of a shared package.
double neighbours_by_hand(const Paper& paper, const Design& d, const Place& p, bool holding) {
  double sum_K = 0;
  for (const Place& other : d.wiring.places)
    if (other.ref != p.ref)
      sum_K +=
          board_K_W(d.brief.build.board_area_m2) * loss_by_hand(paper, other, holding, kBoardStage);
  if (const SharedPackage* package = shared_by(d, p.ref))
    sum_K +=
        without_board_K_W(package->mutual_K_W) *
        loss_by_hand(paper, *find_place(d.wiring, other_half(*package, p.ref)), holding, kPackage);
  return sum_K;
}

/// Ambient, the part alone on the board, and what the others add.
Hand junction_by_hand(const Paper& paper, const Design& d, const Place& p, const Part& part,
                      bool holding) {
  if (!paper.in_a_leg(p.ref)) return {};
  const double rise_K =
      without_board_K_W(figure(part, "rth_ja")) * loss_by_hand(paper, p, holding, kPackage) +
      board_K_W(d.brief.build.board_area_m2) * loss_by_hand(paper, p, holding, kBoardStage) +
      neighbours_by_hand(paper, d, p, holding);
  std::string formula =
      holding ? "T_a + R_th P_on + R_b P_others" : "T_a + R_th D P_on + R_b P_others";
  if (!holding && cycle_of(d.brief.motion)) formula += ", each over moves and rests";
  if (shared_by(d, p.ref)) formula += holding ? " + M P_2" : " + M D_2 P_2";
  return {std::move(formula), kelvin_to_celsius(paper.value("ambient") + rise_K)};
}

/// Where a MOSFET's own heat would have no balance; nothing of what has no on-resistance.
std::map<std::string, double> runaway_of(const Case& c, const Point& point, const Place& p,
                                         const Part& part) {
  const double sign = part.part_class == "n-mosfet" ? 1.0 : -1.0;
  if (figure_index(*find_part_class(part.part_class), "rds_max") < 0) return {};
  const auto unit = [&](const char* name) { return place_value(c.spreads, point, p, name); };
  const double threshold_V = unit("threshold"), rds_ohm = unit("on_resistance");
  return {{"runaway_A", runaway_A(alone_K_W(c.design, figure(part, "rth_ja")),
                                  value_of(c.spreads, point, "ambient"), [&](double T_K) {
                                    return on_resistance_ohm(part, sign, threshold_V, rds_ohm, T_K);
                                  })}};
}

Rows junctions(const Case& c, const HeatedRun& r, const Point& point, bool holding,
               std::initializer_list<std::string_view> classes) {
  Rows out;
  const Derating d = derating(c);
  const Paper paper(c, point);
  for_parts(c, classes, [&](const Place& p, const Part& part) {
    const double T_K = r.runaway ? kRunaway_K : temperature(r.figures, p.ref);
    out.push_back({p.ref, kelvin_to_celsius(T_K),
                   kelvin_to_celsius(figure(part, "tj_max") - d.junction_K), Grade::modelled,
                   junction_by_hand(paper, c.design, p, part, holding),
                   runaway_of(c, point, p, part)});
  });
  return out;
}

const SwitchState* switch_of(const Evidence& e, const std::string& ref) {
  const auto s = e.move.figures.switches.find(ref);
  return s == e.move.figures.switches.end() ? nullptr : &s->second;
}

}  // namespace

Rows gate_drive_on(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const bool modelled = c.design.brief.rules.accept == "modelled";
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const SwitchState* s = switch_of(e, p.ref);
    if (!s || s->on_states == 0) return;
    const double needed = modelled ? figure(part, "threshold_max") + 0.5 : figure(part, "rds_gate");
    out.push_back(
        {p.ref, s->on_control_V, needed, modelled ? Grade::modelled : Grade::guaranteed,
         on_by_hand(Paper(c, point), p,
                    "divider of the gate's resistors; follower: max(V_logic - V, V_th)")});
  });
  add_chip_levels(c, point, e, true, out);
  return out;
}

Rows base_drive_on(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part&) {
    const SwitchState* s = switch_of(e, p.ref);
    if (!s || s->on_states == 0) return;
    out.push_back(
        {p.ref,
         s->on_drop_V,
         most_bipolar_drop_V(c.design.brief),
         Grade::modelled,
         {"V_BE + R_pin I/h_FE; saturated: V_CE(sat) I/I_sat", Paper(c, point).on_drop_V(p)}});
  });
  return out;
}

Rows gate_off(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const SwitchState* s = switch_of(e, p.ref);
    if (!s || s->off_states == 0) return;
    const double hot = std::max(temperature(e.move.figures, p.ref) - Temperatures::kDefault_K, 0.0);
    out.push_back(
        {p.ref,
         s->off_control_V,
         figure(part, "threshold_min") - 3e-3 * hot,
         Grade::guaranteed,
         {"P straight from a pin: V - V_logic; else 0", Paper(c, point).gate_V(p, false)}});
  });
  add_chip_levels(c, point, e, false, out);
  return out;
}

Rows switch_voltage(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Derating d = derating(c);
  const Paper paper(c, point);
  // An output that the winding drives beyond a rail is caught one body or freewheel diode further.
  constexpr double kDiode_V = 0.9;
  const auto across = [&](const Place& p) -> Hand {
    if (!paper.in_a_leg(p.ref)) return {};
    return {"V + V_F", paper.supply_V() + kDiode_V};
  };
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const PartFigures& f = of(e.move.figures, p.ref);
    out.push_back({p.ref + " drain", f.voltage_V.value, d.voltage * figure(part, "vds_max"),
                   Grade::guaranteed, across(p)});
    const bool divided = paper.at_ground(p.nodes[2]) || p.nodes[2] == kRail;
    out.push_back({p.ref + " gate", f.control_V.value, d.gate * figure(part, "vgs_max"),
                   Grade::guaranteed,
                   divided ? on_by_hand(paper, p, "divider of the gate's resistors")
                           : Hand{"pin high, output low: V_logic", paper.logic_V()}});
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " collector", of(e.move.figures, p.ref).voltage_V.value,
                   d.voltage * figure(part, "vce_max"), Grade::guaranteed, across(p)});
    // Forward this is a junction's drop: what comes near the limit is reverse.
    constexpr double kUsual_V = 5.0;  // V_EBO of planar types; common practice, no source
    const double veb_V = figure(part, "veb_max");
    out.push_back({p.ref + " base",
                   of(e.move.figures, p.ref).control_V.value,
                   d.voltage * (given(veb_V) ? veb_V : kUsual_V),
                   Grade::guaranteed,
                   {}});
  });
  add_chip_voltages(c, point, e, out);
  return out;
}

Rows switch_peak(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  for_parts(c, {"n-mosfet", "p-mosfet", "npn", "pnp"}, [&](const Place& p, const Part& part) {
    const bool bipolar = part.part_class == "npn" || part.part_class == "pnp";
    const double limit = figure(part, bipolar ? "ic_max" : "drain_pulsed");
    if (!given(limit)) return;
    out.push_back({p.ref, of(e.move.figures, p.ref).current_A.value, limit, Grade::guaranteed,
                   paper.in_a_leg(p.ref) ? Hand{"V/(R + R_on)", paper.winding_A()} : Hand{}});
  });
  add_chip_peaks(c, point, e, out);
  return out;
}

Rows switch_rms(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  const double room_K = derating(c).junction_K;
  for_parts(c, {"n-mosfet", "p-mosfet", "npn", "pnp"}, [&](const Place& p, const Part& part) {
    const SwitchState* s = switch_of(e, p.ref);
    if (!s || s->on_states == 0) return;
    const double rms = std::max(of(e.move.figures, p.ref).rms_A, of(e.hold.figures, p.ref).rms_A);
    const double share = paper.on_in_hold(p.ref) ? 1.0 : paper.duty(p.ref);
    const Hand hand{"I sqrt(D), holding I", paper.winding_A() * std::sqrt(share)};
    if (part.part_class == "npn" || part.part_class == "pnp") {
      out.push_back({p.ref, rms, figure(part, "ic_max"), Grade::guaranteed, hand});
      return;
    }
    // The headline drain current belongs to a board nobody builds. What this part carries on this
    // board is what heats it to its limit through the resistance it has at the gate voltage it
    // gets; with the mobility's T^-1.5 (Sze, Ng, Physics of Semiconductor Devices, 2007, 1.5) from
    // its own temperature to the limit.
    const double most_K = figure(part, "tj_max") - room_K,
                 now_K = temperature(e.move.figures, p.ref);
    const double ohms = s->on_drop_V / std::max(s->on_current_A, 1e-9) *
                        std::pow(std::max(most_K / now_K, 1.0), 1.5);
    const double others_K =
        board_K_W(c.design.brief.build.board_area_m2) *
            (board_loss_W(c.design, e.move.figures) - of(e.move.figures, p.ref).loss_W) +
        neighbour_rise_K(c.design, e.move.figures, p.ref);
    const double rise_K = std::max(most_K - paper.value("ambient") - others_K, 0.1);
    const double limit = std::sqrt(rise_K / (alone_K_W(c.design, figure(part, "rth_ja")) * ohms));
    out.push_back({p.ref, rms, limit, Grade::modelled, hand});
  });
  return out;
}

Rows switch_junction(const Case& c, const Point& p, const Evidence& e) {
  Rows out = junctions(c, e.move, p, false, {"n-mosfet", "p-mosfet", "npn", "pnp"});
  add_chip_junctions(c, p, e.move, false, out);
  return out;
}
Rows diode_junction(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.move, p, false, {"diode"});
}
Rows permanent_hold(const Case& c, const Point& p, const Evidence& e) {
  Rows out =
      junctions(c, e.hold, p, true, {"n-mosfet", "p-mosfet", "npn", "pnp", "diode", "zener"});
  add_chip_junctions(c, p, e.hold, true, out);
  return out;
}

Rows switch_soa(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  for_parts(c, {"n-mosfet", "p-mosfet", "npn", "pnp"}, [&](const Place& p, const Part& part) {
    const double surge_K = of(e.move.figures, p.ref).surge_K;
    const double T_K = e.move.runaway ? kRunaway_K : temperature(e.move.figures, p.ref) + surge_K;
    Hand hand;
    if (paper.in_a_leg(p.ref)) {
      const double duty = paper.duty(p.ref), pulse = pulse_share(paper.longest_on_s());
      const double rth_K_W = figure(part, "rth_ja"), on_W = paper.on_loss_W(p);
      hand = junction_by_hand(paper, c.design, p, part, false);
      hand.formula += " + (1 - D) P_on Z_th(t_on)";
      hand.value += on_W * (1.0 - duty) * pulse * rth_K_W;
    }
    out.push_back({p.ref,
                   kelvin_to_celsius(T_K),
                   kelvin_to_celsius(figure(part, "tj_max")),
                   Grade::modelled,
                   hand,
                   {{"above_mean_K", surge_K}}});
  });
  return out;
}

Rows diode_reverse(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref,
                   of(e.move.figures, p.ref).voltage_V.value,
                   derating(c).voltage * figure(part, "vr_max"),
                   Grade::guaranteed,
                   {"V + V_F", paper.supply_V() + figure(part, "vf_high_max")}});
  });
  return out;
}

Rows diode_current(const Case& c, const Point& point, const Evidence& e) {
  Rows out;
  const Paper paper(c, point);
  const Settings& s = c.design.settings;
  for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    // Reversed against the supply the current falls as I (2 exp(-t/tau) - 1) and is through at
    // tau ln 2; the integral of its square is I^2 tau (ln 2 - 1/2). Once a cycle of four steps.
    const double tau =
        paper.value("motor.winding_inductance") / paper.value("motor.winding_resistance");
    const double share = (std::log(2.0) - 0.5) * tau * c.design.brief.motion.rate_steps_s / 4.0;
    Hand hand;
    if (s.sequence == "two-phase")
      hand = {"I sqrt((ln 2 - 1/2) tau/T)", paper.winding_A() * std::sqrt(share)};
    out.push_back(
        {p.ref, of(e.move.figures, p.ref).rms_A, figure(part, "if_max"), Grade::guaranteed, hand});
  });
  return out;
}

}  // namespace pb::checks
