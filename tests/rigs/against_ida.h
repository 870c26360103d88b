// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A scene as the engine ran it beside the same scene as the reference solver did.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "tests/ref/ida_scene.h"
#include "tests/slow/scene_circuit.h"

namespace pb::scenes {

struct Errors {
  double current = 0;  // largest difference of a winding current over the largest current
  double rotor = 0;    // largest difference of the angle, in steps
};
/// Of samples taken at the same times.
inline Errors errors_of(const Samples& x, const ref::SceneRun& r, const ref::Scene& scene) {
  EXPECT_EQ(x.t_s.size(), r.t_s.size());
  Errors e;
  double peak_A = 0;
  const std::size_t count = std::min(x.t_s.size(), r.t_s.size());
  for (std::size_t k = 0; k < count; ++k) {
    peak_A = std::max({peak_A, std::abs(r.i_a_A[k]), std::abs(r.i_b_A[k])});
    e.current =
        std::max({e.current, std::abs(x.i_a_A[k] - r.i_a_A[k]), std::abs(x.i_b_A[k] - r.i_b_A[k])});
    e.rotor = std::max(e.rotor, std::abs(x.theta_rad[k] - r.theta_rad[k]));
  }
  EXPECT_GT(peak_A, 0.1);  // the motor is driven
  e.current /= peak_A;
  e.rotor /= kPi / (2.0 * scene.Nr);
  return e;
}

/// The low sides chopped at 20 kHz: four hundred pulses and three changes of state.
inline ref::Scene chopped() {
  ref::Scene scene = ref::case_2();
  scene.end_s = 0.02;
  return scene;
}

/// What all channels turned into heat. [J]
inline double channels_J(const ref::SceneRun& r) {
  double sum = 0;
  for (double x : r.energy_J.channel) sum += x;
  return sum;
}

}  // namespace pb::scenes
