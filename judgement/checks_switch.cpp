// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Switches: drive, ratings, junctions.
#include "judgement/checks_parts.h"

#include <algorithm>

namespace pb::checks {
namespace {

Rows junctions(const Case& c, const HeatedRun& r, const Point& point,
               std::initializer_list<std::string_view> classes) {
  Rows out;
  const Derating d = derating(c);
  for_parts(c, classes, [&](const Place& p, const Part& part) {
    const double rth = figure(part, "rth_ja"), loss = of(r.figures, p.ref).loss_W;
    const double T_K = r.runaway ? kRunaway_K : temperature(r.figures, p.ref);
    out.push_back(
        {p.ref,
         kelvin_to_celsius(T_K),
         kelvin_to_celsius(figure(part, "tj_max") - d.junction_K),
         Grade::modelled,
         {"T_a + R_th P", kelvin_to_celsius(value_of(c.spreads, point, "ambient") + rth * loss)}});
  });
  return out;
}

}  // namespace

Rows gate_drive_on(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  const bool modelled = c.design.brief.rules.accept == "modelled";
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const auto s = e.move.figures.switches.find(p.ref);
    if (s == e.move.figures.switches.end() || s->second.on_states == 0) return;
    const double needed = modelled ? figure(part, "threshold_max") + 0.5 : figure(part, "rds_gate");
    out.push_back(
        {p.ref, s->second.on_control_V, needed, modelled ? Grade::modelled : Grade::guaranteed});
  });
  return out;
}

Rows base_drive_on(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part&) {
    const auto s = e.move.figures.switches.find(p.ref);
    if (s == e.move.figures.switches.end() || s->second.on_states == 0) return;
    constexpr double kMost_V =
        1.2;  // a follower's V_BE plus what its pin sags; a saturated one is far below
    out.push_back({p.ref, s->second.on_drop_V, kMost_V, Grade::modelled, {"V_BE + pin drop", 0.9}});
  });
  return out;
}

Rows gate_off(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const auto s = e.move.figures.switches.find(p.ref);
    if (s == e.move.figures.switches.end() || s->second.off_states == 0) return;
    const double hot = std::max(temperature(e.move.figures, p.ref) - Temperatures::kDefault_K, 0.0);
    out.push_back({p.ref, s->second.off_control_V, figure(part, "threshold_min") - 3e-3 * hot,
                   Grade::guaranteed});
  });
  return out;
}

Rows switch_voltage(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  const Derating d = derating(c);
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " drain", of(e.move.figures, p.ref).voltage_V.value,
                   d.voltage * figure(part, "vds_max"), Grade::guaranteed});
    out.push_back({p.ref + " gate", of(e.move.figures, p.ref).control_V.value,
                   d.gate * figure(part, "vgs_max"), Grade::guaranteed});
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref + " collector", of(e.move.figures, p.ref).voltage_V.value,
                   d.voltage * figure(part, "vce_max"), Grade::guaranteed});
  });
  return out;
}

Rows switch_peak(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"n-mosfet", "p-mosfet"}, [&](const Place& p, const Part& part) {
    const double limit = figure(part, "drain_pulsed");
    if (given(limit))
      out.push_back({p.ref, of(e.move.figures, p.ref).current_A.value, limit, Grade::guaranteed});
  });
  for_parts(c, {"npn", "pnp"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref, of(e.move.figures, p.ref).current_A.value, figure(part, "ic_max"),
                   Grade::guaranteed});
  });
  return out;
}

Rows switch_junction(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.move, p, {"n-mosfet", "p-mosfet", "npn", "pnp"});
}

Rows diode_junction(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.move, p, {"diode"});
}

Rows permanent_hold(const Case& c, const Point& p, const Evidence& e) {
  return junctions(c, e.hold, p, {"n-mosfet", "p-mosfet", "npn", "pnp", "diode", "zener"});
}

Rows diode_reverse(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    out.push_back({p.ref, of(e.move.figures, p.ref).voltage_V.value,
                   derating(c).voltage * figure(part, "vr_max"), Grade::guaranteed});
  });
  return out;
}

Rows diode_current(const Case& c, const Point&, const Evidence& e) {
  Rows out;
  for_parts(c, {"diode"}, [&](const Place& p, const Part& part) {
    out.push_back(
        {p.ref, of(e.move.figures, p.ref).rms_A, figure(part, "if_max"), Grade::guaranteed});
  });
  return out;
}

}  // namespace pb::checks
