// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The state a circuit comes to within a second of its sources standing still, without its way
// there: implicit Euler steps, each ten times as long as the last. Source: C. Kelley, D. Keyes,
// SIAM J. Numer. Anal. 35, 1998, 508-523 (pseudo-transient continuation). A circuit with several
// resting states (a latch) comes to the one that leads on from x. Tested by
// tests/unit/physics_settle.cpp against transients.
#pragma once

#include <vector>

#include "physics/system.h"

namespace pb::physics {

/// Replaces x by the resting state with the sources as they are at t. False without convergence; x
/// is then of no use.
bool settle(System& system, double t_s, std::vector<double>& x);

}  // namespace pb::physics
