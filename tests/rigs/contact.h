// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Bodies that meet: a rotor without current, on its own or with a loose load. What becomes of them
// is mechanics of the first year.
#pragma once

#include <algorithm>
#include <vector>

#include "tests/rigs/circuit.h"

namespace pb::rigs {

/// Windings so resistive that they carry nothing.
inline Circuit coasting(double inertia_kgm2) {
  Circuit c = grounded();
  c.windings = {{0, 0, 1e12, 8e-3}, {0, 0, 1e12, 8e-3}};
  c.rotor = {50, 0.25, inertia_kgm2, 0, 0, 0, 0, false};
  return c;
}

struct Rebound {
  double speed_rad_s, depth_rad, lasts_s, lost_J;
};

/// A body hits a stop 10 mrad away at this speed.
inline Rebound rebound(double inertia_kgm2, double stiffness_Nm_rad, double restitution,
                       double speed_rad_s, const TransientOptions& options = tight(),
                       double closes = 1e-5) {
  Circuit c = coasting(inertia_kgm2);
  c.end_stop = {contact_of(stiffness_Nm_rad, restitution), 0.01};
  System s(c);
  Transient t(s, options);
  t.start(0.0, {0, 0, speed_rad_s, 0});
  Rebound out{0, 0, 0, 0};
  double in_s = -1, before_s = 0, before_rad = 0;
  t.on_step = [&](double now_s, const std::vector<double>& x) {
    const double from = before_rad - 0.01, to = x[3] - 0.01;
    const double zero_s = before_s + (now_s - before_s) * from / (from - to);
    if (from <= 0 && to > 0) in_s = zero_s;
    if (from > 0 && to <= 0) out.lasts_s = zero_s - in_s;
    out.depth_rad = std::max(out.depth_rad, to);
    before_s = now_s, before_rad = x[3];
  };
  EXPECT_EQ(t.run_to(0.02 / speed_rad_s + 0.01), Outcome::reached_end);
  out.speed_rad_s = -t.state()[2];
  out.lost_J = t.ledger().load_J;
  EXPECT_NEAR(t.ledger().residual_J(), 0, closes * 0.5 * inertia_kgm2 * square(speed_rad_s));
  return out;
}

struct Collision {
  double free_s, rotor_rad_s, load_rad_s, lost_J;
};

/// A rotor at this speed, in the middle of a gap of 40 mrad, meets a load at rest.
inline Collision collision(double rotor_kgm2, double load_kgm2, double restitution,
                           double speed_rad_s) {
  Circuit c = coasting(rotor_kgm2);
  c.loose_load = {contact_of(500.0, restitution), 0.04, load_kgm2, 0, 0, 0};
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {0, 0, speed_rad_s, 0, 0, 0});
  double met_s = 0;
  t.on_step = [&](double now_s, const std::vector<double>& x) {
    if (met_s == 0 && x[4] != 0) met_s = now_s;
  };
  // Until they are apart; before the other flank is met.
  EXPECT_EQ(t.run_to(0.02 / speed_rad_s + 0.004), Outcome::reached_end);
  const double lost_J = t.ledger().load_J;
  EXPECT_NEAR(t.ledger().residual_J(), 0, 1e-5 * 0.5 * rotor_kgm2 * square(speed_rad_s));
  return {met_s, t.state()[2], t.state()[4], lost_J};
}

}  // namespace pb::rigs
