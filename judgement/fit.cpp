// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/fit.h"

#include <ceres/crs_matrix.h>
#include <ceres/dynamic_numeric_diff_cost_function.h>
#include <ceres/problem.h>
#include <ceres/solver.h>

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

#include "judgement/statistics.h"

namespace pb {
namespace {

/// The solver works on x = 1 + (p - start)/scale: its steps for derivatives are relative to x.
struct Scaled {
  const Residuals& residuals;
  const std::vector<FitParameter>& parameters;
  std::size_t count;

  std::vector<double> physical(const double* x) const {
    std::vector<double> p(parameters.size());
    for (std::size_t k = 0; k < p.size(); ++k)
      p[k] = parameters[k].start + parameters[k].scale * (x[k] - 1.0);
    return p;
  }
  double scaled(std::size_t k, double p) const {
    return 1.0 + (p - parameters[k].start) / parameters[k].scale;
  }
  bool operator()(double const* const* x, double* out) const {
    return residuals(physical(x[0]), {out, count}) &&
           std::all_of(out, out + count, [](double r) { return std::isfinite(r); });
  }
};

ceres::Solver::Options solver_options() {
  ceres::Solver::Options o;
  o.linear_solver_type = ceres::DENSE_QR;
  o.max_num_iterations = 200;
  // Tighter than any measurement: what the data decide should not depend on where the search ends.
  o.function_tolerance = 1e-15, o.parameter_tolerance = 1e-12, o.gradient_tolerance = 1e-14;
  o.logging_type = ceres::SILENT;
  o.num_threads = 1;
  return o;
}

Eigen::Index at(std::size_t k) { return static_cast<Eigen::Index>(k); }

/// (J'J)^-1 at the solution; empty if the data leave some direction of the parameters open.
Eigen::MatrixXd inverse_normal(ceres::Problem& problem, std::size_t n) {
  ceres::CRSMatrix sparse;
  problem.Evaluate({}, nullptr, nullptr, nullptr, &sparse);
  Eigen::MatrixXd jacobian = Eigen::MatrixXd::Zero(sparse.num_rows, at(n));
  for (int row = 0; row < sparse.num_rows; ++row)
    for (int k = sparse.rows[row]; k < sparse.rows[row + 1]; ++k)
      jacobian(row, sparse.cols[k]) = sparse.values[k];
  const Eigen::VectorXd norm = jacobian.colwise().norm();
  if (!(norm.minCoeff() > 0)) return {};
  jacobian = jacobian * norm.cwiseInverse().asDiagonal();
  // A handful of columns: products term by term compile in a quarter of the blocked ones' time.
  const Eigen::MatrixXd normal = jacobian.transpose().lazyProduct(jacobian);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(normal);
  // The derivatives are differences, good to about eight digits; squared, to no more than this.
  constexpr double kOpen = 1e-11;
  if (!(eigen.eigenvalues()(0) > kOpen * eigen.eigenvalues().maxCoeff())) return {};
  const Eigen::MatrixXd root = norm.cwiseInverse().asDiagonal() * eigen.eigenvectors() *
                               eigen.eigenvalues().cwiseSqrt().cwiseInverse().asDiagonal();
  return root.lazyProduct(root.transpose());
}

}  // namespace

double alike_neighbours(const std::vector<double>& series) {
  const std::size_t n = series.size();
  double mean = 0, variance = 0;
  for (double x : series) mean += x / static_cast<double>(n);
  for (double x : series) variance += (x - mean) * (x - mean);
  if (n < 4 || variance <= 0) return 1;
  // Two standard deviations of the autocorrelation of n independent numbers.
  const double noise = 2.0 / std::sqrt(static_cast<double>(n));
  double alike = 1;
  for (std::size_t lag = 1; lag < n / 4; ++lag) {
    double sum = 0;
    for (std::size_t k = lag; k < n; ++k) sum += (series[k] - mean) * (series[k - lag] - mean);
    if (sum / variance < noise) break;
    alike += 2.0 * sum / variance;
  }
  return alike;
}

Fit least_squares(const Residuals& residuals, std::size_t count,
                  const std::vector<FitParameter>& parameters, double confidence) {
  Fit fit;
  const std::size_t n = parameters.size();
  if (count <= n) {
    fit.trouble = "fewer readings than unknowns";
    return fit;
  }
  const Scaled scaled{residuals, parameters, count};
  auto* cost = new ceres::DynamicNumericDiffCostFunction<Scaled>(new Scaled(scaled));
  cost->AddParameterBlock(static_cast<int>(n));
  cost->SetNumResiduals(static_cast<int>(count));
  std::vector<double> x(n, 1.0);
  ceres::Problem problem;
  problem.AddResidualBlock(cost, nullptr, x.data());
  for (std::size_t k = 0; k < n; ++k) {
    const int at = static_cast<int>(k);
    if (std::isfinite(parameters[k].low))
      problem.SetParameterLowerBound(x.data(), at, scaled.scaled(k, parameters[k].low));
    if (std::isfinite(parameters[k].high))
      problem.SetParameterUpperBound(x.data(), at, scaled.scaled(k, parameters[k].high));
  }
  ceres::Solver::Summary summary;
  ceres::Solve(solver_options(), &problem, &summary);
  fit.value = scaled.physical(x.data());
  if (!summary.IsSolutionUsable()) {
    fit.trouble = "no convergence";
    return fit;
  }
  fit.residual.resize(count);
  residuals(fit.value, fit.residual);
  for (double r : fit.residual) fit.sum_squares += r * r;
  fit.freedom = static_cast<double>(count - n);
  fit.alike = alike_neighbours(fit.residual);

  const Eigen::MatrixXd c = inverse_normal(problem, n);
  if (c.size() == 0) {
    fit.trouble = "the capture does not decide between the parameters";
    return fit;
  }
  const double independent =
      std::max(static_cast<double>(count) / fit.alike - static_cast<double>(n), 1.0);
  const double t = student_deviations(independent, confidence);
  for (std::size_t k = 0; k < n; ++k) {
    fit.deviation.push_back(parameters[k].scale *
                            std::sqrt(c(at(k), at(k)) * fit.sum_squares / fit.freedom));
    fit.half_width.push_back(t * fit.deviation.back() * std::sqrt(fit.alike));
  }
  fit.converged = true;
  return fit;
}

}  // namespace pb
