// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Motors on supplies that theory knows: sine or square wave, forced speed or free rotor.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <utility>
#include <vector>

#include "tests/ref/stepper_ref.h"
#include "tests/rigs/circuit.h"
#include "tests/rigs/crest.h"

namespace pb::rigs {

inline constexpr double kThirdTurn = 2.0 * kPi / 3.0;

inline Circuit motor_circuit(const ref::Stepper& m, Profile a, Profile b) {
  Circuit c = grounded();
  const int at_a = driven(c, std::move(a)), at_b = driven(c, std::move(b));
  c.windings = {{at_a, 0, m.winding_ohm, m.winding_H}, {at_b, 0, m.winding_ohm, m.winding_H}};
  c.rotor = {m.Nr, m.Km_Vs_rad, m.J_kgm2, m.B_Nms_rad, m.detent_Nm, m.load_Nm, 0.0, false};
  return c;
}

/// V cos(2 pi f t + phase) in straight lines dt long, scaled so that the fundamental of the broken
/// line is V (its Fourier series: sinc^2).
inline Profile cosine(double V, double electrical_Hz, double phase, double dt_s, double end_s) {
  const double half = kPi * electrical_Hz * dt_s, shrunk = square(std::sin(half) / half);
  Profile p;
  for (long k = 0; static_cast<double>(k - 1) * dt_s < end_s; ++k) {
    const double t = static_cast<double>(k) * dt_s;
    p.t_s.push_back(t);
    p.value.push_back(V / shrunk * std::cos(2.0 * kPi * electrical_Hz * t + phase));
  }
  return p;
}

/// +-V, following the sign of that cosine.
inline Profile square_wave(double V, double electrical_Hz, double phase, double end_s) {
  constexpr double kEdge_s = 1e-9;
  Profile p{{0.0}, {V * std::copysign(1.0, std::cos(phase))}};
  for (long k = -2;; ++k) {
    const double t =
        (kPi / 2.0 + static_cast<double>(k) * kPi - phase) / (2.0 * kPi * electrical_Hz);
    if (t > end_s) return p;
    if (t > 1e-9) p.hold_then_go(t, kEdge_s, -p.value.back());
  }
}

inline double electrical_Hz(double steps_per_s) { return steps_per_s / 4.0; }

enum class Wave { sine, square };

struct Pull {
  double torque_Nm;         // of source energy less winding heat, over whole electrical cycles
  double from_currents_Nm;  // of K (i_B cos - i_A sin), over the same
};

/// Mean torque at forced constant speed: the rotor is far too heavy to notice it. `lead` is the
/// electrical angle by which the supply leads the rotor.
inline Pull pulled(ref::Stepper m, Wave wave, double V, double steps_per_s, double lead) {
  m.J_kgm2 = 1e9;
  const double f = electrical_Hz(steps_per_s), tau_s = m.winding_H / m.winding_ohm;
  const int settling = static_cast<int>(std::ceil(16.0 * tau_s * f)), cycles = 2;
  const double from = settling / f, to = (settling + cycles) / f, dt = 1.0 / f / 256.0;
  const auto profile = [&](double phase) {
    return wave == Wave::sine ? cosine(V, f, phase, dt, to) : square_wave(V, f, phase, to);
  };
  // e_A = -K w sin(N th), e_B = K w cos(N th): the supply's phases follow.
  System s(motor_circuit(m, profile(lead + kPi / 2.0), profile(lead)));
  TransientOptions o;
  o.rtol = 1e-6, o.atol_A = 1e-7, o.first_step_s = 1e-6, o.max_step_s = dt;
  Transient t(s, o);
  const double w = ref::stepper_speed_rad_s(m, steps_per_s);
  t.start(0.0, {0.0, 0.0, w, 0.0});
  EXPECT_EQ(t.run_to(from), Outcome::reached_end);
  const Ledger before = t.ledger();
  double sum = 0, last_t = from, last = 0;
  const auto torque = [&](const std::vector<double>& x) {
    return m.Km_Vs_rad * (x[1] * std::cos(m.Nr * x[3]) - x[0] * std::sin(m.Nr * x[3]));
  };
  last = torque(t.state());
  t.on_step = [&](double at, const std::vector<double>& x) {
    sum += 0.5 * (at - last_t) * (last + torque(x));
    last_t = at, last = torque(x);
  };
  EXPECT_EQ(t.run_to(to), Outcome::reached_end);
  const double electric_J =
      (t.ledger().source_J - before.source_J) - (t.ledger().loss_J - before.loss_J);
  return {electric_J / (w * (to - from)), sum / (to - from)};
}

/// The torque is a constant and one sine of the lead: three leads give its crest.
inline double pull_out(const ref::Stepper& m, Wave wave, double V, double steps_per_s) {
  double mean = 0, in_phase = 0, across = 0;
  for (int k = 0; k < 3; ++k) {
    // Not from 0, where an edge of a square wave falls on the start.
    const double lead = 0.3 + k * kThirdTurn, T = pulled(m, wave, V, steps_per_s, lead).torque_Nm;
    mean += T / 3.0, in_phase += T * std::cos(lead) / 1.5, across += T * std::sin(lead) / 1.5;
  }
  return mean + std::hypot(in_phase, across);
}

/// Synchronous running from its equilibrium, the load as gravity. Where is the rotor afterwards,
/// in steps behind the field's own travel?
inline double lag_steps(const ref::Stepper& m, double V1, double steps_per_s, double start_Nm,
                        double load_Nm, double run_s) {
  const double w = ref::stepper_speed_rad_s(m, steps_per_s), dt = 2e-5;
  const ref::DqPoint p = ref::stepper_dq_point(m, V1, w, start_Nm);
  EXPECT_TRUE(p.exists);
  const double f = electrical_Hz(steps_per_s);
  Circuit c = motor_circuit(m, cosine(V1, f, p.lambda_rad + kPi / 2.0, dt, run_s),
                            cosine(V1, f, p.lambda_rad, dt, run_s));
  c.rotor.gravity_Nm = load_Nm;
  System s(c);
  TransientOptions o;
  o.rtol = 1e-5, o.first_step_s = dt, o.max_step_s = dt;
  Transient t(s, o);
  t.start(0.0, {p.id_A, p.iq_A, w, 0.0});
  EXPECT_EQ(t.run_to(run_s), Outcome::reached_end);
  return (w * run_s - t.state()[3]) / (kPi / (2.0 * m.Nr));
}

/// Growth rate and frequency of a small ripple of the speed about synchronous running.
inline std::complex<double> measured_mode(const ref::Stepper& m, double V1, double steps_per_s,
                                          double run_s, double kick_rad_s) {
  const double w = ref::stepper_speed_rad_s(m, steps_per_s), dt = 1e-5;
  const ref::DqPoint p = ref::stepper_dq_point(m, V1, w, 0.0);
  const double f = electrical_Hz(steps_per_s);
  System s(motor_circuit(m, cosine(V1, f, p.lambda_rad + kPi / 2.0, dt, run_s),
                         cosine(V1, f, p.lambda_rad, dt, run_s)));
  TransientOptions o;
  o.rtol = 0, o.atol_A = 1e-12, o.atol_V = 1e-12, o.atol_rad = 1e-14;  // of Newton
  o.fixed_step_s = dt;
  Transient t(s, o);
  t.start(0.0, {p.id_A, p.iq_A, w + kick_rad_s, 0.0});
  std::vector<double> t_s = {0.0}, ripple = {kick_rad_s};
  t.on_step = [&](double at, const std::vector<double>& x) {
    t_s.push_back(at), ripple.push_back(x[2] - w);
  };
  EXPECT_EQ(t.run_to(run_s), Outcome::reached_end);
  // Crests, by parabolas, after the faster modes have died.
  double first_s = 0, last_s = 0, first = 0, last = 0;
  int crests = 0;
  for (std::size_t k = ripple.size() / 3; k + 1 < ripple.size(); ++k) {
    const double a = ripple[k - 1], b = ripple[k], c = ripple[k + 1];
    if (b <= a || b < c || b <= 0) continue;
    const double shift = 0.5 * (a - c) / (a - 2.0 * b + c);
    last_s = t_s[k] + shift * dt, last = std::log(b - 0.25 * (a - c) * shift);
    if (crests++ == 0) first_s = last_s, first = last;
  }
  EXPECT_GT(crests, 3);
  const double span_s = last_s - first_s;
  return {(last - first) / span_s, 2.0 * kPi * (crests - 1) / span_s};
}

/// A motor on a square wave of two phases on, 12 steps, beside the same by Runge-Kutta.
struct ByRungeKutta {
  double current;     // largest difference of a current over the largest current
  double angle_step;  // largest difference of the angle
  double turned_rad;
};
/// The engine at `factor` times its default tolerances.
inline ByRungeKutta by_runge_kutta(double factor) {
  ref::Stepper m;
  m.B_Nms_rad = 1e-3, m.detent_Nm = 5e-3, m.load_Nm = 0.02;
  constexpr double kStep_s = 5e-3, kEnd_s = 0.06, kVolt = 3.0;
  static constexpr int kSigns[4][2] = {{1, 1}, {-1, 1}, {-1, -1}, {1, -1}};
  const ref::PhaseDrive drive = [&](double t) -> std::array<double, 2> {
    const int k = static_cast<int>(std::floor(t / kStep_s)) % 4;
    return {kVolt * kSigns[k][0], kVolt * kSigns[k][1]};
  };
  const ref::StepperState start{0, 0, 0, kPi / (4.0 * m.Nr)};
  const auto expected = ref::stepper_run(m, start, drive, 1e-6, 60000);

  Profile wave[2];
  for (int w = 0; w < 2; ++w) {
    wave[w] = {{0.0}, {kVolt}};
    for (int k = 1; k * kStep_s < kEnd_s; ++k)
      if (kSigns[k % 4][w] != kSigns[(k - 1) % 4][w])
        wave[w].hold_then_go(k * kStep_s, 1e-9, kVolt * kSigns[k % 4][w]);
  }
  TransientOptions o;
  o.rtol *= factor, o.atol_A *= factor, o.atol_V *= factor, o.atol_rad *= factor;
  System s(motor_circuit(m, wave[0], wave[1]));
  Transient t(s, o);
  t.start(0.0, {0, 0, 0, start.angle_rad});
  double current_A = 0, peak_A = 0, angle_rad = 0;
  for (int k = 1; k <= 60; ++k) {
    EXPECT_EQ(t.run_to(k * 1e-3), Outcome::reached_end);
    const ref::StepperState& e = expected[static_cast<std::size_t>(k) * 1000];
    current_A =
        std::max({current_A, std::abs(t.state()[0] - e.ia_A), std::abs(t.state()[1] - e.ib_A)});
    peak_A = std::max(peak_A, std::abs(e.ia_A));
    angle_rad = std::max(angle_rad, std::abs(t.state()[3] - e.angle_rad));
  }
  return {current_A / peak_A, angle_rad / (kPi / (2.0 * m.Nr)), expected.back().angle_rad};
}

/// One winding fed with a constant current, the rotor let go near its equilibrium.
inline double swing_Hz(double teeth, double holding_Nm, double inertia_kgm2, double amplitude_steps,
                       double detent_Nm = 0) {
  Circuit c = grounded();
  const int source = driven(c, 1e6);  // 1 A through 1 Mohm: the EMF does not matter
  c.windings = {{0, 0, 1e6, 1e-3}, {source, 0, 1e6, 1e-3}};
  c.rotor = {teeth, holding_Nm, inertia_kgm2, 0, detent_Nm, 0, 0, false};
  const double rest = kPi / (2 * teeth), step = kPi / (2 * teeth);
  System s(c);
  TransientOptions o;
  o.rtol = 1e-6, o.atol_V = 1e-5, o.atol_rad = 1e-8, o.max_step_s = 2e-5;
  Transient t(s, o);
  t.start(0.0, {0.0, 1.0, 0.0, rest + amplitude_steps * step});
  double last_t = 0, last_x = 1, first = -1, latest = 0;
  int crossings = 0;
  t.on_step = [&](double at, const std::vector<double>& x) {
    const double now = x[3] - rest;
    if (last_x > 0 && now <= 0) {
      latest = last_t + (at - last_t) * last_x / (last_x - now);
      if (first < 0)
        first = latest;
      else
        ++crossings;
    }
    last_t = at, last_x = now;
  };
  EXPECT_EQ(t.run_to(0.05), Outcome::reached_end);
  EXPECT_GT(crossings, 1);
  return crossings / (latest - first);
}

/// Crest and rms of the current in a winding without EMF under a square wave of +-V, once it
/// repeats itself; two full steps are half a period.
struct SquareCurrent {
  double peak_A, rms_A;
};
inline SquareCurrent square_current(double V, double R_ohm, double L_H, double steps_per_s) {
  const double half_s = 2.0 / steps_per_s, tau_s = L_H / R_ohm;
  Profile p{{0.0}, {V}};
  const int halves = 4 + 2 * static_cast<int>(std::ceil(8.0 * tau_s / half_s));
  for (int k = 1; k < halves; ++k) p.hold_then_go(k * half_s, 1e-9, k % 2 ? -V : V);
  Circuit c = grounded();
  c.windings = {{driven(c, p), 0, R_ohm, L_H}, {0, 0, R_ohm, L_H}};
  c.rotor = {50, 0.0, 1e-6, 0, 0, 0, 0, true};  // no EMF
  System s(c);
  Transient t(s, {});
  t.start(0.0);
  t.run_to((halves - 2) * half_s);
  t.reset_sums();
  Crest crest;
  watch_crest(t, s, 0, crest);
  t.run_to(halves * half_s);
  return {crest.most_A, std::sqrt(t.sums()[0].i2_A2s / (2 * half_s))};
}

}  // namespace pb::rigs
