// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A two-phase stepper motor by Runge-Kutta and by linearisation. See stepper_ref.h.

#include "tests/ref/stepper_ref.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace pb::ref {
namespace {

constexpr double kPi = std::numbers::pi;

/// One classical Runge-Kutta step; axpy(x, a, k) is x + a k.
template <class State, class Rate, class Axpy>
State rk4_step(const State& x, double t, double h, const Rate& rate, const Axpy& axpy) {
  const double before_end = t + h * (1.0 - 1e-6);  // the value on this side of a jump at the end
  const State k1 = rate(t, x);
  const State k2 = rate(t + 0.5 * h, axpy(x, 0.5 * h, k1));
  const State k3 = rate(t + 0.5 * h, axpy(x, 0.5 * h, k2));
  const State k4 = rate(before_end, axpy(x, h, k3));
  State y = axpy(x, h / 6.0, k1);
  y = axpy(y, h / 3.0, k2);
  y = axpy(y, h / 3.0, k3);
  return axpy(y, h / 6.0, k4);
}

StepperState plus(const StepperState& x, double a, const StepperState& k) {
  return {x.ia_A + a * k.ia_A, x.ib_A + a * k.ib_A, x.speed_rad_s + a * k.speed_rad_s,
          x.angle_rad + a * k.angle_rad};
}

/// The rotor alone: currents given, so that their rates are zero.
StepperState rotor_rate(const Stepper& m, StepperState x, double ia_A, double ib_A) {
  x.ia_A = ia_A;
  x.ib_A = ib_A;
  StepperState r = stepper_rate(m, x, 0.0, 0.0);
  r.ia_A = r.ib_A = 0.0;
  return r;
}

double largest(const std::function<double(double)>& f, double low, double high) {
  constexpr double kGolden = 0.61803398874989484820;
  double a = high - kGolden * (high - low), b = low + kGolden * (high - low);
  double fa = f(a), fb = f(b);
  while (high - low > 1e-7) {  // the maximum is flat: the value is then good to 1e-14
    if (fa < fb) {
      low = a;
      a = b;
      fa = fb;
      b = low + kGolden * (high - low);
      fb = f(b);
    } else {
      high = b;
      b = a;
      fb = fa;
      a = high - kGolden * (high - low);
      fa = f(a);
    }
  }
  return f(0.5 * (low + high));
}

double sign(double x) { return x < 0.0 ? -1.0 : 1.0; }

std::array<double, 2> wave_at(Wave wave, double phase) {
  const double c = std::cos(phase), s = std::sin(phase);
  switch (wave) {
    case Wave::sine:
      return {c, s};
    case Wave::two_on:
      return {sign(c), sign(s)};
    case Wave::one_on:
      return std::fabs(c) > std::fabs(s) ? std::array{sign(c), 0.0} : std::array{0.0, sign(s)};
  }
  return {0.0, 0.0};
}

/// Mean torque with the rotor `lag` (electrical) behind the drive's fundamental, speed forced.
double mean_torque_Nm(const Stepper& m, Wave wave, double V_V, double speed_rad_s, double lag) {
  // Edges of two_on lie a quarter period apart, of one_on half way between: all on the grid.
  constexpr int kPerPeriod = 400;
  const double electrical = m.Nr * speed_rad_s;
  const double h = 2.0 * kPi / electrical / kPerPeriod;
  // The offset keeps the sign of a cosine at its zero from being a matter of rounding.
  const double offset = 1e-9;
  const auto rate = [&](double t, const StepperState& x) {
    const auto v = wave_at(wave, electrical * t + offset);
    StepperState at = x;
    at.speed_rad_s = speed_rad_s;
    at.angle_rad = (electrical * t - lag) / m.Nr;
    StepperState r = stepper_rate(m, at, V_V * v[0], V_V * v[1]);
    r.speed_rad_s = r.angle_rad = 0.0;
    return r;
  };
  const double settle_s = 20.0 * m.winding_H / m.winding_ohm;
  const long settle = static_cast<long>(std::ceil(settle_s / (h * kPerPeriod))) * kPerPeriod;
  StepperState x;
  double sum = 0.0;
  for (long k = 0; k < settle + kPerPeriod; ++k) {
    const double t = k * h;
    if (k >= settle) {
      StepperState at = x;
      at.angle_rad = (electrical * t - lag) / m.Nr;
      sum += stepper_torque_Nm(m, at);
    }
    x = rk4_step(x, t, h, rate, plus);
  }
  return sum / kPerPeriod;
}

}  // namespace

double stepper_torque_Nm(const Stepper& m, const StepperState& x) {
  const double electrical = m.Nr * x.angle_rad;
  return m.Km_Vs_rad * (x.ib_A * std::cos(electrical) - x.ia_A * std::sin(electrical));
}

StepperState stepper_rate(const Stepper& m, const StepperState& x, double va_V, double vb_V) {
  const double electrical = m.Nr * x.angle_rad, w = x.speed_rad_s;
  const double ea_V = -m.Km_Vs_rad * w * std::sin(electrical);
  const double eb_V = m.Km_Vs_rad * w * std::cos(electrical);
  const double torque_Nm = stepper_torque_Nm(m, x) - m.detent_Nm * std::sin(4.0 * electrical) -
                           m.B_Nms_rad * w - m.load_Nm * std::tanh(w / m.friction_scale_rad_s);
  return {(va_V - m.winding_ohm * x.ia_A - ea_V) / m.winding_H,
          (vb_V - m.winding_ohm * x.ib_A - eb_V) / m.winding_H, torque_Nm / m.J_kgm2, w};
}

std::vector<StepperState> stepper_run(const Stepper& m, const StepperState& start,
                                      const PhaseDrive& drive, double dt_s, long steps) {
  std::vector<StepperState> states = {start};
  states.reserve(static_cast<std::size_t>(steps) + 1);
  const auto rate = [&](double t, const StepperState& x) {
    const auto v = drive(t);
    return stepper_rate(m, x, v[0], v[1]);
  };
  for (long k = 0; k < steps; ++k) {
    states.push_back(rk4_step(states.back(), k * dt_s, dt_s, rate, plus));
  }
  return states;
}

double stepper_swing_Hz(const Stepper& m, double ia_A, double ib_A, double amplitude_rad) {
  const double stiffness = m.Nr * m.Km_Vs_rad * std::hypot(ia_A, ib_A);
  const double h = 0.002 / std::sqrt(stiffness / m.J_kgm2);  // about 3000 steps a period
  StepperState x;
  x.angle_rad = std::atan2(ib_A, ia_A) / m.Nr + amplitude_rad;
  const auto rate = [&](double, const StepperState& s) { return rotor_rate(m, s, ia_A, ib_A); };
  double first_s = 0.0, last_s = 0.0;
  int crossings = 0;  // of the speed, upwards: one a period
  for (long k = 0; crossings < 11; ++k) {
    const StepperState y = rk4_step(x, k * h, h, rate, plus);
    if (x.speed_rad_s < 0.0 && y.speed_rad_s >= 0.0) {
      last_s = h * (k + x.speed_rad_s / (x.speed_rad_s - y.speed_rad_s));
      if (crossings++ == 0) first_s = last_s;
    }
    if (k > 100000) return 0.0;  // over-damped: no swing
    x = y;
  }
  return 10.0 / (last_s - first_s);
}

bool stepper_starts(const Stepper& m, double amplitude_A, double field_rad_s) {
  const double natural = std::sqrt(m.Nr * m.Km_Vs_rad * amplitude_A / m.J_kgm2);
  const double h = 0.005 / natural;
  StepperState x;
  for (long k = 0; k * h < 200.0 / natural; ++k) {
    const auto rate = [&](double t, const StepperState& s) {
      const double phase = m.Nr * field_rad_s * t;
      return rotor_rate(m, s, amplitude_A * std::cos(phase), amplitude_A * std::sin(phase));
    };
    x = rk4_step(x, k * h, h, rate, plus);
    // A turn of lag: the rotor has slipped a pole.
    if (m.Nr * field_rad_s * (k + 1) * h - m.Nr * x.angle_rad > 2.0 * kPi) return false;
  }
  return true;
}

double stepper_pull_out_Nm(const Stepper& m, Wave wave, double V_V, double speed_rad_s) {
  const auto torque = [&](double lag) { return mean_torque_Nm(m, wave, V_V, speed_rad_s, lag); };
  // The mean torque is one sine of the lag plus a constant: bracket its crest, then close in.
  double best = 0.0;
  for (int k = 1; k < 16; ++k) {
    const double lag = k * kPi / 8.0;
    if (torque(lag) > torque(best)) best = lag;
  }
  return largest(torque, best - kPi / 8.0, best + kPi / 8.0);
}

double stepper_speed_rad_s(const Stepper& m, double steps_per_s) {
  return steps_per_s * kPi / (2.0 * m.Nr);
}

namespace {

/// Currents of the steady state at a load angle.
Eigen::Vector2d dq_currents(const Stepper& m, double V1_V, double w, double lambda) {
  const double x_ohm = m.Nr * w * m.winding_H;
  Eigen::Matrix2d a;
  a << m.winding_ohm, -x_ohm, x_ohm, m.winding_ohm;
  const Eigen::Vector2d v(-V1_V * std::sin(lambda), V1_V * std::cos(lambda) - m.Km_Vs_rad * w);
  return a.partialPivLu().solve(v);
}

}  // namespace

DqPoint stepper_dq_point(const Stepper& m, double V1_V, double speed_rad_s, double torque_Nm) {
  const double wanted_Nm = torque_Nm + m.B_Nms_rad * speed_rad_s;
  const auto torque = [&](double lambda) {
    return m.Km_Vs_rad * dq_currents(m, V1_V, speed_rad_s, lambda)(1);
  };
  // iq = (R vq - X vd)/Z^2 = V1/Z cos(lambda - atan2(X, R)) - R Km w/Z^2. Running is stable only
  // where torque rises with lag: the half turn before the crest.
  double high = std::atan2(m.Nr * speed_rad_s * m.winding_H, m.winding_ohm);
  double low = high - kPi;
  if (torque(high) < wanted_Nm || torque(low) > wanted_Nm) return {};
  for (int k = 0; k < 100; ++k) {
    const double middle = 0.5 * (low + high);
    (torque(middle) < wanted_Nm ? low : high) = middle;
  }
  const Eigen::Vector2d i = dq_currents(m, V1_V, speed_rad_s, low);
  return {i(0), i(1), speed_rad_s, low, true};
}

std::vector<std::complex<double>> stepper_dq_eigenvalues(const Stepper& m, double V1_V,
                                                         const DqPoint& p) {
  const double L = m.winding_H, we = m.Nr * p.speed_rad_s;
  Eigen::Matrix4d a;  // id, iq, w, lambda
  a << -m.winding_ohm / L, we, m.Nr * p.iq_A, -V1_V * std::cos(p.lambda_rad) / L,  //
      -we, -m.winding_ohm / L, -m.Nr * p.id_A - m.Km_Vs_rad / L,
      -V1_V * std::sin(p.lambda_rad) / L,                         //
      0.0, m.Km_Vs_rad / m.J_kgm2, -m.B_Nms_rad / m.J_kgm2, 0.0,  //
      0.0, 0.0, -m.Nr, 0.0;
  const Eigen::Vector4cd values = a.eigenvalues();
  std::vector<std::complex<double>> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end(), [](const auto& x, const auto& y) {
    return std::pair(-x.real(), -x.imag()) < std::pair(-y.real(), -y.imag());
  });
  return sorted;
}

}  // namespace pb::ref
