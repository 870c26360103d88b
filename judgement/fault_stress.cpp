// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/fault_stress.h"

#include <algorithm>
#include <cmath>

#include "judgement/checks_parts.h"
#include "physics/duty_heat.h"
#include "physics/heat.h"

namespace pb::stress {

using namespace physics;

namespace {

/// A film resistor bears its rating at 70 degC and nothing at 155 degC. Common practice, from
/// memory.
constexpr double kFilmMax_K = 428.15, kFilmRated_K = 343.15;

/// What a capacitor's case takes: from memory, of a small one on a board.
constexpr double kCapacitor_K_W = 100.0, kElectrolyticMax_K = 378.15, kCeramicMax_K = 398.15;
/// Where ratings end and parts break down; from memory: junctions some way above their rating,
/// oxides further still.
constexpr double kBreakdown = 1.2, kOxideBreakdown = 1.5;
/// Of AWG 26: twice 2.5 A, single wire, MIL-STD-975M appendix A; four times its warming.
constexpr double kLeads_A = 5.0;

double peak_of(const RunFigures& f) {
  double most = 0;
  for (const auto& [ref, p] : f.parts) most = std::max(most, p.current_A.value);
  return most;
}

}  // namespace

double supply_rms(const RunFigures& f) { return checks::of(f, "supply cable").rms_A; }

void keep(Window& w, const RunFigures& f) {
  w.supply_A = std::max(w.supply_A, supply_rms(f));
  w.peak_A = std::max(w.peak_A, peak_of(f));
  for (const auto& [ref, p] : f.parts) w.loss_W[ref] = std::max(w.loss_W[ref], p.loss_W);
}

void keep_worst(const std::vector<Stress>& list, std::map<std::string, Stress>& worst) {
  for (const Stress& s : list) {
    Stress& kept = worst[s.of.subject + " " + s.of.what];
    if (kept.of.subject.empty() || s.share > kept.share) kept = s;
  }
}

/// From ambient by so much, for ever or until the fuse opens.
double Meter::warmed_K(double rise_K, const Window& w) const {
  const double share = w.fuse_s ? pulse_share(*w.fuse_s) : 1.0;
  return std::min(ambient_K + rise_K * share, kMelted_K);
}

void Meter::add_heat(const Window& w, std::vector<Stress>& out) const {
  const auto add = [&](const std::string& ref, const char* what, double T_K, double most_K) {
    out.push_back({{ref, what}, (T_K - ambient_K) / (most_K - ambient_K), T_K});
  };
  for (const Place& p : c.design.wiring.places) {
    const auto found = c.design.parts.find(p.role);
    if (found == c.design.parts.end()) continue;
    const Part& part = found->second;
    const PartFigures& f = checks::of(w.figures, p.ref);
    if (part.part_class == "resistor") {
      const double rth = (kFilmMax_K - kFilmRated_K) / figure(part, "power_max");
      add(p.ref, kHeat, warmed_K(rth * f.loss_W, w), kFilmMax_K);
    } else if (is_capacitor(part.part_class)) {
      const bool wet = part.part_class == "electrolytic";
      add(p.ref, kHeat, warmed_K(kCapacitor_K_W * f.loss_W, w),
          wet ? kElectrolyticMax_K : kCeramicMax_K);
    } else if (const auto T = w.figures.temperatures.junction_K.find(p.ref);
               T != w.figures.temperatures.junction_K.end()) {
      double T_K = warmed_K(T->second - ambient_K, w);
      if (w.moving) T_K = std::max(T_K, std::min(was_K(p.ref) + f.surge_K, kMelted_K));
      add(p.ref, kHeat, T_K, figure(part, "tj_max"));
    }
  }
  const double rise_K = w.figures.temperatures.winding_K - ambient_K;
  const double share = w.fuse_s ? -std::expm1(-*w.fuse_s / kMotor_s) : 1.0;
  add(kMotor, kHeat, std::min(ambient_K + rise_K * share, kMelted_K),
      c.design.brief.motor.max_winding_temperature_K);
}

double Meter::was_K(const std::string& ref) const {
  const auto T = warm.junction_K.find(ref);
  return T == warm.junction_K.end() ? ambient_K : T->second;
}

void Meter::add_volts(const std::string& own, const Window& w, std::vector<Stress>& out) const {
  const auto breaks = [&](const Place& p, double is, double at) {
    if (p.ref != own) out.push_back({{p.ref, kVolts}, is / at, 0});
  };
  const auto add = [&](const Place& p, double is, double most) {
    breaks(p, is, kBreakdown * most);
  };
  checks::for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const PartFigures& f = checks::of(w.figures, p.ref);
    add(p, f.voltage_V.value, figure(part, "vds_max"));
    breaks(p, f.control_V.value, kOxideBreakdown * figure(part, "vgs_max"));
  });
  checks::for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part& part) {
    add(p, checks::of(w.figures, p.ref).voltage_V.value, figure(part, "vce_max"));
  });
  checks::for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    add(p, checks::of(w.figures, p.ref).voltage_V.value, figure(part, "vr_max"));
  });
  checks::for_parts(c, {"bridge-chip", "dual-bridge-chip", "dual-chopper-chip", "buffers"},
                    [&](const Place& p, const Part& k) {
                      add(p, w.figures.rail_max_V, figure(k, "supply_max"));
                    });
  checks::for_parts(c, {"electrolytic", "ceramic"}, [&](const Place& p, const Part& part) {
    if (!checks::across_rail(p)) return;
    add(p, w.figures.rail_max_V, figure(part, "voltage_max"));
    // Above this the oxide of an electrolytic the wrong way round gives way; from memory.
    constexpr double kReversed_V = 1.5;
    if (part.part_class == "electrolytic") breaks(p, -w.figures.rail_min_V, kReversed_V);
  });
}

void Meter::add_pins(const RunFigures& f, bool moving, std::vector<Stress>& out) const {
  const ControllerBrief& k = c.design.brief.controller;
  const double most_A = std::min(k.pin_source_current_A, k.pin_sink_current_A);
  for (const Pin& p : c.design.wiring.pins) {
    // Through the driver, or past it through a protection diode. In motion a peak charges a gate
    // and is over: what lasts is judged where things stand.
    const auto driver = f.pin_current_A.find(p.name);
    const double driver_A = driver == f.pin_current_A.end() ? 0.0 : driver->second.value;
    const double i_A = moving ? 0.0 : std::max(driver_A, checks::of(f, p.name).current_A.value);
    out.push_back({{"pin " + p.name, kCurrent}, i_A / most_A, 0});
  }
}

std::vector<Stress> Meter::of(const std::string& own, const Window& w) const {
  std::vector<Stress> out;
  add_heat(w, out);
  add_volts(own, w, out);
  add_pins(w.figures, w.moving, out);
  if (!w.fuse_s || *w.fuse_s > kInTime_s)
    out.push_back({{kLeads, kCurrent}, w.supply_A / kLeads_A, 0});
  return out;
}

}  // namespace pb::stress
