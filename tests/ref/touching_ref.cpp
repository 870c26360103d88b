// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "tests/ref/touching_ref.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>

namespace pb::ref {
namespace {

constexpr int kStates = 6;  // fluxes; speed and angle of the rotor, of the load
constexpr double kTurns_rad_s = 0.05;

void check(int status, const char* what) {
  if (status < 0) throw std::runtime_error(std::string(what) + ": " + std::to_string(status));
}

struct Right {
  const TouchingMotor* m;
  double va_V, vb_V;
};

double magnet_A(const TouchingMotor& m) { return m.Km_Vs_rad / (m.teeth * m.winding_H); }

/// Currents of a flux: the iron's field is |flux| = L r/sqrt(1 + r^2/Is^2), so
/// r = |flux|/sqrt(L^2 - |flux|^2/Is^2); less the magnet's.
void currents(const TouchingMotor& m, const double* y, double& ia, double& ib) {
  const double Im = magnet_A(m), Is = m.saturation_A,
               L = m.winding_H * std::sqrt(1 + Im * Im / (Is * Is)),
               squared = L * L - (y[0] * y[0] + y[1] * y[1]) / (Is * Is);
  const double per = 1.0 / std::sqrt(std::max(squared, 1e-12));
  ia = y[0] * per - Im * std::cos(m.teeth * y[3]);
  ib = y[1] * per - Im * std::sin(m.teeth * y[3]);
}

double pressed(double K, double e, double depth, double closing) {
  if (depth <= 0) return 0;
  const double in = 0.5 * (1 + std::tanh(closing / kTurns_rad_s));
  return K * depth * (in + (1 - in) * e * e);
}

int rate(double, N_Vector vector, N_Vector out, void* user) {
  const Right& r = *static_cast<const Right*>(user);
  const TouchingMotor& m = *r.m;
  const double* y = N_VGetArrayPointer(vector);
  double* d = N_VGetArrayPointer(out);
  double ia = 0, ib = 0;
  currents(m, y, ia, ib);
  const double Im = magnet_A(m), c = std::cos(m.teeth * y[3]), s = std::sin(m.teeth * y[3]);
  d[0] = r.va_V - m.winding_ohm * ia;
  d[1] = r.vb_V - m.winding_ohm * ib;
  // The magnet's current across the flux.
  const double motor = m.teeth * Im * (c * y[1] - s * y[0]);
  const double ahead = y[3] - y[5], rel = y[2] - y[4];
  const double push = pressed(m.flank_Nm_rad, m.flank_e, ahead - 0.5 * m.gap_rad, rel) -
                      pressed(m.flank_Nm_rad, m.flank_e, -ahead - 0.5 * m.gap_rad, -rel);
  d[2] = (motor - m.detent_Nm * std::sin(4 * m.teeth * y[3]) - m.rotor_Nms * y[2] - push) /
         m.rotor_kgm2;
  d[3] = y[2];
  d[4] = (push - m.load_Nms * y[4] - m.friction_Nm * std::tanh(y[4] / kTurns_rad_s) - m.gravity_Nm -
          pressed(m.stop_Nm_rad, m.stop_e, y[5] - m.stop_rad, y[4])) /
         m.load_kgm2;
  d[5] = y[4];
  return 0;
}

}  // namespace

std::vector<TouchingState> touching_run(const TouchingMotor& m, const std::vector<Push>& pushes,
                                        const std::vector<double>& times_s) {
  SUNContext context = nullptr;
  check(SUNContext_Create(nullptr, &context), "context");
  std::vector<double> y(kStates, 0.0);
  y[0] = m.Km_Vs_rad / m.teeth;  // the magnet's alone: L/sqrt(1 + Im^2/Is^2) is the winding's
  N_Vector v = N_VMake_Serial(kStates, y.data(), context);
  SUNMatrix matrix = SUNDenseMatrix(kStates, kStates, context);
  SUNLinearSolver linear = SUNLinSol_Dense(v, matrix, context);
  void* solver = CVodeCreate(CV_BDF, context);
  Right right{&m, 0, 0};
  check(CVodeInit(solver, rate, 0.0, v), "init");
  check(CVodeSStolerances(solver, 1e-9, 1e-11), "tolerances");
  check(CVodeSetUserData(solver, &right), "data");
  check(CVodeSetLinearSolver(solver, linear, matrix), "linear solver");
  check(CVodeSetMaxStep(solver, 2e-6), "longest step");
  check(CVodeSetMaxNumSteps(solver, 10000000), "steps");
  std::vector<TouchingState> out;
  double t_s = 0;
  std::size_t next = 0;
  const auto go = [&](double to_s) {
    constexpr double kNow_s = 1e-12;  // two ways of writing one time
    if (to_s <= t_s + kNow_s) return;
    check(CVodeSetStopTime(solver, to_s), "stop");
    check(CVode(solver, to_s, v, &t_s, CV_NORMAL), "step");
  };
  for (std::size_t k = 0; k < pushes.size(); ++k) {
    right.va_V = pushes[k].va_V, right.vb_V = pushes[k].vb_V;
    check(CVodeReInit(solver, t_s, v), "restart");
    const double until_s = k + 1 < pushes.size() ? pushes[k + 1].from_s : 1e300;
    for (; next < times_s.size() && times_s[next] <= until_s; ++next) {
      go(times_s[next]);
      double ia = 0, ib = 0;
      currents(m, y.data(), ia, ib);
      out.push_back({ia, ib, y[2], y[3], y[4], y[5]});
    }
    if (k + 1 < pushes.size()) go(until_s);
  }
  CVodeFree(&solver);
  SUNLinSolFree(linear);
  SUNMatDestroy(matrix);
  N_VDestroy(v);
  SUNContext_Free(&context);
  return out;
}

}  // namespace pb::ref
