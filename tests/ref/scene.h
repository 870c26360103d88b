// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The benchmark scenes as plain numbers: two bridges of P over N channel MOSFETs that turn a
// two-phase stepper motor. Everything another solver needs to build the very same circuit stands
// here; nothing of the product is included, so that the comparison stays independent.
//
// Circuit (ground is the reference; four legs A1 A2 B1 B2, winding A between outputs A1 and A2,
// winding B between outputs B1 and B2; winding current positive from 1 to 2):
//
//   source -- supply_R -- supply diode || leak -- supply_L -- rail
//   rail -- bulk_esr -- bulk_F -- ground,  rail -- ceramic_F -- ground,  rail -- clamp -- ground
//   each leg:  rail -(P channel)- dP -series_R- out -series_R- dN -(N channel)- ground
//   each switch:  gate -gate_R- pin;  Cgs gate to source, Cgd gate to d, Cds d to source;
//                 body diode from source to d (N) or d to source (P);
//                 Schottky from ground to out (N) or out to rail (P), outside series_R
//   the sources are: ground for N, rail for P.  out has no capacitance of its own.
//
// Laws:
//   diode      i = Is (exp((v - Rs i) / (n UT)) - 1)
//   clamp      i = clamp_ref_A exp((v - clamp_ohm i - clamp_V) / clamp_slope_V)
//   channel    i = 2 n K UT^2 (ln^2(1 + e^((VP-VS)/(2 UT))) - ln^2(1 + e^((VP-VD)/(2 UT)))),
//              VP = (VG - VT0)/n, voltages to the source terminal, to which the bulk is tied
//              (VS = 0); P mirrored. Enz, Krummenacher, Vittoz, Analog Integr. Circuits Signal
//              Process. 8 (1995) 83-114, its simple interpolation.
//   winding    L di/dt = v - R i - e,  eA = -Km w sin(Nr th),  eB = Km w cos(Nr th)
//   rotor      J dw/dt = Km (-iA sin(Nr th) + iB cos(Nr th)) - Td sin(4 Nr th) - B w
//                        - Tl tanh(w / friction_scale)
//              Acarnley, Stepping Motors, 4th ed., IET 2002 (same model)
//
// Drive: two phases on, states (A,B) = ++ -+ -- +-, then again; state k begins at k * step_s.
//   + puts the leg 1 P switch and the leg 2 N switch on, - the other two. A P pin is p_on_V when
//   on, p_off_V when off; an N pin n_on_V or n_off_V; the gate is behind gate_ohm. A change is a
//   straight line edge_s long. At a change of state the switches that go off start their edge at
//   once, those that come on start dead_s later; switches that stay on keep still. At all_off_s
//   every switch starts to turn off (negative: never). With pwm_Hz > 0 the N switch that a state
//   puts on is only on in [j T, j T + pwm_duty T) of each period T = 1/pwm_Hz (edges start at these
//   times; nothing happens to the P switches); at a change of state the first pulse is shortened
//   by dead_s at its front where the switch was not already in use. With coast_s > 0 every change
//   of state first turns all switches off; those of the new state come on coast_s later.
//
// Start, t = 0: winding currents 0, w = 0, th = pi/(4 Nr): the first state's equilibrium, where
//   with iA = iB the motor torque and the detent torque are both zero. Pins have been in the first
//   state for ever and all other unknowns are at the operating point with both winding currents
//   held at 0; the currents start to rise at t = 0.
//
// Choices of ours (no source; reasonable for small discrete parts): the diode figures, the clamp's
// knee, the supply diode that keeps the source from sinking, and the gate levels. The P gates rest
// at 18 V, not at 12 V: at turn-off the clamp lets the rail rise above 17 V, and with 12 V on the
// gate every P channel would open and short the windings before the clamp could conduct.

#pragma once

namespace pb::ref {

struct Scene {
  // The source, which cannot sink.
  double supply_V = 12.0;
  double supply_ohm = 0.15;
  double supply_H = 1e-6;
  double supply_diode_Is_A = 1e-5;
  double supply_diode_n = 1.05;
  double supply_diode_leak_ohm = 1e5;  // across the diode junction

  // The rail.
  double bulk_F = 100e-6;
  double bulk_esr_ohm = 0.1;
  double ceramic_F = 100e-9;
  double clamp_V = 15.0;
  double clamp_ref_A = 1e-3;  // current at clamp_V across the junction
  double clamp_slope_V = 0.05;
  double clamp_ohm = 1.0;

  // Each of the eight switches; the P channel has the same figures mirrored.
  double K_A_V2 = 8.0;
  double VT0_V = 1.8;
  double n_channel = 1.3;
  double series_ohm = 0.03;
  double Cgs_F = 600e-12;
  double Cgd_F = 100e-12;
  double Cds_F = 150e-12;
  double gate_ohm = 360.0;
  double body_Is_A = 1e-12;
  double body_n = 1.1;
  double body_ohm = 0.02;
  double schottky_Is_A = 1e-6;
  double schottky_n = 1.05;
  double schottky_ohm = 0.05;
  double UT_V = 1.380649e-23 * 300.0 / 1.602176634e-19;  // k T / q at 300 K, every junction

  // Motor and load.
  double winding_ohm = 10.0;
  double winding_H = 8e-3;
  double Km_Vs_rad = 0.25;
  double Nr = 50.0;
  double J_kgm2 = 8e-6;
  double B_Nms_rad = 1e-4;
  double detent_Nm = 8e-3;
  double load_Nm = 50e-3;
  double friction_scale_rad_s = 0.05;

  // Drive.
  double p_on_V = 2.0;
  double p_off_V = 18.0;
  double n_on_V = 10.0;
  double n_off_V = 0.0;
  double edge_s = 50e-9;
  double dead_s = 2e-6;
  double coast_s = 0.0;
  double step_s = 5e-3;  // 200 steps/s
  double all_off_s = -1.0;
  double pwm_Hz = 0.0;
  double pwm_duty = 0.6;
  double end_s = 0.1;
};

/// Two phases on, 200 steps/s; all off at 98 ms, so that the clamp takes the winding currents.
inline Scene case_1() {
  Scene s;
  s.all_off_s = 98e-3;
  return s;
}

/// The low sides chopped at 20 kHz, 60 %.
inline Scene case_2() {
  Scene s;
  s.pwm_Hz = 20e3;
  s.end_s = 0.05;
  return s;
}

/// Case 1 with little bulk capacitance: the supply diode blocks after each reversal.
inline Scene case_1_small_bulk() {
  Scene s = case_1();
  s.bulk_F = 4.7e-6;
  return s;
}

/// The same with a short coast at each change of state, so that both windings return their current
/// at once: the rail rises within microseconds, the supply diode blocks and the clamp conducts at
/// every reversal. The scene in which a method that jumps a change of regime is caught. (Without
/// the coast the other winding takes the returned current and the clamp hardly conducts.)
inline Scene case_1_coast() {
  Scene s = case_1_small_bulk();
  s.coast_s = 300e-6;
  return s;
}

}  // namespace pb::ref
