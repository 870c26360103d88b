// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What may vary from unit to unit and from day to day: one row a figure, with its lowest, typical
// and highest value. A Point picks one value for each. Every corner, sweep and unit of a batch is a
// Point.
#pragma once

#include <string>
#include <vector>

#include "model/design.h"
#include "model/verdict.h"

namespace pb::physics {

struct Spread {
  std::string name;  // "supply.voltage", "low_side.threshold"
  double min, typ, max;
  Grade grade;
};

struct Point {
  std::vector<double> value;  // one a Spread, same order
};

std::vector<Spread> spreads_of(const Design& design);
Point typical(const std::vector<Spread>& spreads);
/// Value of the named figure; an unknown name is an internal error.
double value_of(const std::vector<Spread>& spreads, const Point& point, const std::string& name);

}  // namespace pb::physics
