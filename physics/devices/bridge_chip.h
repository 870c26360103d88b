// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One bridge of an integrated driver, by its behaviour: four switches that are resistances when on,
// steered by two inputs and, where it has a chopper inside, by that (common practice, no source):
//
//   in1 in2   out1  out2
//    0   0    open  open   coast
//    1   0    high  low
//    0   1    low   high
//    1   1    low   low    brake
//
//   level     s_k = S((v_ink - v_th)/w),  S(y) = 0 below -1, 1 above +1, a cubic between
//   drives    m = s_1 (1 - s_2), n = s_2 (1 - s_1), brake b = s_1 s_2
//   chopper   slow (both low) and fast (all open): shares c and o of the way into decay, c + o <= 1
//   gates     of a package of logic buffers no bridge is made inside: out k is high where s_k is,
//             else low, high_k = u L(s_k), low_k = u L(1 - s_k); the rest is the same, without a
//             chopper
//   switches  high1 = u L(m (1 - c - o)), low1 = u L(n (1 - o) + m c + b), and the other side with
//             m and n swapped; L(y) = S(4 y - 3): nothing below one half
//   supply    u = S((v_m - v_off)/w_u); outputs open below the lock-out
//   current   i = G high (v_m - v_out),  i = G low (v_out - v_return);  quiescent I_q tanh(v_m/v_q)
// m (1 - c - o) + n (1 - o) + m c + b <= 1, so a leg's switches are never both above one half,
// never both on: that is the dead time every such chip has inside. All voltages against the chip's
// ground [V], G [S]. Valid: below the peak rating (its current limit does not act here), steady
// supply. The diodes across the switches are elements of their own. Tested by
// tests/unit/physics_bridge_chip.cpp.
#pragma once

#include <cmath>

#include "physics/lanes.h"

namespace pb::physics {

template <class R>
struct BasicBridgeChip {
  R switch_S = 1.0;  // of each switch that is on
  R threshold_V = 1.5, undervoltage_V = 2.0, quiescent_A = 1e-3;
  R slow = 0.0, fast = 0.0;  // of the way into decay
  R follows = 0.0;           // 1: each output follows its own input
};
using BridgeChip = BasicBridgeChip<double>;

/// Terminals in the order of the arrays below; the return is what the low switches pull to: the
/// chip's ground, or a sense resistor's end.
enum BridgeTerminal {
  kChipSupply,
  kChipGround,
  kChipIn1,
  kChipIn2,
  kChipOut1,
  kChipOut2,
  kChipReturn
};
inline constexpr int kBridgeTerminals = 7;

template <class R>
struct BasicBridgeCurrent {
  R i_A[kBridgeTerminals];  // into the chip
  R g_S[kBridgeTerminals][kBridgeTerminals];
};
using BridgeCurrent = BasicBridgeCurrent<double>;

/// Steps over this much are still a step to any logic level, and no discontinuity to the solver.
inline constexpr double kInputStep_V = 0.1, kUndervoltageStep_V = 0.1, kQuiescentKnee_V = 1.0;

/// 0 below -1, 1 above +1, slope continuous.
template <class R>
BasicValueSlope<R> smooth_step(const R& y) {
  const auto above = y >= R(1.0), between = y > R(-1.0);
  return {select(above, R(1.0), select(between, 0.5 + y * (0.75 - 0.25 * y * y), R(0.0))),
          select(above, R(0.0), select(between, 0.75 * (1.0 - y * y), R(0.0)))};
}

/// How far the four switches are on: high1, low1, high2, low2; slopes to v_m, v_in1, v_in2.
template <class R>
struct BridgeSwitches {
  R on[4], slope[4][3];
};
template <class R>
BridgeSwitches<R> bridge_switches(const BasicBridgeChip<R>& c, const R& vm_V, const R& in1_V,
                                  const R& in2_V) {
  const BasicValueSlope<R> u = smooth_step((vm_V - c.undervoltage_V) / R(kUndervoltageStep_V));
  const BasicValueSlope<R> s1 = smooth_step((in1_V - c.threshold_V) / R(kInputStep_V)),
                           s2 = smooth_step((in2_V - c.threshold_V) / R(kInputStep_V));
  const R m = s1.value * (1.0 - s2.value), n = s2.value * (1.0 - s1.value), b = s1.value * s2.value,
          m1 = 1.0 - s2.value, m2 = -s1.value, n1 = -s2.value, n2 = 1.0 - s1.value, b1 = s2.value,
          b2 = s1.value;
  const R driven = 1.0 - c.slow - c.fast, held = 1.0 - c.fast;
  const R want[4] = {m * driven, n * held + m * c.slow + b, n * driven, m * held + n * c.slow + b};
  const R by1[4] = {m1 * driven, n1 * held + m1 * c.slow + b1, n1 * driven,
                    m1 * held + n1 * c.slow + b1},
          by2[4] = {m2 * driven, n2 * held + m2 * c.slow + b2, n2 * driven,
                    m2 * held + n2 * c.slow + b2};
  const auto gates = c.follows > R(0.5);
  const R own[4] = {s1.value, 1.0 - s1.value, s2.value, 1.0 - s2.value};
  constexpr double kOwn1[4] = {1, -1, 0, 0}, kOwn2[4] = {0, 0, 1, -1};
  BridgeSwitches<R> out;
  for (int k = 0; k < 4; ++k) {
    const BasicValueSlope<R> locked = smooth_step(4.0 * select(gates, own[k], want[k]) - 3.0);
    const R d1 = select(gates, R(kOwn1[k]), by1[k]), d2 = select(gates, R(kOwn2[k]), by2[k]);
    out.on[k] = u.value * locked.value;
    out.slope[k][0] = u.slope / R(kUndervoltageStep_V) * locked.value;
    out.slope[k][1] = u.value * 4.0 * locked.slope * d1 * s1.slope / R(kInputStep_V);
    out.slope[k][2] = u.value * 4.0 * locked.slope * d2 * s2.slope / R(kInputStep_V);
  }
  return out;
}

/// v_V: of the terminals, against anything.
template <class R>
BasicBridgeCurrent<R> bridge_law(const BasicBridgeChip<R>& c, const R (&v_V)[kBridgeTerminals]) {
  const R gnd = v_V[kChipGround], vm = v_V[kChipSupply] - gnd;
  const BridgeSwitches<R> s = bridge_switches<R>(c, vm, v_V[kChipIn1] - gnd, v_V[kChipIn2] - gnd);
  BasicBridgeCurrent<R> out;
  for (int t = 0; t < kBridgeTerminals; ++t) {
    out.i_A[t] = R(0.0);
    for (R& g : out.g_S[t]) g = R(0.0);
  }
  // A current i from terminal `a` to `b` with slopes to supply, in1, in2 (against ground).
  const auto add = [&](int a, int b, const R& i, const R& g, const R(&slope)[3]) {
    constexpr int kControl[3] = {kChipSupply, kChipIn1, kChipIn2};
    for (int end = 0; end < 2; ++end) {
      const int t = end ? b : a;
      const double sign = end ? -1.0 : 1.0;
      out.i_A[t] += sign * i;
      out.g_S[t][a] += sign * g;
      out.g_S[t][b] -= sign * g;
      for (int k = 0; k < 3; ++k) {
        out.g_S[t][kControl[k]] += sign * slope[k];
        out.g_S[t][kChipGround] -= sign * slope[k];
      }
    }
  };
  constexpr int kFrom[4] = {kChipSupply, kChipOut1, kChipSupply, kChipOut2},
                kTo[4] = {kChipOut1, kChipReturn, kChipOut2, kChipReturn};
  for (int k = 0; k < 4; ++k) {
    if (!any(s.on[k] > R(0.0))) continue;
    const R v = v_V[kFrom[k]] - v_V[kTo[k]], gv = c.switch_S * v;
    add(kFrom[k], kTo[k], gv * s.on[k], c.switch_S * s.on[k],
        {gv * s.slope[k][0], gv * s.slope[k][1], gv * s.slope[k][2]});
  }
  const R q = each([](double x) { return std::tanh(x); }, vm / R(kQuiescentKnee_V));
  add(kChipSupply, kChipGround, c.quiescent_A * q,
      c.quiescent_A * (1.0 - q * q) / R(kQuiescentKnee_V), {R(0.0), R(0.0), R(0.0)});
  return out;
}

inline BridgeCurrent bridge_current(const BridgeChip& c, const double (&v_V)[kBridgeTerminals]) {
  return bridge_law(c, v_V);
}

}  // namespace pb::physics
