// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// An order of a wiring's places, pins and roles that depends on what is connected to what, not on
// names or on the order of a file. Sums of floating-point numbers depend on their order, and an
// integrator that accepts or rejects steps makes that visible: two spellings of the same circuit
// would differ in the fifth digit. Circuits are put together in this order instead. Tested by
// tests/slow/renamed_template.cpp.
#pragma once

#include <cstddef>
#include <vector>

#include "model/design.h"

namespace pb::physics {

struct CanonicalOrder {
  std::vector<std::size_t> places, pins, roles;  // indices into the template's lists
};

/// By colour refinement: what a place or a pin is like, then what its neighbours are like, and so
/// on, starting from ground, the supplies and the windings' ends. Ties are left in the template's
/// order: in any sensible wiring they are places that can be exchanged without anyone noticing.
/// Places of roles without a part come last.
CanonicalOrder canonical_order(const Design& design);

}  // namespace pb::physics
