// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A scene solved by SUNDIALS IDA (variable-order BDF on F(t, y, y') = 0, modified Newton, analytic
// Jacobian, dense or sparse LU): the independent reference of the tests and the baseline of the
// benchmarks. Shares no code with the product.

#pragma once

#include <vector>

#include "tests/ref/scene.h"
#include "tests/ref/scene_model.h"

namespace pb::ref {

/// One run. Vectors hold one entry a sample: t = 0, dt, 2 dt, ... end.
struct SceneRun {
  std::vector<double> t_s, i_a_A, i_b_A, theta_rad, rail_V;
  std::vector<double> speed_rad_s, supply_A, emf_a_V, emf_b_V, torque_Nm;
  std::vector<Vector27> y;  // every unknown, indexed as in scene_model.h

  Energies energy_J;  // integral of every element's own power over the run
  double stored_start_J = 0;
  double stored_end_J = 0;

  long steps = 0, rejected = 0, newton = 0, jacobians = 0;
  double wall_s = 0.0;
  double cpu_s = 0.0;  // of this thread: what to compare when the machine is shared
  int status = 0;  // 0: reached the end; else SUNDIALS' error number, or 1 if no start was found

  /// (given - dissipated - stored) / (given by source and pins): 0 for an exact solution.
  double energy_residual() const;
};

struct RunOptions {
  bool energies = true;  // off: energy_J stays 0 and the run is a fair time measurement
};

/// Solves `scene` at relative tolerance rtol (absolute: rtol times the scale of each unknown), with
/// the sparse (klu) or the dense solver. Stops at the start and end of every drive edge.
SceneRun run_scene(const Scene& scene, double rtol, bool klu, double sample_dt_s,
                   const RunOptions& options = {});

}  // namespace pb::ref
