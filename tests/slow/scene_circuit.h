// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The reference scene of tests/ref/scene.h, built for the product's engine from the same numbers.
#pragma once

#include <array>
#include <functional>
#include <memory>
#include <vector>

#include "physics/lockstep.h"
#include "physics/transient.h"
#include "tests/ref/scene.h"

namespace pb::scenes {

/// The circuit with its drive from t = 0 on; sources and pins have been at their first values for
/// ever.
physics::Circuit circuit_of(const ref::Scene& scene);

/// The state at t = 0: winding currents held at 0, everything else at its operating point.
std::vector<double> start_state(const physics::Circuit& circuit);

struct Samples {
  std::vector<double> t_s, i_a_A, i_b_A, theta_rad;
  physics::Ledger ledger;
  physics::Outcome outcome = physics::Outcome::cancelled;
  long accepted = 0, rejected = 0, newton = 0;
  double switch_loss_J = 0;  // of the channels
  double cpu_s = 0;  // of this thread, the start state not counted; of a unit in lockstep its
                     // share
};

/// Runs to the scene's end. Samples every sample_dt_s are read off the steps by cubics, so that
/// sampling changes nothing. `change` may alter the circuit before anything is run.
Samples run(const ref::Scene& scene, const physics::TransientOptions& options, double sample_dt_s,
            const std::function<void(physics::Circuit&)>& change = {});

/// Units of a scene, each with its own numbers, ready to run in lockstep.
struct Units {
  std::array<std::unique_ptr<physics::System>, physics::kLanes> system;
  std::array<std::vector<double>, physics::kLanes> start;
};
Units units_of(const std::array<ref::Scene, physics::kLanes>& scenes);
/// As run() of each; with sample_dt_s = 0 without samples. Outcome::cancelled if they cannot run in
/// lockstep.
std::array<Samples, physics::kLanes> run(Units& units, double end_s,
                                         const physics::TransientOptions& options,
                                         double sample_dt_s);

}  // namespace pb::scenes
