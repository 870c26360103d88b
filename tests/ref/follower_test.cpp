// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The follower reference against the channel law's limits in closed form.

#include "tests/ref/follower.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb::ref {
namespace {

// Currents of the interpolation of Enz, Krummenacher, Vittoz, Analog Integr. Circuits Signal
// Process. 8 (1995) 83-114, n 1.3, K 0.1 A/V^2, VT0 2 V, 300 K; derived from the formula in another
// language.
TEST(Follower, ChannelMatchesTable) {
  struct Row {
    double gate_V, drain_V, i_A;
  };
  for (const Row& r :
       {Row{5, 5, 3.46153846e-1}, Row{3, 5, 3.84615402e-2}, Row{5, 0.1, 2.935e-2},
        Row{3, 0.1, 9.34999103e-3}, Row{3, 0.01, 9.93499647e-4}, Row{2.1, 5, 4.97121649e-4},
        Row{2.0, 5, 8.34857893e-5}, Row{1.8, 5, 4.30287748e-7}, Row{1.5, 5, 6.00415993e-11}}) {
    const Follower f{.K_A_V2 = 0.1,
                     .VT0_V = 2.0,
                     .n = 1.3,
                     .UT_V = 0.0258519998,
                     .gate_V = r.gate_V,
                     .drain_V = r.drain_V};
    EXPECT_NEAR(follower_channel_A(f, 0.0) / r.i_A, 1.0, 1e-7) << r.gate_V << ' ' << r.drain_V;
  }
}

// Strong inversion, saturated: K (VG - v - VT0)^2 / (2 n) = v / R is a quadratic in v (derived).
TEST(Follower, StrongInversionSolvesTheQuadratic) {
  for (const double load_ohm : {2.0, 5.0, 10.0}) {
    Follower f;
    f.load_ohm = load_ohm;
    const double over_V = f.gate_V - f.VT0_V, b = 2.0 * f.n / (f.K_A_V2 * load_ohm);
    const double p = 2.0 * over_V + b;
    const double v_V = 0.5 * (p - std::sqrt(p * p - 4.0 * over_V * over_V));
    // What the quadratic leaves out is about e^(-(VP - VS)/(2 UT)): 1e-3 for 0.3 V over threshold.
    EXPECT_NEAR(follower_source_V(f), v_V, 1e-3) << load_ohm;
    EXPECT_LT(follower_source_V(f), f.gate_V - f.VT0_V);  // it loses a threshold and more
  }
}

// Gate far above the supply: a resistance 1/(K (VG - VS - VT0)) in series with the load (derived;
// the term n vd^2/2 is second order).
TEST(Follower, TriodeIsAResistance) {
  Follower f;
  f.gate_V = 30.0;
  const double on_ohm = 1.0 / (f.K_A_V2 * (f.gate_V - f.drain_V - f.VT0_V));
  EXPECT_NEAR(f.drain_V - follower_source_V(f), f.drain_V * on_ohm / (on_ohm + f.load_ohm), 5e-5);
}

TEST(Follower, SolutionFeedsTheLoad) {
  for (const double gate_V : {1.0, 2.0, 5.0, 12.0, 20.0})
    for (const double load_ohm : {1.0, 1e3, 1e6}) {
      Follower f;
      f.gate_V = gate_V;
      f.load_ohm = load_ohm;
      const double v_V = follower_source_V(f);
      const double i_A = follower_channel_A(f, v_V);
      // Conductance times the 1e-13 V of the bisection, and the rounding of squares of 1e5.
      EXPECT_NEAR(i_A, v_V / load_ohm, 1e-8 * (1.0 + i_A)) << gate_V << ' ' << load_ohm;
    }
}

}  // namespace
}  // namespace pb::ref
