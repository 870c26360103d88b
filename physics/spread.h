// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What may vary from unit to unit and from day to day: one row a figure, with its lowest, typical
// and highest value. A Point picks one value for each. Every corner, sweep and unit of a batch is a
// Point.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "model/design.h"
#include "model/verdict.h"

namespace pb::physics {

struct Spread {
  std::string name;  // "supply.voltage", "low_side.threshold"
  double min, typ, max;
  Grade grade;
  std::string role;  // whose parts it is a figure of; empty: the brief's
};

struct Point {
  std::vector<double> value;  // one a Spread, same order
  /// Of a single place, where it differs from its role's: "Q3.threshold".
  std::map<std::string, double> own;
};

std::vector<Spread> spreads_of(const Design& design);
Point typical(const std::vector<Spread>& spreads);
/// Value of the named figure; an unknown name is an internal error.
double value_of(const std::vector<Spread>& spreads, const Point& point, const std::string& name);
/// Value of one part's figure: its own, else its role's.
double place_value(const std::vector<Spread>& spreads, const Point& point, const Place& place,
                   const std::string& figure);

}  // namespace pb::physics
