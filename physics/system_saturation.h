// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What iron that saturates changes in system_equations.h: a winding's equation balances its flux
// linkage, which depends on both currents and the angle, so that no EMF stands beside it. Tested by
// tests/unit/physics_saturation.cpp.
#pragma once

#include "physics/system.h"

namespace pb::physics {

/// Beside the charges of newton().
template <class R>
void BasicSystem<R>::iron() {
  const int first = n_.first_winding;
  const BasicFlux<R> flux = flux_law(iron_, at_[first], at_[first + 1], at_[first + 3]);
  residual_[first] -= flux.a_Vs;
  residual_[first + 1] -= flux.b_Vs;
  R* const m = lu_.values.data();
  const auto at = [&](int i, int j) -> R& { return m[n_.motor_slot[i][j]]; };
  at(0, 0) += flux.aa_H, at(0, 1) += flux.ab_H, at(0, 3) += flux.a_by_angle_Vs;
  at(1, 0) += flux.ab_H, at(1, 1) += flux.bb_H, at(1, 3) += flux.b_by_angle_Vs;
}

template <class R>
void BasicSystem<R>::iron_flux(const Vector& x, Vector& q) const {
  const int first = n_.first_winding;
  const BasicFlux<R> flux = flux_law(iron_, x[first], x[first + 1], x[first + 3]);
  q[first] += flux.a_Vs;
  q[first + 1] += flux.b_Vs;
}

template <class R>
R BasicSystem<R>::slope(const Vector& x, const Vector& f_there, int unknown) const {
  const int first = n_.first_winding;
  if (!saturates_ || unknown < first || unknown > first + 1)
    return -f_there[unknown] / storage(unknown);
  const BasicFlux<R> flux = flux_law(iron_, x[first], x[first + 1], x[first + 3]);
  const R turns = rotor_.locked ? R(0.0) : x[first + 2];
  const R da = -f_there[first] - flux.a_by_angle_Vs * turns,
          db = -f_there[first + 1] - flux.b_by_angle_Vs * turns;
  const R own = unknown == first ? da : db, across = unknown == first ? db : da,
          far = unknown == first ? flux.bb_H : flux.aa_H;
  return (far * own - flux.ab_H * across) / (flux.aa_H * flux.bb_H - flux.ab_H * flux.ab_H);
}

}  // namespace pb::physics
