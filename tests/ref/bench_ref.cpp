// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Recordings of a motor on the bench, by CVODE. See bench_ref.h.

#include "tests/ref/bench_ref.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <numeric>
#include <random>
#include <stdexcept>
#include <string>

namespace pb::ref {
namespace {

constexpr double kPi = std::numbers::pi;

using State = std::vector<double>;
using Rate = std::function<void(double t_s, const double* y, double* rate)>;

int call_rate(double t_s, N_Vector y, N_Vector rate, void* user) {
  (*static_cast<const Rate*>(user))(t_s, N_VGetArrayPointer(y), N_VGetArrayPointer(rate));
  return 0;
}

void check(int status, const char* what) {
  if (status < 0) throw std::runtime_error(std::string(what) + ": " + std::to_string(status));
}

/// States at the times, which may come in any order but not before 0, where `y` holds.
std::vector<State> solve(const Rate& rate, State y, const std::vector<double>& times_s,
                         double longest_s) {
  SUNContext context = nullptr;
  check(SUNContext_Create(nullptr, &context), "context");
  const auto n = static_cast<sunindextype>(y.size());
  N_Vector v = N_VMake_Serial(n, y.data(), context);
  SUNMatrix matrix = SUNDenseMatrix(n, n, context);
  SUNLinearSolver linear = SUNLinSol_Dense(v, matrix, context);
  void* solver = CVodeCreate(CV_BDF, context);
  Rate user = rate;
  check(CVodeInit(solver, call_rate, 0.0, v), "init");
  check(CVodeSStolerances(solver, 1e-8, 1e-10), "tolerances");
  check(CVodeSetUserData(solver, &user), "data");
  check(CVodeSetLinearSolver(solver, linear, matrix), "linear solver");
  check(CVodeSetMaxStep(solver, longest_s), "longest step");
  check(CVodeSetMaxNumSteps(solver, 1000000), "steps");

  std::vector<std::size_t> order(times_s.size());
  std::iota(order.begin(), order.end(), 0u);
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return times_s[a] < times_s[b]; });
  std::vector<State> out(times_s.size(), y);
  double t_s = 0;
  for (const std::size_t k : order) {
    if (times_s[k] > t_s) check(CVode(solver, times_s[k], v, &t_s, CV_NORMAL), "step");
    out[k] = y;
  }
  CVodeFree(&solver);
  SUNLinSolFree(linear);
  SUNMatDestroy(matrix);
  N_VDestroy(v);
  SUNContext_Free(&context);
  return out;
}

double pole_s(const Probe& p) { return 1.0 / (2.0 * kPi * p.bandwidth_Hz); }

/// What the converter makes of a probe's output.
class Instrument {
 public:
  explicit Instrument(std::uint64_t seed) : dice_(seed) {}
  double uniform() { return std::uniform_real_distribution<double>()(dice_); }
  double normal(double deviation) { return deviation * normal_(dice_); }
  double read(const Probe& p, double value, double t_s) {
    const double x = value + p.offset + p.drift * t_s + normal(p.noise);
    return p.lsb > 0 ? std::round(x / p.lsb) * p.lsb : x;
  }

 private:
  std::mt19937_64 dice_;
  std::normal_distribution<double> normal_;
};

/// Variance of one reading of a signal that changes by so much a second.
double variance(const Probe& p, const Clock& c, double slope) {
  const double jitter = slope * c.jitter_s;
  return p.noise * p.noise + p.lsb * p.lsb / 12.0 + jitter * jitter;
}

/// Deviation of the unknown `at`: all others are not known either.
double deviation(const Eigen::MatrixXd& information, int at) {
  const Eigen::VectorXd size = information.diagonal().cwiseSqrt();
  const Eigen::MatrixXd even =
      size.cwiseInverse().asDiagonal() * information * size.cwiseInverse().asDiagonal();
  return std::sqrt(even.inverse()(at, at)) / size(at);
}

Rate step_rate(const StepBench& b) {
  return [b](double, const double* y, double* rate) {
    const double across_V = b.supply_V - b.lead_ohm * y[0];
    rate[0] = (across_V - b.winding_ohm * y[0]) / b.winding_H;
    rate[1] = (y[0] - y[1]) / pole_s(b.current);
    rate[2] = (across_V - y[2]) / pole_s(b.voltage);
  };
}

Rate spin_rate(const SpinBench& b) {
  return [b](double, const double* y, double* rate) {
    rate[0] = (-b.B_Nms_rad * y[0] - b.friction_Nm * std::tanh(y[0] / b.friction_scale_rad_s) -
               b.detent_Nm * std::sin(4.0 * b.Nr * y[1])) /
              b.J_kgm2;
    rate[1] = y[0];
    rate[2] = (b.Km_Vs_rad * y[0] * std::sin(b.Nr * y[1]) - y[2]) / pole_s(b.voltage);
  };
}

}  // namespace

Recording record(const StepBench& b, std::uint64_t seed) {
  Instrument instrument(seed);
  const double late_s = b.clock.step_s * instrument.uniform();
  Recording out;
  std::vector<double> real_s, on_s;
  for (int k = 0; k < b.clock.rows; ++k) {
    out.t_s.push_back(b.clock.from_s + k * b.clock.step_s);
    real_s.push_back(out.t_s.back() + late_s + instrument.normal(b.clock.jitter_s));
    on_s.push_back(std::max(real_s.back(), 0.0));
  }
  const auto states = solve(step_rate(b), {0, 0, 0}, on_s, 1e-4);
  for (std::size_t k = 0; k < real_s.size(); ++k) {
    out.current_A.push_back(instrument.read(b.current, states[k][1], real_s[k]));
    out.voltage_V.push_back(instrument.read(b.voltage, states[k][2], real_s[k]));
  }
  return out;
}

Recording record(const SpinBench& b, std::uint64_t seed) {
  Instrument instrument(seed);
  const double turned_rad = 2.0 * kPi / b.Nr * instrument.uniform();
  Recording out;
  std::vector<double> real_s;
  const double settled_s = 20.0 * pole_s(b.voltage);  // of the probe, before the first row
  for (int k = 0; k < b.clock.rows; ++k) {
    out.t_s.push_back(b.clock.from_s + k * b.clock.step_s);
    const double jitter_s = instrument.normal(b.clock.jitter_s);
    real_s.push_back(std::max(settled_s + k * b.clock.step_s + jitter_s, 0.0));
  }
  const auto states = solve(spin_rate(b), {b.speed_rad_s, turned_rad, 0}, real_s, 1e-4);
  for (std::size_t k = 0; k < real_s.size(); ++k)
    out.voltage_V.push_back(instrument.read(b.voltage, states[k][2], real_s[k]));
  return out;
}

StepBound least_deviation(const StepBench& b) {
  // i = I (1 - exp(-t/tau)), I = V/(R + Rl), tau = L/(R + Rl); the voltage across the winding is
  // known, so that R is I's alone. Derivatives of the closed form.
  const double r = b.winding_ohm + b.lead_ohm, tau = b.winding_H / r, last = b.supply_V / r;
  Eigen::MatrixXd information = Eigen::MatrixXd::Zero(5, 5);
  for (int k = 0; k < b.clock.rows; ++k) {
    const double t = b.clock.from_s + (k + 0.5) * b.clock.step_s;
    const double on = t > 0 ? 1.0 : 0.0, e = std::exp(-t / tau);
    Eigen::VectorXd d(5);
    d << on * (-last / r * (1 - e) + last * e * t / b.winding_H),
        on * (-last * e * t * r / (b.winding_H * b.winding_H)), on * (-last / tau * e), 1.0, t;
    information += d * d.transpose() / variance(b.current, b.clock, on * last / tau * e);
  }
  return {deviation(information, 0), deviation(information, 1)};
}

double least_deviation(const SpinBench& b, int terms) {
  std::vector<double> t_s;
  for (int k = 0; k < b.clock.rows; ++k) t_s.push_back(k * b.clock.step_s);
  const auto states = solve(spin_rate(b), {b.speed_rad_s, 0, 0}, t_s, 1e-4);
  const double half_s = 0.5 * t_s.back();
  Eigen::MatrixXd information = Eigen::MatrixXd::Zero(2 + terms, 2 + terms);
  for (std::size_t k = 0; k < t_s.size(); ++k) {
    const double u = t_s[k] / half_s - 1.0, speed = states[k][0], phase = b.Nr * states[k][1];
    Eigen::VectorXd d(2 + terms);
    d(0) = speed * std::sin(phase), d(1) = 1.0;
    for (int j = 0; j < terms; ++j)
      d(2 + j) =
          b.Km_Vs_rad * ((j > 0 ? j * std::pow(u, j - 1) / half_s / b.Nr * std::sin(phase) : 0.0) +
                         speed * std::cos(phase) * std::pow(u, j));
    information +=
        d * d.transpose() /
        variance(b.voltage, b.clock, b.Km_Vs_rad * speed * b.Nr * speed * std::cos(phase));
  }
  return deviation(information, 0);
}

}  // namespace pb::ref
