// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A stepped motor with saturated iron that carries a load through a gap into an end stop: the
// engine against CVODE on a second statement of the equations.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "tests/ref/touching_ref.h"
#include "tests/rigs/circuit.h"

namespace pb::rigs {

/// Full steps with two phases on.
inline std::vector<ref::Push> pushed_steps(double V, double step_s, int count) {
  constexpr double kA[] = {1, -1, -1, 1}, kB[] = {1, 1, -1, -1};
  std::vector<ref::Push> out;
  for (int k = 0; k < count; ++k) out.push_back({k * step_s, V * kA[k % 4], V * kB[k % 4]});
  return out;
}

inline Circuit circuit_of(const ref::TouchingMotor& m, const std::vector<ref::Push>& pushes) {
  constexpr double kEdge_s = 1e-9;
  Circuit c = grounded();
  Profile a{{-1e-3}, {pushes[0].va_V}}, b{{-1e-3}, {pushes[0].vb_V}};
  for (std::size_t k = 1; k < pushes.size(); ++k) {
    a.hold_then_go(pushes[k].from_s, kEdge_s, pushes[k].va_V);
    b.hold_then_go(pushes[k].from_s, kEdge_s, pushes[k].vb_V);
  }
  const int at_a = driven(c, a), at_b = driven(c, b);
  c.windings = {{at_a, 0, m.winding_ohm, m.winding_H}, {at_b, 0, m.winding_ohm, m.winding_H}};
  c.rotor = {m.teeth, m.Km_Vs_rad, m.rotor_kgm2, m.rotor_Nms, m.detent_Nm, 0, 0, false};
  c.iron = iron_of(m.winding_H, m.Km_Vs_rad, m.teeth, m.saturation_A);
  c.loose_load = {contact_of(m.flank_Nm_rad, m.flank_e),
                  m.gap_rad,
                  m.load_kgm2,
                  m.load_Nms,
                  m.friction_Nm,
                  m.gravity_Nm};
  c.end_stop = {contact_of(m.stop_Nm_rad, m.stop_e), m.stop_rad};
  return c;
}

/// Greatest differences: of a current over the greatest, of angles in steps.
struct Strayed {
  double current = 0, rotor_step = 0, load_step = 0, most_A = 0, depth_rad = 0;
};

inline Strayed apart_from_cvode(const TransientOptions& options) {
  const ref::TouchingMotor m;
  const std::vector<ref::Push> pushes = pushed_steps(5.0, 4e-3, 12);
  std::vector<double> times_s;
  for (int k = 1; k <= 480; ++k) times_s.push_back(k * 1e-4);
  const auto reference = ref::touching_run(m, pushes, times_s);
  System s(circuit_of(m, pushes));
  Transient t(s, options);
  t.start(0.0);
  Strayed w;
  const double step_rad = 0.5 * kPi / m.teeth;
  for (std::size_t k = 0; k < times_s.size(); ++k) {
    EXPECT_EQ(t.run_to(times_s[k]), Outcome::reached_end);
    const std::vector<double>& x = t.state();
    const ref::TouchingState& r = reference[k];
    w.most_A = std::max({w.most_A, std::abs(r.ia_A), std::abs(r.ib_A)});
    w.current = std::max({w.current, std::abs(x[0] - r.ia_A), std::abs(x[1] - r.ib_A)});
    w.rotor_step = std::max(w.rotor_step, std::abs(x[3] - r.rotor_rad) / step_rad);
    w.load_step = std::max(w.load_step, std::abs(x[5] - r.load_rad) / step_rad);
    w.depth_rad = std::max(w.depth_rad, r.load_rad - m.stop_rad);
  }
  w.current /= w.most_A;
  EXPECT_GT(w.depth_rad, 0.0) << "the stop was met";
  EXPECT_GT(w.most_A, 0.9) << "iron was saturated";
  EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-3 * t.ledger().throughput_J);
  return w;
}

}  // namespace pb::rigs
