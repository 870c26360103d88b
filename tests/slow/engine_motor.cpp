// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The engine's motor against theory that knows no engine: pull-out torque in closed form, and the
// eigenvalues of the motion about synchronous running, which say when a motor becomes unstable at
// medium step rates. Theme: P. Acarnley, Stepping Motors: a guide to theory and practice, 4th ed.,
// IET 2002, ch. 5 (from memory); numbers derived from the equations of the model, and found again
// by other means in tests/ref/stepper_ref_test.cpp.
#include <gtest/gtest.h>

#include <cmath>
#include <complex>

#include "base/math.h"
#include "physics/transient.h"
#include "tests/ref/stepper_ref.h"

namespace pb::physics {
namespace {

constexpr double kThirdTurn = 2.0 * kPi / 3.0;

int driven(Circuit& c, Profile p) {
  c.nodes.push_back({"n" + std::to_string(c.nodes.size()), true, std::move(p)});
  return static_cast<int>(c.nodes.size()) - 1;
}

Circuit motor_circuit(const ref::Stepper& m, Profile a, Profile b) {
  Circuit c;
  driven(c, {{0.0}, {0.0}});
  const int at_a = driven(c, std::move(a)), at_b = driven(c, std::move(b));
  c.windings = {{at_a, 0, m.winding_ohm, m.winding_H}, {at_b, 0, m.winding_ohm, m.winding_H}};
  c.rotor = {m.Nr, m.Km_Vs_rad, m.J_kgm2, m.B_Nms_rad, m.detent_Nm, m.load_Nm, 0.0, false};
  return c;
}

/// V cos(2 pi f t + phase) in straight lines dt long, scaled so that the fundamental of the broken
/// line is V (its Fourier series: sinc^2).
Profile cosine(double V, double electrical_Hz, double phase, double dt_s, double end_s) {
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
Profile square_wave(double V, double electrical_Hz, double phase, double end_s) {
  constexpr double kEdge_s = 1e-9;
  Profile p{{0.0}, {V * std::copysign(1.0, std::cos(phase))}};
  for (long k = -2;; ++k) {
    const double t =
        (kPi / 2.0 + static_cast<double>(k) * kPi - phase) / (2.0 * kPi * electrical_Hz);
    if (t > end_s) return p;
    if (t > 1e-9) p.hold_then_go(t, kEdge_s, -p.value.back());
  }
}

double electrical_Hz(double steps_per_s) { return steps_per_s / 4.0; }

enum class Wave { sine, square };

struct Pull {
  double torque_Nm;         // of source energy less winding heat, over whole electrical cycles
  double from_currents_Nm;  // of K (i_B cos - i_A sin), over the same
};

/// Mean torque at forced constant speed: the rotor is far too heavy to notice it. `lead` is the
/// electrical angle by which the supply leads the rotor.
Pull pulled(ref::Stepper m, Wave wave, double V, double steps_per_s, double lead) {
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
double pull_out(const ref::Stepper& m, Wave wave, double V, double steps_per_s) {
  double mean = 0, in_phase = 0, across = 0;
  for (int k = 0; k < 3; ++k) {
    // Not from 0, where an edge of a square wave falls on the start.
    const double lead = 0.3 + k * kThirdTurn, T = pulled(m, wave, V, steps_per_s, lead).torque_Nm;
    mean += T / 3.0, in_phase += T * std::cos(lead) / 1.5, across += T * std::sin(lead) / 1.5;
  }
  return mean + std::hypot(in_phase, across);
}

struct PullOutRow {
  double R_ohm, V_V, steps_per_s, torque_Nm;
};
// K V1/Z - K^2 w R/Z^2, Z^2 = R^2 + (N w L)^2, V1 = 4 V/pi of two phases on (square wave between
// +-V); K 0.3, N 50, L 4 mH.
constexpr PullOutRow kPullOut[] = {
    {2, 3, 50, 0.49703},   {2, 3, 100, 0.41795},   {2, 3, 200, 0.28243},   {2, 3, 400, 0.13751},
    {2, 3, 1000, 0.04372}, {16, 24, 100, 0.55487}, {16, 24, 400, 0.49703}, {16, 24, 1000, 0.38021}};

TEST(EngineMotor, PullOutTorque) {
  for (const PullOutRow& r : kPullOut) {
    ref::Stepper m;
    m.winding_ohm = r.R_ohm;
    SCOPED_TRACE(testing::Message() << r.R_ohm << " ohm, " << r.steps_per_s << " steps/s");
    EXPECT_NEAR(pull_out(m, Wave::sine, r.V_V * 4.0 / kPi, r.steps_per_s), r.torque_Nm,
                1e-3 * r.torque_Nm);
    // Harmonics turn nothing on average at a forced speed.
    EXPECT_NEAR(pull_out(m, Wave::square, r.V_V, r.steps_per_s), r.torque_Nm, 5e-3 * r.torque_Nm);
  }
}

// e_A i_A + e_B i_B = T w over a run: what the source gives and the windings do not burn is what
// the shaft gets, at any load angle.
TEST(EngineMotor, PowerBalance) {
  const ref::Stepper m;
  for (Wave wave : {Wave::sine, Wave::square})
    for (double lead : {-1.0, 0.5, 2.0}) {
      const Pull p = pulled(m, wave, 3.0, 200.0, lead);
      EXPECT_GT(std::abs(p.torque_Nm), 0.01);
      EXPECT_NEAR(p.torque_Nm, p.from_currents_Nm, 1e-3 * std::abs(p.torque_Nm)) << lead;
    }
}

/// Synchronous running from its equilibrium, the load as gravity. Where is the rotor afterwards,
/// in steps behind the field's own travel?
double lag_steps(const ref::Stepper& m, double V1, double steps_per_s, double start_Nm,
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

TEST(EngineMotor, FreeRotorFallsOutOfStepThere) {
  ref::Stepper m;
  m.B_Nms_rad = 0.0;
  for (const PullOutRow& r : {kPullOut[2], kPullOut[6]}) {
    m.winding_ohm = r.R_ohm;
    const double V1 = r.V_V * 4.0 / kPi, held = 0.98 * r.torque_Nm, lost = 1.02 * r.torque_Nm;
    EXPECT_NEAR(lag_steps(m, V1, r.steps_per_s, held, held, 0.5), 0.0, 1.0) << r.R_ohm;
    EXPECT_GT(lag_steps(m, V1, r.steps_per_s, held, lost, 0.5), 4.0) << r.R_ohm;
  }
}

/// Growth rate and frequency of a small ripple of the speed about synchronous running.
std::complex<double> measured_mode(const ref::Stepper& m, double V1, double steps_per_s,
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

struct ModeRow {
  double R_ohm, V_V, steps_per_s, re, im, run_s;
};
// K 0.3, N 50, L 4 mH, J 2.5e-5, no load, sinusoidal supply of amplitude 4 V/pi.
constexpr ModeRow kModes[] = {
    {2, 3, 470, -4.982, 558.425, 0.3},      {2, 3, 480, 2.704, 555.763, 0.3},
    {2, 3, 500, 16.165, 550.485, 0.2},      {2, 3, 600, 56.783, 526.731, 0.12},
    {2, 3, 800, 73.405, 489.152, 0.1},      {16, 24, 400, -103.074, 1081.418, 0.06},
    {16, 24, 1000, -72.364, 1018.756, 0.06}};

TEST(EngineMotor, BecomesUnstableWhereTheEigenvaluesSay) {
  for (const ModeRow& r : kModes) {
    ref::Stepper m;
    m.winding_ohm = r.R_ohm;
    // What grows starts so small that it stays linear to the end; what decays, large enough to be
    // seen above the supply's broken lines.
    const double kick_rad_s = r.re > 0 ? 1e-5 : 1e-3;
    const auto mode = measured_mode(m, r.V_V * 4.0 / kPi, r.steps_per_s, r.run_s, kick_rad_s);
    SCOPED_TRACE(testing::Message() << r.R_ohm << " ohm, " << r.steps_per_s << " steps/s");
    EXPECT_NEAR(mode.real(), r.re, std::abs(r.re) > 20 ? 0.01 * std::abs(r.re) : 0.05);
    EXPECT_NEAR(mode.imag(), r.im, 1e-5 * r.im);
  }
}

}  // namespace
}  // namespace pb::physics
