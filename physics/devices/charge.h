// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Charge that is no straight line of the voltage v across a capacitance; capacity is dq/dv, so what
// flows in flows out again. Both laws give charge [C], capacity [F] and stored energy [J], the
// integral of v dq. Tested by tests/unit/physics_charge.cpp.
#pragma once

#include "physics/lanes.h"

namespace pb::physics {

/// Of a blocking junction: C = C_0/sqrt(1 + v/phi) for v > 0, C_0 below, where the junction
/// conducts and its charge matters little. Source: abrupt junction, S. Sze, *Physics of
/// Semiconductor Devices*, 2nd ed. 1981, 2.3; of a transistor's drain as well, whose depletion
/// layer widens alike. Valid: below breakdown.
template <class R>
struct BasicDepletion {
  R zero_F = 0, built_in_V = 1;  // C_0, phi

  [[gnu::always_inline]] BasicValueSlope<R> operator()(const R& v) const {
    const R blocking = maximum(v, R(0.0)), root = square_root(1.0 + blocking / built_in_V);
    return {zero_F * (v - blocking + 2.0 * built_in_V * (root - 1.0)), zero_F / root};
  }
  R energy_J(const R& v) const {
    const R blocking = maximum(v, R(0.0)), forward = v - blocking,
            root = square_root(1.0 + blocking / built_in_V);
    // The integral of v/sqrt(1 + v/phi).
    const R up = built_in_V * built_in_V * (2.0 / 3.0) * (root * root * root - 3.0 * root + 2.0);
    return zero_F * (0.5 * forward * forward + up);
  }
  /// Bound of |d2q/dv2| between v and v + dv.
  R curvature(const R& v, const R& dv) const {
    const R least = maximum(minimum(v, v + dv), R(0.0)), u = 1.0 + least / built_in_V;
    return 0.5 * zero_F / (built_in_V * u * square_root(u));
  }
};

/// Of a ceramic whose permittivity falls with the field: C = C_0 (1 + (v/v_0)^2)^(-3/2), even in v.
/// The shape is common practice, no source; v_0 from what is left at the rated voltage.
template <class R>
struct BasicCeramic {
  R zero_F = 0, knee_V = 1;  // C_0, v_0

  [[gnu::always_inline]] BasicValueSlope<R> operator()(const R& v) const {
    const R u = v / knee_V, fall = 1.0 / square_root(1.0 + u * u);
    return {zero_F * v * fall, zero_F * fall * fall * fall};
  }
  R energy_J(const R& v) const {
    const R u = v / knee_V;
    return zero_F * knee_V * knee_V * (1.0 - 1.0 / square_root(1.0 + u * u));
  }
  R curvature(const R&, const R&) const { return zero_F / knee_V; }  // 0.86 of that at the most
};

using Depletion = BasicDepletion<double>;
using Ceramic = BasicCeramic<double>;

/// The law of a junction that has this capacity at v_V > 0.
Depletion depletion_through(double capacity_F, double v_V, double built_in_V);
/// The law of a ceramic of which `share`, below 1, is left at v_V.
Ceramic ceramic_through(double zero_F, double share, double v_V);

}  // namespace pb::physics
