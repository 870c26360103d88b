// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Bipolar transistor, transport form of Ebers-Moll:
//   I_C = I_S (e^(v_BE/V_t) - e^(v_BC/V_t)) - (I_S/b_R)(e^(v_BC/V_t) - 1)
//   I_B = (I_S/b_F)(e^(v_BE/V_t) - 1) + (I_S/b_R)(e^(v_BC/V_t) - 1)
// Source: J. Ebers, J. Moll, Proc. IRE 42, 1954, 1761-1772; transport form: I. Getreu, Modeling the
// Bipolar Transistor, 1976. Valid: DC, all four regions; no Early effect, no high-injection fall of
// gain, no breakdown. Charge: see models.md. Tested by tests/unit/physics_devices.cpp.
#pragma once

#include "base/math.h"

namespace pb::physics {

struct Bipolar {
  double sign = 1;  // +1 NPN, -1 PNP
  double saturation_A = 1e-14, forward_gain = 200, reverse_gain = 5, Vt_V = 0.02585;
};

struct BipolarCurrent {
  double ic_A, ib_A;  // into collector and base
  double gc_be_S, gc_bc_S, gb_be_S, gb_bc_S;
};

inline BipolarCurrent bipolar_current(const Bipolar& q, double v_be_V, double v_bc_V) {
  const ValueSlope e = limited_exp(q.sign * v_be_V / q.Vt_V),
                   c = limited_exp(q.sign * v_bc_V / q.Vt_V);
  const double is = q.saturation_A, ge = is * e.slope / q.Vt_V, gc = is * c.slope / q.Vt_V;
  BipolarCurrent out;
  out.ic_A = q.sign * (is * (e.value - c.value) - is / q.reverse_gain * (c.value - 1.0));
  out.ib_A =
      q.sign * (is / q.forward_gain * (e.value - 1.0) + is / q.reverse_gain * (c.value - 1.0));
  out.gc_be_S = ge;
  out.gc_bc_S = -gc - gc / q.reverse_gain;
  out.gb_be_S = ge / q.forward_gain;
  out.gb_bc_S = gc / q.reverse_gain;
  return out;
}

}  // namespace pb::physics
