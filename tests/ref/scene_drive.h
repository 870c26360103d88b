// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The drive of a scene as a list of pin edges, from the rules in scene.h.

#pragma once

#include <vector>

#include "tests/ref/scene.h"

namespace pb::ref {

/// Switches and pins are numbered 2 * leg for P, 2 * leg + 1 for N; legs are A1 A2 B1 B2.
inline constexpr int kSwitches = 8;

/// The pin of switch `pin` starts at t_s to go to its on or off level in a straight line of edge_s.
struct PinEdge {
  double t_s = 0.0;
  int pin = 0;
  bool on = false;
};

/// The state of pin `pin` before the first edge.
bool on_at_start(const Scene& scene, int pin);

/// All edges with t_s < end_s in order of time; edges at one time in order of pin.
std::vector<PinEdge> drive_edges(const Scene& scene);

/// Times are kept to the picosecond, so that edges meant to coincide do so bit by bit.
double whole_picoseconds(double t_s);

/// The level of pin `pin` when on or off.
double pin_level_V(const Scene& scene, int pin, bool on);

}  // namespace pb::ref
