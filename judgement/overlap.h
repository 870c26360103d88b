// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two recordings of the same signals on one even grid of time, and where the one best lies over the
// other. Tested by tests/unit/judgement_overlap.cpp.
#pragma once

#include <vector>

namespace pb {

/// One row a signal, one column a time; NaN where there is no value.
using Signals = std::vector<std::vector<double>>;

/// The series at from_s, from_s + step_s, …: the mean of the rows of each step, or straight between
/// rows where they are farther apart.
std::vector<double> on_grid(const std::vector<double>& t_s, const std::vector<double>& y,
                            double from_s, double step_s, std::size_t count);

/// `measured[j]` belongs over `model[j + lag]`. Likeness: correlation, mean over the signals.
struct Alignment {
  double lag = 0, likeness = -1;
};
/// At least half of the shorter one must overlap; of alignments that are as good, the one with most
/// overlap. Source of the measure: the correlation
/// coefficient, each signal less its mean over the overlap.
Alignment align(const Signals& measured, const Signals& model);

/// Mean square of (measured - model) / scale over the overlap, straight between grid points.
double mean_square(const Signals& measured, const Signals& model, const std::vector<double>& scale,
                   double lag);

/// The lag about `near` with the least mean square, to a hundredth of a step.
double refined(const Signals& measured, const Signals& model, const std::vector<double>& scale,
               double near);

/// Value at a fractional index; NaN outside.
double value_at(const std::vector<double>& y, double index);

}  // namespace pb
