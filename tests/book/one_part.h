// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A part of which only some figures are given, and a rising curve read backwards.
#pragma once

#include <limits>
#include <map>
#include <string>

#include "model/part.h"

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
