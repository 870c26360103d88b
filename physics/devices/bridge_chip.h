// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One bridge of an integrated driver, by its behaviour: four switches that are resistances when on,
// steered by two inputs (common practice, no source):
//
//   in1 in2   out1  out2
//    0   0    open  open   coast
//    1   0    high  low
//    0   1    low   high
//    1   1    low   low    brake
//
//   level     s_k = S((v_ink - v_th)/w),  S(y) = 0 below -1, 1 above +1, a cubic between
//   switches  high1 = u L(s_1 (1 - s_2)), low1 = u L(s_2), and the other side with 1 and 2 swapped;
//             L(y) = S(4 y - 3): nothing below one half
//   supply    u = S((v_m - v_off)/w_u); outputs open below the lock-out
//   current   i = G high (v_m - v_out),  i = G low v_out;  quiescent I_q tanh(v_m/v_q)
// s_1 (1 - s_2) and s_2 are never both above one half, so a leg's switches are never both on: that
// is the dead time every such chip has inside. All voltages against the chip's ground [V], G [S].
// Valid: below the peak rating (its current limit does not act here), steady supply. The diodes
// across the switches are elements of their own. Tested by tests/unit/physics_bridge_chip.cpp.
#pragma once

#include <cmath>
#include <utility>

#include "base/math.h"

namespace pb::physics {

struct BridgeChip {
  double switch_S = 1.0;  // of each switch that is on
  double threshold_V = 1.5, undervoltage_V = 2.0, quiescent_A = 1e-3;
};

/// Terminals in the order of the arrays below.
enum BridgeTerminal { kChipSupply, kChipGround, kChipIn1, kChipIn2, kChipOut1, kChipOut2 };
inline constexpr int kBridgeTerminals = 6;

struct BridgeCurrent {
  double i_A[kBridgeTerminals] = {};  // into the chip
  double g_S[kBridgeTerminals][kBridgeTerminals] = {};
};

/// Steps over this much are still a step to any logic level, and no discontinuity to the solver.
inline constexpr double kInputStep_V = 0.1, kUndervoltageStep_V = 0.1, kQuiescentKnee_V = 1.0;

/// 0 below -1, 1 above +1, slope continuous.
inline ValueSlope smooth_step(double y) {
  if (y <= -1.0) return {0.0, 0.0};
  if (y >= 1.0) return {1.0, 0.0};
  return {0.5 + y * (0.75 - 0.25 * y * y), 0.75 * (1.0 - y * y)};
}

/// How far the four switches are on: high1, low1, high2, low2; slopes to v_m, v_in1, v_in2.
struct BridgeSwitches {
  double on[4], slope[4][3];
};
inline BridgeSwitches bridge_switches(const BridgeChip& c, double vm_V, double in1_V,
                                      double in2_V) {
  const ValueSlope u = smooth_step((vm_V - c.undervoltage_V) / kUndervoltageStep_V);
  const ValueSlope s1 = smooth_step((in1_V - c.threshold_V) / kInputStep_V),
                   s2 = smooth_step((in2_V - c.threshold_V) / kInputStep_V);
  const double want[4] = {s1.value * (1.0 - s2.value), s2.value, s2.value * (1.0 - s1.value),
                          s1.value};
  const double by1[4] = {1.0 - s2.value, 0.0, -s2.value, 1.0},
               by2[4] = {-s1.value, 1.0, 1.0 - s1.value, 0.0};
  BridgeSwitches out;
  for (int k = 0; k < 4; ++k) {
    const ValueSlope locked = smooth_step(4.0 * want[k] - 3.0);
    out.on[k] = u.value * locked.value;
    out.slope[k][0] = u.slope / kUndervoltageStep_V * locked.value;
    out.slope[k][1] = u.value * 4.0 * locked.slope * by1[k] * s1.slope / kInputStep_V;
    out.slope[k][2] = u.value * 4.0 * locked.slope * by2[k] * s2.slope / kInputStep_V;
  }
  return out;
}

/// v_V: of the six terminals, against anything.
inline BridgeCurrent bridge_current(const BridgeChip& c, const double (&v_V)[kBridgeTerminals]) {
  const double gnd = v_V[kChipGround], vm = v_V[kChipSupply] - gnd;
  const BridgeSwitches s = bridge_switches(c, vm, v_V[kChipIn1] - gnd, v_V[kChipIn2] - gnd);
  BridgeCurrent out;
  // A current i from terminal `a` to `b` with slopes to supply, in1, in2 (against ground).
  const auto add = [&](int a, int b, double i, double g, const double(&slope)[3]) {
    constexpr int kControl[3] = {kChipSupply, kChipIn1, kChipIn2};
    for (const auto& [t, sign] : {std::pair{a, 1.0}, std::pair{b, -1.0}}) {
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
                kTo[4] = {kChipOut1, kChipGround, kChipOut2, kChipGround};
  for (int k = 0; k < 4; ++k) {
    if (s.on[k] == 0.0) continue;
    const double v = v_V[kFrom[k]] - v_V[kTo[k]], gv = c.switch_S * v;
    add(kFrom[k], kTo[k], gv * s.on[k], c.switch_S * s.on[k],
        {gv * s.slope[k][0], gv * s.slope[k][1], gv * s.slope[k][2]});
  }
  const double q = std::tanh(vm / kQuiescentKnee_V);
  add(kChipSupply, kChipGround, c.quiescent_A * q, c.quiescent_A * (1.0 - q * q) / kQuiescentKnee_V,
      {0.0, 0.0, 0.0});
  return out;
}

}  // namespace pb::physics
