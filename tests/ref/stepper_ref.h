// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A two-phase stepper motor on its own, solved with the classical fourth-order Runge-Kutta method
// and with linear algebra, to check a motor model against:
//   L di/dt = v - R i - e,  eA = -Km w sin(Nr th),  eB = Km w cos(Nr th)
//   J dw/dt = Km (-iA sin(Nr th) + iB cos(Nr th)) - Td sin(4 Nr th) - B w - Tl tanh(w/scale)
// Same physics in Acarnley, Stepping Motors: a guide to theory and practice, 4th ed., IET 2002.

#pragma once

#include <array>
#include <complex>
#include <functional>
#include <vector>

namespace pb::ref {

struct Stepper {
  double winding_ohm = 2.0;
  double winding_H = 4e-3;
  double Km_Vs_rad = 0.3;
  double Nr = 50.0;
  double J_kgm2 = 2.5e-5;
  double B_Nms_rad = 0.0;
  double detent_Nm = 0.0;
  double load_Nm = 0.0;
  double friction_scale_rad_s = 0.05;
};

struct StepperState {
  double ia_A = 0.0, ib_A = 0.0, speed_rad_s = 0.0, angle_rad = 0.0;
};

/// Voltages of the two phases at a time.
using PhaseDrive = std::function<std::array<double, 2>(double t_s)>;

/// Rate of change of each state.
StepperState stepper_rate(const Stepper& m, const StepperState& x, double va_V, double vb_V);

/// Torque of the currents [N m], without detent, friction and load.
double stepper_torque_Nm(const Stepper& m, const StepperState& x);

/// `steps` Runge-Kutta steps of dt_s from `start`; entry k is the state at k dt_s. Jumps of the
/// drive belong on multiples of dt_s: the last stage of a step reads the drive just before its end.
std::vector<StepperState> stepper_run(const Stepper& m, const StepperState& start,
                                      const PhaseDrive& drive, double dt_s, long steps);

/// Frequency [Hz] of the free swing about the equilibrium with both currents held, from the zero
/// crossings of a run of ten periods that starts amplitude_rad away at rest.
double stepper_swing_Hz(const Stepper& m, double ia_A, double ib_A, double amplitude_rad);

/// Whether the rotor, at rest at its equilibrium, locks on to a field of constant current amplitude
/// that starts at once to turn with field_rad_s (mechanical).
bool stepper_starts(const Stepper& m, double amplitude_A, double field_rad_s);

/// Wave forms of a phase pair: cosine and sine; two phases on (square); one phase on (three-level).
enum class Wave { sine, two_on, one_on };

/// Largest mean torque [N m] over the load angle at a forced constant speed, drive amplitude V_V.
double stepper_pull_out_Nm(const Stepper& m, Wave wave, double V_V, double speed_rad_s);

/// Steady running at the field's speed on a sinusoidal supply, in rotor coordinates:
///   L id' = vd - R id + Nr w L iq,  L iq' = vq - R iq - Nr w L id - Km w,  J w' = Km iq - B w - T,
///   lambda' = ws - Nr w,  vd = -V1 sin(lambda),  vq = V1 cos(lambda).
struct DqPoint {
  double id_A = 0.0, iq_A = 0.0, speed_rad_s = 0.0, lambda_rad = 0.0;
  bool exists = false;
};
DqPoint stepper_dq_point(const Stepper& m, double V1_V, double speed_rad_s, double torque_Nm);

/// Eigenvalues [1/s] of the motion about that point, least damped first.
std::vector<std::complex<double>> stepper_dq_eigenvalues(const Stepper& m, double V1_V,
                                                         const DqPoint& point);

/// Mechanical speed of a full-step rate: one step is pi / (2 Nr).
double stepper_speed_rad_s(const Stepper& m, double steps_per_s);

}  // namespace pb::ref
