// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A stepper motor with iron that saturates, a load behind a gap and an end stop, by SUNDIALS CVODE.
// A second statement of the equations: its states are flux linkages, from which the currents follow
// in closed form, and contacts are springs that are stiffer on the way in.
#pragma once

#include <vector>

namespace pb::ref {

struct TouchingMotor {
  double winding_ohm = 4, winding_H = 8e-3, Km_Vs_rad = 0.25, teeth = 50, saturation_A = 1.7;
  double rotor_kgm2 = 2e-6, load_kgm2 = 3e-6, detent_Nm = 8e-3, rotor_Nms = 1e-5;
  double load_Nms = 2e-5, friction_Nm = 0.02, gravity_Nm = 5e-3;
  double gap_rad = 0.01, flank_Nm_rad = 600, flank_e = 0.5;
  double stop_rad = 0.2, stop_Nm_rad = 900, stop_e = 0.6;
};

struct TouchingState {
  double ia_A, ib_A, rotor_rad_s, rotor_rad, load_rad_s, load_rad;
};

/// Voltages of the windings from one time on.
struct Push {
  double from_s, va_V, vb_V;
};

/// From rest at angle 0 and no current, at these rising times, before the end of the last push.
/// Throws if the solver fails.
std::vector<TouchingState> touching_run(const TouchingMotor& m, const std::vector<Push>& pushes,
                                        const std::vector<double>& times_s);

}  // namespace pb::ref
