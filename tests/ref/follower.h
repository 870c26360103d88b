// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Operating point of an N channel source follower by bisection: a solution that shares nothing with
// a circuit solver but the channel's law (scene.h).

#pragma once

namespace pb::ref {

/// Gate held at gate_V, drain at drain_V, source through load_ohm to ground; bulk at the source.
struct Follower {
  double K_A_V2 = 8.0;
  double VT0_V = 1.8;
  double n = 1.3;
  double UT_V = 0.025852;
  double gate_V = 5.0;
  double drain_V = 12.0;
  double load_ohm = 10.0;
};

/// Channel current [A] with the source at source_V.
double follower_channel_A(const Follower& f, double source_V);

/// The source voltage [V] at which the channel feeds the load: 0 <= v <= drain_V, to 1e-13 V.
double follower_source_V(const Follower& f);

}  // namespace pb::ref
