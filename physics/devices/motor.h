// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two-phase permanent-magnet or hybrid stepper motor:
//   e_A = -K w sin(N th), e_B = K w cos(N th);  L di/dt = v - R i - e
//   J dw/dt = K (i_B cos(N th) - i_A sin(N th)) - T_d sin(4 N th) - B w - T_f tanh(w/w_f) - T_g
// Source: P. Acarnley, Stepping Motors, 4th ed., IET 2002 (model); signs fixed by e_A i_A + e_B i_B
// = T w, which a test holds to. Valid: unsaturated, no iron loss, sinusoidal back-EMF, rigid load.
// Tested by tests/unit/physics_motor.cpp.
#pragma once

#include <cmath>

#include "physics/devices/exponential.h"

namespace pb::physics {

template <class R>
struct BasicRotor {
  R teeth = 50, motor_constant_Vs = 0.1, inertia_kgm2 = 1e-6, viscous_Nms = 0, detent_Nm = 0;
  R friction_Nm = 0, gravity_Nm = 0;
  bool locked = false;
};
using Rotor = BasicRotor<double>;

template <class R>
struct SineCosine {
  R sin, cos;
};

/// By the series of Taylor after taking off multiples of a right angle (in two parts, so that what
/// is left keeps its bits). Within 2e-15 up to 1e4; beyond 1e8, or not a number, means nothing.
template <class R>
[[gnu::always_inline]] inline SineCosine<R> sine_cosine(const R& x) {
  // Adding and taking off 1.5 2^52 rounds to the nearest whole number.
  constexpr double kRound = 6755399441055744.0;
  constexpr double kHigh = 1.57079632673412561417, kLow = 6.07710050650619224932e-11;
  const R n = (x * (2.0 / 3.14159265358979323846) + kRound) - kRound;
  const R r = (x - n * kHigh) - n * kLow, z = r * r;
  const R s =
      r - r * z *
              (1.0 / 6 -
               z * (1.0 / 120 -
                    z * (1.0 / 5040 - z * (1.0 / 362880 - z * (1.0 / 39916800 -
                                                               z * (1.0 / 6227020800 -
                                                                    z * (1.0 / 1307674368000)))))));
  const R c =
      1.0 -
      z * (1.0 / 2 -
           z * (1.0 / 24 -
                z * (1.0 / 720 -
                     z * (1.0 / 40320 -
                          z * (1.0 / 3628800 - z * (1.0 / 479001600 - z * (1.0 / 87178291200)))))));
  // Which quarter: n - 4 round(n/4) is -2, -1, 0, 1 or 2.
  const R q = n - 4.0 * ((n * 0.25 + kRound) - kRound), size = absolute(q);
  const auto odd = select(size < R(1.5), size, R(0.0)) > R(0.5);
  const R minus = R(-1.0), plus = R(1.0);
  return {select(odd, c, s) * select(q > R(1.5), minus, select(q < R(-0.5), minus, plus)),
          select(odd, s, c) * select(q > R(0.5), minus, select(q < R(-1.5), minus, plus))};
}

/// The hyperbolic tangent, which most of the time is one or the other end.
template <class R>
[[gnu::always_inline]] inline R friction_share(const R& x) {
  constexpr double kEnd = 20.0;  // 1 - tanh is 8e-18
  if (!any(absolute(x) < R(kEnd))) return select(x > R(0.0), R(1.0), R(-1.0));
  const R e = exponential(-2.0 * absolute(x)), share = (1.0 - e) / (1.0 + e);
  return select(x > R(0.0), share, -share);
}

/// Speed at which the friction torque has reached 76 % of its value: Coulomb friction smoothed for
/// the solver.
inline constexpr double kFrictionSpeed_rad_s = 0.05;

struct MotorTorque {
  double e_a_V, e_b_V, electric_Nm, detent_Nm, friction_Nm;
};

inline MotorTorque motor_torque(const Rotor& r, double i_a_A, double i_b_A, double w_rad_s,
                                double th_rad) {
  const double s = std::sin(r.teeth * th_rad), c = std::cos(r.teeth * th_rad),
               k = r.motor_constant_Vs;
  return {-k * w_rad_s * s, k * w_rad_s * c, k * (i_b_A * c - i_a_A * s),
          r.detent_Nm * 4.0 * s * c * (c * c - s * s),
          r.friction_Nm * std::tanh(w_rad_s / kFrictionSpeed_rad_s)};
}

}  // namespace pb::physics
