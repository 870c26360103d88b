// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two bodies that touch on one side: an end stop, the flanks of a gear with play. At depth d > 0
// and speed of approach w
//   T = k d (1 + m tanh(w/w_f)),   k = K (1 + e^2)/2,   m = (1 - e^2)/(1 + e^2);   0 for d <= 0.
// It is pressed in with stiffness K and gives back with e^2 K, so that of the energy 1/2 J v^2 that
// hits it the share e^2 comes back: the coefficient of restitution is e, whatever the speed. It
// never pulls, and begins without a jump. Source: energy, as said; loss by a second stiffness on
// the way out as O. Walton, R. Braun, J. Rheology 30, 1986, 949-980 (from memory; there it depends
// on the depth reached). Valid: |w| well above w_f while in contact; below, it creeps like the
// smoothed friction of motor.h. Tested by tests/unit/physics_contact.cpp.
#pragma once

#include "physics/devices/motor.h"

namespace pb::physics {

/// Mean stiffness k [N m/rad], share m of it that is friction; a struct of nothing but numbers.
template <class R>
struct BasicContact {
  R stiffness_Nm_rad = 0, hysteresis = 0;
};
using Contact = BasicContact<double>;

/// Of stiffness K on the way in [N m/rad] and coefficient of restitution e, 0 to 1.
inline Contact contact_of(double stiffness_Nm_rad, double restitution) {
  const double back = restitution * restitution;
  return {0.5 * stiffness_Nm_rad * (1.0 + back), (1.0 - back) / (1.0 + back)};
}

template <class R>
struct BasicContactTorque {
  R torque_Nm, by_depth_Nm_rad, by_speed_Nms;  // and its slopes
  R lost_W;                                    // what does not come back; never negative
};

template <class R>
[[gnu::always_inline]] inline BasicContactTorque<R> contact_torque(const BasicContact<R>& c,
                                                                   const R& depth_rad,
                                                                   const R& speed_rad_s) {
  if (!any(depth_rad > R(0.0))) return {R(0.0), R(0.0), R(0.0), R(0.0)};
  const R k = select(depth_rad > R(0.0), c.stiffness_Nm_rad, R(0.0)), spring = k * depth_rad;
  const R t = friction_share(speed_rad_s / R(kFrictionSpeed_rad_s)), rubs = c.hysteresis * t;
  return {spring * (1.0 + rubs), k * (1.0 + rubs),
          spring * c.hysteresis * (1.0 - t * t) / R(kFrictionSpeed_rad_s),
          spring * rubs * speed_rad_s};
}

/// What the spring part holds. [J]
template <class R>
[[gnu::always_inline]] inline R contact_energy(const BasicContact<R>& c, const R& depth_rad) {
  const R d = maximum(depth_rad, R(0.0));
  return 0.5 * c.stiffness_Nm_rad * d * d;
}

/// A stop in the way of forward motion, at this angle.
template <class R>
struct BasicEndStop {
  BasicContact<R> contact;
  R angle_rad = 0;
};
using EndStop = BasicEndStop<double>;

/// A load behind a gap: a body of its own, carried along by either flank. All figures at the rotor.
template <class R>
struct BasicLooseLoad {
  BasicContact<R> flank;
  R gap_rad = 0;  // from flank to flank
  R inertia_kgm2 = 1e-6, viscous_Nms = 0, friction_Nm = 0, gravity_Nm = 0;
};
using LooseLoad = BasicLooseLoad<double>;

}  // namespace pb::physics
