// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A part of which only some figures are given, one that leaks, and a rising curve read backwards.
#pragma once

#include <limits>
#include <map>
#include <string>

#include "model/part.h"
#include "physics/devices/junction.h"
#include "physics/extraction.h"

namespace pb::book {

inline Part part(const std::string& part_class, const std::map<std::string, double>& figures) {
  const PartClass& c = *find_part_class(part_class);
  Part p;
  p.part_class = part_class;
  p.figures.assign(c.figures.size(), std::numeric_limits<double>::quiet_NaN());
  for (const auto& [name, value] : figures)
    p.figures.at(static_cast<std::size_t>(figure_index(c, name))) = value;
  return p;
}

/// What a Schottky diode of 40 V and 1 A leaks at 40 V whose sheet says at most 1 mA at 25 degC.
/// [A] `drop_scale`: diode_model's.
inline double schottky_leaks_A(double drop_scale, double T_K) {
  const Part p = part("diode", {{"vf_low_typ", 0.34},
                                {"if_low", 0.1},
                                {"vf_high_max", 0.6},
                                {"if_high", 1.0},
                                {"vr_max", 40},
                                {"ir_max", 1e-3}});
  const physics::DiodeModel m = physics::diode_model(p, drop_scale, T_K);
  return m.leak_S * 40 - physics::junction_current(m.junction, -40).value;
}

/// Where a rising function takes a value, by bisection.
template <class Rising>
double solved(double low, double high, double wanted, Rising f) {
  for (int n = 0; n < 200; ++n) {
    const double x = 0.5 * (low + high);
    (f(x) < wanted ? low : high) = x;
  }
  return low;
}

}  // namespace pb::book
