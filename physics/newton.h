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

#include <algorithm>
#include <cmath>
#include <numbers>

#include "physics/system.h"

namespace pb::physics {

namespace junctions {

constexpr double kOff = 2.0, kOn = 5.0;  // arguments of a diode's law below and beyond its knee
constexpr double kLeaks = -7.0;          // below it carries less than a thousandth of n V_t/R
constexpr double kStep = 0.5;            // of a thermal voltage: Newton is quadratic below it

inline double critical_V(const Bipolar& q) {
  return q.Vt_V * std::log(q.Vt_V / (std::numbers::sqrt2 * q.saturation_A));
}

/// Share of a rise dv from v that a junction of this transistor takes well.
inline double share_of(const Bipolar& q, double v, double dv) {
  if (dv <= 2.0 * q.Vt_V) return 1.0;
  const double critical = critical_V(q);
  if (v + dv <= critical) return 1.0;
  const double target =
      v > 0.0 ? v + q.Vt_V * std::log1p(dv / q.Vt_V) : q.Vt_V * std::log((v + dv) / q.Vt_V);
  return std::clamp((std::max(target, std::min(critical, v + dv)) - v) / dv, 1e-3, 1.0);
}

inline bool descends(const Bipolar& q, double v, double dv) {
  constexpr double kConducts_A = 1e-6;  // below, an error of several times this changes nothing
  return dv < -kStep * q.Vt_V && v > q.Vt_V * std::log(kConducts_A / q.saturation_A);
}

/// f of each lane.
template <class F>
double by_lane(const Bipolar& q, double v, double dv, F f) {
  return f(q, v, dv);
}
template <int kBuild, class F>
Lanes<kBuild> by_lane(const BasicBipolar<Lanes<kBuild>>& q, const Lanes<kBuild>& v,
                      const Lanes<kBuild>& dv, F f) {
  Lanes<kBuild> out;
  for (int k = 0; k < kLanes; ++k)
    out.set(
        k, f(Bipolar{q.sign[k], q.saturation_A[k], q.forward_gain[k], q.reverse_gain[k], q.Vt_V[k]},
             v[k], dv[k]));
  return out;
}

}  // namespace junctions

/// Share of `delta`, above 0 and at most 1, that may be added to `x`.
template <class R>
R newton_share(const BasicSystem<R>& system, const std::vector<R>& x, const std::vector<R>& delta) {
  R share = R(1.0);
  system.for_junctions(x, delta, [&](const BasicBipolar<R>& q, const R& v, const R& dv) {
    if (!any(dv > 2.0 * q.Vt_V)) return;
    share = minimum(share, junctions::by_lane(q, v, dv, junctions::share_of));
  });
  return share;
}

/// The same of diodes that begin to conduct: at most up to where they clearly do.
template <class R>
R share_up_to_knees(const BasicSystem<R>& system, const std::vector<R>& delta) {
  R share = R(1.0);
  system.for_diodes(delta, [&](const R& z, const R& dz) {
    const Which<R> jumps = both(z<R(junctions::kOff), z + dz> R(junctions::kOn));
    if (!any(jumps)) return;
    share = minimum(share, select(jumps, (junctions::kOn - z) / dz, R(1.0)));
  });
  return share;
}

/// Whether a junction that conducts is still under way on its exponential after `delta` brought the
/// iteration to `x`: then the last change says nothing of what is missing. Down that of a bipolar
/// transistor every further step is one thermal voltage again. A diode whose thermal voltage is
/// below the tolerance, as that of a supply which takes nothing back, may be settled by voltage and
/// carry several times its current: behind a cable such steps kick each other on and on.
template <class R>
Which<R> newton_is_under_way(const BasicSystem<R>& system, const std::vector<R>& x,
                             const std::vector<R>& delta) {
  Which<R> moves = which<R>(false);
  system.for_diodes(delta, [&](const R& z, const R& dz) {
    const Which<R> far = absolute(dz) > R(junctions::kStep);
    if (!any(far)) return;
    moves = either(moves, both(far, maximum(z, z + dz) > R(junctions::kLeaks)));
  });
  system.for_junctions(x, delta, [&](const BasicBipolar<R>& q, const R& v, const R& dv) {
    if (!any(dv < -junctions::kStep * q.Vt_V)) return;
    const R down = junctions::by_lane(q, v, dv, [](const Bipolar& one, double at, double by) {
      return junctions::descends(one, at, by) ? 1.0 : 0.0;
    });
    moves = either(moves, down > R(0.5));
  });
  return moves;
}

}  // namespace pb::physics
