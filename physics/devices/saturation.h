// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two windings and a magnet on iron that saturates, from one co-energy: the magnet is a current I_m
// that turns with the rotor's teeth, m = I_m (cos N th, sin N th), and the iron sees y = i + m,
//   W' = L I_s^2 (sqrt(1 + |y|^2/I_s^2) - 1)
//   flux linkage = dW'/di = L y/g,  g = sqrt(1 + |y|^2/I_s^2)
//   torque = dW'/dth = N (L/g) (m_A i_B - m_B i_A)
// With L = L_0 sqrt(1 + I_m^2/I_s^2) and I_m = K/(N L_0), inductance across the magnet and EMF are
// L_0 and K as long as no current flows; along it the inductance is less. Without end I_s this is
// the linear motor of motor.h. W' is convex, so that no inductance is ever negative; torque and
// flux come from one function, so that energy closes. Sources: D. White, H. Woodson,
// Electromechanical Energy Conversion, Wiley 1959, ch. 1 (co-energy); P. Krause et al., Analysis of
// Electric Machinery, 3rd ed. 2013, 4.2 (a magnet as a current); the curve L i/sqrt(1 + i^2/I_s^2)
// is common practice, no source. Valid: no hysteresis, no eddy currents, both windings alike, no
// harmonics of the teeth. Tested by tests/unit/physics_saturation.cpp.
#pragma once

#include <cmath>

#include "physics/devices/motor.h"

namespace pb::physics {

/// A struct of nothing but numbers.
template <class R>
struct BasicIron {
  R coil_H = 1e-3, magnet_A = 1, per_A2 = 1, teeth = 50;  // L, I_m, 1/I_s^2, N
};
using Iron = BasicIron<double>;

/// Of inductance L_0 [H] and constant K [V s] without current, and I_s [A].
inline Iron iron_of(double inductance_H, double motor_constant_Vs, double teeth,
                    double saturation_A) {
  const double magnet_A = motor_constant_Vs / (teeth * inductance_H);
  return {inductance_H * std::hypot(1.0, magnet_A / saturation_A), magnet_A,
          1.0 / (saturation_A * saturation_A), teeth};
}

template <class R>
struct BasicFlux {
  R a_Vs, b_Vs;                    // linkage
  R aa_H, ab_H, bb_H;              // by the currents
  R a_by_angle_Vs, b_by_angle_Vs;  // and by the angle: also the torque by the currents
  R torque_Nm, torque_by_angle_Nm;
  R stored_J;  // less what the magnet alone stores in iron that does not saturate
};

template <class R>
[[gnu::always_inline]] inline BasicFlux<R> flux_law(const BasicIron<R>& k, const R& i_a_A,
                                                    const R& i_b_A, const R& th_rad) {
  const SineCosine<R> turn = sine_cosine(k.teeth * th_rad);
  const R ma = k.magnet_A * turn.cos, mb = k.magnet_A * turn.sin, ya = i_a_A + ma, yb = i_b_A + mb;
  const R g2 = 1.0 + k.per_A2 * (ya * ya + yb * yb), g = square_root(g2), chi = k.coil_H / g,
          bend = chi * k.per_A2 / g2;
  BasicFlux<R> f;
  f.a_Vs = chi * ya, f.b_Vs = chi * yb;
  f.aa_H = chi - bend * ya * ya, f.bb_H = chi - bend * yb * yb, f.ab_H = -bend * ya * yb;
  const R da = -k.teeth * mb, db = k.teeth * ma;  // of y, by the angle
  f.a_by_angle_Vs = f.aa_H * da + f.ab_H * db;
  f.b_by_angle_Vs = f.ab_H * da + f.bb_H * db;
  f.torque_Nm = f.a_Vs * da + f.b_Vs * db;
  f.torque_by_angle_Nm =
      f.a_by_angle_Vs * da + f.b_by_angle_Vs * db - k.teeth * k.teeth * (f.a_Vs * ma + f.b_Vs * mb);
  // L I_s^2 (g - 1) without the difference of two great numbers.
  const R co_energy = k.coil_H * (ya * ya + yb * yb) / (g + 1.0);
  f.stored_J = f.a_Vs * i_a_A + f.b_Vs * i_b_A - co_energy;
  return f;
}

}  // namespace pb::physics
