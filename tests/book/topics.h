// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The topics of the validation book, one function and one file each, and the sources that several
// of them cite.
#pragma once

#include "tests/book/row.h"

namespace pb::book {

Topic device_laws();
Topic taken_for_granted();
Topic around_the_parts();
Topic copper_and_air();
Topic breaking_points();
Topic windings();
Topic supply_and_gates();
Topic motor_at_rest();
Topic motor_in_motion();
Topic iron_and_stops();
Topic heat();
Topic board_and_values();
Topic drive_code();
Topic statistics();
Topic money();
Topic other_solvers();

/// All but the runs of other solvers, which take seconds.
std::vector<Topic> closed_topics();
std::vector<Topic> all_topics();

/// A constant, and rows that must notice if the product had it 2 % too great.
struct Doubt {
  std::string constant;
  double Skew::* member;
  std::vector<std::string> rows;
};
const std::vector<Doubt>& doubts();
inline constexpr double kDoubt = 1.02;

inline Source circuits(const std::string& law) {
  return {"circuit theory: " + law, Basis::closed_form};
}

}  // namespace pb::book
