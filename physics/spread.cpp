// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/spread.h"

#include <algorithm>

#include "base/check.h"
#include "physics/canonical.h"
#include "physics/extraction.h"
#include "physics/sense_path.h"

namespace pb::physics {
namespace {

struct Collector {
  const Design& d;
  std::vector<Spread> out;

  void around(const std::string& name, double typ, double tolerance, Grade g) {
    const double by = std::abs(typ) * tolerance;
    out.push_back({name, typ - by, typ, typ + by, g, {}});
  }

  void brief() {
    const Brief& b = d.brief;
    around("supply.voltage", b.supply.voltage_V, b.supply.tolerance, Grade::guaranteed);
    around("controller.logic_voltage", b.controller.logic_voltage_V, b.controller.tolerance,
           Grade::guaranteed);
    around("motor.winding_resistance", b.motor.winding_resistance_ohm, b.motor.resistance_tolerance,
           Grade::guaranteed);
    around("motor.winding_inductance", b.motor.winding_inductance_H, b.motor.inductance_tolerance,
           Grade::modelled);
    around("motor.constant", motor_constant(b.motor), b.motor.torque_tolerance, Grade::modelled);
    around("load.torque", b.load.torque_Nm, b.load.torque_tolerance, Grade::assumed);
    around("load.inertia", b.load.inertia_kgm2, b.load.inertia_tolerance, Grade::assumed);
    const double hot = b.ambient.max_K + b.ambient.enclosure_rise_K;
    out.push_back({"ambient",
                   b.ambient.min_K,
                   std::clamp(298.15, b.ambient.min_K, hot),
                   hot,
                   Grade::guaranteed,
                   {}});
  }

  void on_resistance(const std::string& role, double typ, double max) {
    out.push_back({role + ".on_resistance",
                   std::max(2.0 * typ - max, 0.5 * typ),
                   typ,
                   max,
                   Grade::guaranteed,
                   {}});
  }

  void around_zero(const std::string& name, double most) {
    out.push_back({name, -most, 0.0, most, Grade::guaranteed, {}});
  }
  void delay(const std::string& role, const Part& p) {
    const double typ = figure(p, "delay_typ"), max = std::max(figure(p, "delay_max"), typ);
    out.push_back({role + ".delay", 0.5 * typ, typ, max, Grade::guaranteed, {}});
  }
  void chopper(const std::string& role, const Part& p) {
    around(role + ".reference_ratio", figure(p, "reference_ratio"),
           figure(p, "reference_tolerance"), Grade::guaranteed);
    around_zero(role + ".offset", figure(p, "sense_offset"));
    delay(role, p);
    around(role + ".timing", 1.0, figure(p, "timing_tolerance"), Grade::guaranteed);
  }

  void part(const std::string& role, const Part& p) {
    const auto f = [&](const char* name) { return figure(p, name); };
    const std::string& c = p.part_class;
    if (c == "n-mosfet" || c == "p-mosfet") {
      const double lo = f("threshold_min"), hi = f("threshold_max"), typ = f("threshold_typ");
      out.push_back(
          {role + ".threshold", lo, given(typ) ? typ : 0.5 * (lo + hi), hi, Grade::guaranteed, {}});
      const double r_max = f("rds_max"), r_typ = given(f("rds_typ")) ? f("rds_typ") : 0.75 * r_max;
      on_resistance(role, r_typ, r_max);
    } else if (c == "npn" || c == "pnp") {
      const double lo = f("hfe_min"), typ = given(f("hfe_typ")) ? f("hfe_typ") : 1.7 * lo;
      const double hi = given(f("hfe_max")) ? f("hfe_max") : 3.0 * lo;
      out.push_back({role + ".gain", lo, std::clamp(typ, lo, hi), hi, Grade::guaranteed, {}});
    } else if (c == "diode") {
      out.push_back({role + ".drop",
                     kLeastDropScale,
                     0.85,
                     1.0,
                     Grade::modelled,
                     {}});  // of vf_high_max; lower ones from memory
    } else if (c == "zener") {
      around(role + ".breakdown", f("vz"), f("vz_tolerance"), Grade::guaranteed);
    } else if (c == "resistor") {
      around(role + ".resistance", d.settings.value.at(role), f("tolerance"), Grade::guaranteed);
    } else if (is_capacitor(c)) {
      const double typ = f("capacitance");
      out.push_back({role + ".capacitance",
                     least_capacitance_F(p),
                     typ,
                     typ * (1.0 + f("tolerance")),
                     c == "electrolytic" ? Grade::modelled : Grade::guaranteed,
                     {}});
    } else if (is_driver_chip(*find_part_class(c))) {
      const double r_max = f("on_resistance_max"), typ = f("on_resistance_typ");
      on_resistance(role, given(typ) ? typ : 0.75 * r_max, r_max);
      const double lo = f("input_low_max"), hi = f("input_high_min");
      out.push_back({role + ".input_threshold", lo, 0.5 * (lo + hi), hi, Grade::guaranteed, {}});
      if (is_chopper_chip(*find_part_class(c))) chopper(role, p);
    } else if (c == "comparator") {
      around_zero(role + ".offset", f("offset"));
      delay(role, p);
    }
  }
};

}  // namespace

std::vector<Spread> spreads_of(const Design& design) {
  Collector c{design, {}};
  c.brief();
  // Neither a map's order nor the file's: ties between corners are broken by this one.
  for (std::size_t k : canonical_order(design).roles) {
    const Role& r = design.wiring.roles[k];
    const auto p = design.parts.find(r.name);
    if (p == design.parts.end()) continue;
    const std::size_t first = c.out.size();
    c.part(r.name, p->second);
    for (std::size_t i = first; i < c.out.size(); ++i) c.out[i].role = r.name;
  }
  return std::move(c.out);
}

Point typical(const std::vector<Spread>& spreads) {
  Point p;
  for (const Spread& s : spreads) p.value.push_back(s.typ);
  return p;
}

double value_of(const std::vector<Spread>& spreads, const Point& point, const std::string& name) {
  for (std::size_t i = 0; i < spreads.size(); ++i)
    if (spreads[i].name == name) return point.value[i];
  PB_CHECK(false, name);
  return 0;
}

double place_value(const std::vector<Spread>& spreads, const Point& point, const Place& place,
                   const std::string& figure) {
  const auto own = point.own.find(place.ref + "." + figure);
  return own != point.own.end() ? own->second : value_of(spreads, point, place.role + "." + figure);
}

}  // namespace pb::physics
