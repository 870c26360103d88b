// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where edges of a chopped drive begin: the windings' currents and the rotor as the means have
// them, everything else at rest. Tested by tests/slow/chopped_run.cpp.
#pragma once

#include <vector>

#include "physics/system.h"
#include "physics/transient.h"

namespace pb::physics {

/// Currents and rotor at one time.
struct MotorState {
  double t_s = 0, i_A[2] = {0, 0}, w_rad_s = 0, th_rad = 0;
};

/// A circuit with the currents of its windings held, to be asked for several states one after
/// another: each settles from the one before.
class HeldCircuit {
 public:
  /// `stores`: whether states will be asked for of which some current does not come from the
  /// supply.
  explicit HeldCircuit(const Circuit& circuit, bool stores = false);

  /// All unknowns with the windings' currents held at the state's, everything else at rest,
  /// windings that choppers steer driven; empty without convergence. Of what they draw from the
  /// rail `stored_A` does not come from the supply: a chopper asks of that what it draws on
  /// average.
  std::vector<double> at(const MotorState& state, double stored_A = 0);

 private:
  bool settle_at(const MotorState& state, double stored_A);

  System system_;
  int stored_ = -1;        // unknown of the current that is not the supply's
  std::vector<double> x_;  // where the next one settles from
};

/// Of one state alone.
std::vector<double> at_state(const Circuit& circuit, const MotorState& state, double stored_A = 0);

/// The cable's current rings at every edge, and what it must be good for is its mean: a run from
/// the start of a supply on has seen an inrush, and resolves it no finer.
template <class Run>
void expect_cable(const System& system, Run& run, double winding_A) {
  constexpr double kOver = 10.0;
  for (std::size_t k = 0; k < system.circuit().inductors.size(); ++k)
    run.expect(system.inductor_unknown(static_cast<int>(k)), kOver * winding_A);
}

}  // namespace pb::physics
