// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Recordings of a motor on the bench, solved by SUNDIALS CVODE, through instruments that no engine
// here knows of: probes of one pole, a jittering clock, an offset that drifts, noise, a converter
// of so many steps. What is recorded:
//   step  V switched on at t = 0 behind a lead:  L di/dt = V - (R + R_lead) i;  seen are the
//   current
//         and the voltage across the winding
//   spin  one winding open, a disc on the shaft running down:  v = Km w sin(Nr th),
//         J dw/dt = -B w - Tc tanh(w/scale) - Td sin(4 Nr th)
// and how narrow any unbiased estimate from such a recording can be (Cramer 1946, Rao 1945).

#pragma once

#include <cstdint>
#include <vector>

namespace pb::ref {

struct Probe {
  double bandwidth_Hz = 1e6;
  double noise = 0;  // standard deviation
  double lsb = 0;    // of the converter; 0: none
  double offset = 0;
  double drift = 0;  // a second
};

struct Clock {
  double from_s = 0, step_s = 1e-5, jitter_s = 0;
  int rows = 1000;
};

struct StepBench {
  double supply_V = 12, lead_ohm = 0.4, winding_ohm = 31.4, winding_H = 34.5e-3;
  Probe current, voltage;
  Clock clock;  // the trigger falls anywhere within a row
};

struct SpinBench {
  double Km_Vs_rad = 0.438, Nr = 50, J_kgm2 = 2e-4, B_Nms_rad = 1e-5, friction_Nm = 4e-3,
         friction_scale_rad_s = 0.05, detent_Nm = 12e-3, speed_rad_s = 30;
  Probe voltage;
  Clock clock;
};

struct Recording {
  std::vector<double> t_s;  // as the instrument writes them, without the jitter
  std::vector<double> current_A, voltage_V;
};

Recording record(const StepBench& bench, std::uint64_t seed);
Recording record(const SpinBench& bench, std::uint64_t seed);

/// Least standard deviations of R and L where delay, offset and drift are not known either.
struct StepBound {
  double winding_ohm, winding_H;
};
StepBound least_deviation(const StepBench& bench);

/// Least standard deviation of Km where the offset and `terms` of the rotor's way are not known
/// either (its phase a polynomial of time).
double least_deviation(const SpinBench& bench, int terms);

}  // namespace pb::ref
