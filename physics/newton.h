// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How much of a Newton step may be taken, and when its size may be trusted. An exponential seen
// from below looks flat: the full step lands hundreds of thermal voltages too high, and the way
// back is one thermal voltage at a time. Bipolar junctions are therefore let up by the logarithm of
// what Newton asks. (Diodes need no such care: their series resistance is in the law.) Source of
// the rule: L. Nagel, D. Pederson, ERL Memo M382, Univ. of California, Berkeley, 1973. Tested by
// tests/unit/physics_newton.cpp.
#pragma once

#include <vector>

#include "physics/system.h"

namespace pb::physics {

/// Share of `delta`, above 0 and at most 1, that may be added to `x`.
double newton_share(const System& system, const std::vector<double>& x,
                    const std::vector<double>& delta);

/// Whether a conducting bipolar junction is still on its way down an exponential after `delta`
/// brought the iteration to `x`: then every further step is one thermal voltage again, and the last
/// change says nothing of what is missing.
bool newton_descends(const System& system, const std::vector<double>& x,
                     const std::vector<double>& delta);

}  // namespace pb::physics
