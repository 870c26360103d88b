// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One row of the validation book: a number of the product beside a number from outside. `expected`
// is worked out without any header of the product; `computed` by nothing but its code.
#pragma once

#include <functional>
#include <string>
#include <utility>
#include <vector>

namespace pb::book {

/// What the product is given, over what it should be given. All 1, but where a test asks whether
/// 2 % of error in a constant would be noticed.
struct Skew {
  double boltzmann = 1, saturation_current = 1, channel_beta = 1, winding_resistance = 1,
         winding_inductance = 1, motor_constant = 1, inertia = 1, gate_drain_capacitance = 1,
         capacitance = 1, thermal_resistance = 1, copper_coefficient = 1, trace_constant = 1,
         transit_time = 1;
};

/// What the expected number rests on.
enum class Basis {
  published,      // the number as it is printed
  published_law,  // a law or fit as it is printed, evaluated in another language
  closed_form,    // derived: circuit theory, mechanics, algebra
  other_solver,
  remembered,  // from memory, the source not at hand
};

struct Source {
  // Not an aggregate: inside a row's braces g++ 12 takes one for uninitialised.
  Source(std::string text_, Basis basis_) : text(std::move(text_)), basis(basis_) {}
  std::string text;
  Basis basis;
};
inline const Source kMemory{"from memory", Basis::remembered};

enum class Measure { relative, absolute };
struct Tolerance {
  double value;
  Measure measure;
};
inline Tolerance within(double share) { return {share, Measure::relative}; }
inline Tolerance by(double amount) { return {amount, Measure::absolute}; }

/// All numbers in `unit`, shown with so many significant digits.
struct Row {
  std::string id, claim;
  Source source;
  double expected;
  std::string unit;  // empty: a plain number
  Tolerance tolerance;
  std::function<double(const Skew&)> computed;
  int digits = 6;
};

struct Topic {
  std::string title, words;
  std::vector<Row> rows;
};

/// Computed less expected, over the expected if relative.
inline double error_of(const Row& row, double computed) {
  const double error = computed - row.expected;
  return row.tolerance.measure == Measure::relative ? error / row.expected : error;
}
/// False for what is no number, too.
inline bool holds(const Row& row, double computed) {
  const double error = error_of(row, computed);
  return error <= row.tolerance.value && error >= -row.tolerance.value;
}

}  // namespace pb::book
