// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Nonlinear least squares with intervals for the parameters. What the solver is stays in fit.cpp.
// Invariant: intervals are Student's t of the linearised problem, widened where neighbouring
// residuals are alike, since then they are fewer than they seem. Tested by
// tests/unit/judgement_fit.cpp.
#pragma once

#include <functional>
#include <limits>
#include <span>
#include <string>
#include <vector>

namespace pb {

struct FitParameter {
  double start;
  double scale;  // a change that matters: brings all parameters to one size
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
};

/// Fills in the residuals at these parameters; false where there are none (then the step is cut).
using Residuals = std::function<bool(std::span<const double> parameters, std::span<double> out)>;

struct Fit {
  bool converged = false;
  std::string trouble;                               // why not
  std::vector<double> value, deviation, half_width;  // of each parameter; the last for the interval
  std::vector<double> residual;                      // at the end
  double sum_squares = 0;
  double freedom = 0;  // residuals less parameters
  double alike = 1;    // residuals that count as one, by their autocorrelation
};

Fit least_squares(const Residuals& residuals, std::size_t count,
                  const std::vector<FitParameter>& parameters, double confidence = 0.95);

/// How many neighbours of a series count as one: 1 + 2 sum of the autocorrelations up to the first
/// that cannot be told from none. Source: the statistical inefficiency, e.g. H. Flyvbjerg, H.
/// Petersen, J. Chem. Phys. 91 (1989), 461-466, sec. II.
double alike_neighbours(const std::vector<double>& series);

}  // namespace pb
