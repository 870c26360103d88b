// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/ramp_choice.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "base/math.h"
#include "judgement/torque_speed.h"
#include "physics/assembly.h"
#include "physics/motor_step.h"
#include "physics/plan.h"

namespace pb {
namespace {

using namespace physics;

constexpr double kShortestRamp_steps = 1;
constexpr int kHalvings = 8;
// The proof's scan goes as far (judgement/motion_scan.cpp): of the rate, of the inertia, of
// damping.
constexpr double kScanned = 1.2, kScannedInertia = 1.3, kScannedDamping = 1.0 / 3.0;

struct Alone {
  Circuit circuit;  // rotor and windings only
  double supply_V = 0, limit_A = 0;
};

/// V/R in both windings warms them, which lowers it again.
double hot_ratio(const Brief& b, double volts, double ohms) {
  const MotorBrief& m = b.motor;
  const double ambient_K = b.ambient.max_K + b.ambient.enclosure_rise_K;
  double winding_K = ambient_K;
  for (int round = 0; round < 20; ++round) {
    const double hot_ohm = ohms * copper_ratio(winding_K);
    double current_A = volts / hot_ohm;
    if (regulated(b)) current_A = std::min(current_A, regulated_current(b));
    const double rise_K = m.thermal_resistance_K_W * 2.0 * square(current_A) * hot_ohm;
    winding_K = 0.5 * (winding_K + std::min(ambient_K + rise_K, m.max_winding_temperature_K));
  }
  return copper_ratio(winding_K);
}

Alone alone(const Brief& b) {
  const MotorBrief& m = b.motor;
  const LoadBrief& l = b.load;
  Alone out;
  out.supply_V = b.supply.voltage_V * (1.0 - b.supply.tolerance);
  const double cold_ohm = m.winding_resistance_ohm * (1.0 + m.resistance_tolerance);
  const double ohms = cold_ohm * hot_ratio(b, out.supply_V, cold_ohm);
  out.limit_A = regulated(b) ? regulated_current(b) : HUGE_VAL;
  WindingElement w;
  w.resistance_ohm = ohms;
  w.inductance_H = m.winding_inductance_H * (1.0 + m.inductance_tolerance);
  out.circuit.windings = {w, w};
  const double reached_A = std::numbers::sqrt2 * std::min(out.supply_V / ohms, out.limit_A);
  const double weakest = motor_constant(m) * (1.0 - m.torque_tolerance);
  const double through = (1.0 + b.rules.torque_margin) / (l.gear_ratio * l.gear_efficiency);
  Rotor& r = out.circuit.rotor;
  r.teeth = rotor_teeth(m);
  r.motor_constant_Vs = holding_torque(m, weakest, reached_A) / reached_A;
  r.inertia_kgm2 =
      kScannedInertia *
      (m.rotor_inertia_kgm2 + l.inertia_kgm2 * (1.0 + l.inertia_tolerance) / square(l.gear_ratio));
  r.viscous_Nms =
      kScannedDamping * m.viscous_friction_Nms + l.viscous_friction_Nms / square(l.gear_ratio);
  r.detent_Nm = m.detent_torque_Nm;
  r.friction_Nm = l.torque_Nm * (1.0 + l.torque_tolerance) * through;
  r.gravity_Nm = l.gravity_torque_Nm * through;
  return out;
}

/// Flows of the brief's sequence: of any, the strongest; microsteps as the half steps they refine.
std::vector<std::string> flows_for(const Brief& b) {
  const std::string& s = b.motion.sequence;
  return flows_of(s == "any" ? "two-phase" : s == "micro" ? "half" : s);
}

double sign_of(char flow) { return flow == '+' ? 1.0 : flow == '-' ? -1.0 : 0.0; }

/// A winding in a state: driven, coasting above its limit, or emptied by the supply as quickly as a
/// step of `h` can tell from at once.
double volts_across(const Alone& a, double towards, double current_A, double h) {
  const double limit_V = current_A * a.circuit.windings[0].inductance_H / h;
  if (towards == 0) return -std::clamp(limit_V, -a.supply_V, a.supply_V);
  return towards * current_A < a.limit_A ? towards * a.supply_V : 0.0;
}

/// Interval after state k of a move: the speed of constant acceleration half-way to the next one.
struct Motion {
  double rate, start, ramp, steps, per_step;
  double interval_s(int k) const {
    const double at = (k + 0.5) / per_step, from_end = steps - at;
    const double v2 = square(start) + 2.0 * ramp * std::max(std::min(at, from_end), 0.0);
    return 1.0 / (per_step * std::min(rate, std::sqrt(v2)));
  }
};

class Walk {
 public:
  Walk(const Alone& a, const std::vector<std::string>& flows)
      : a_(a), flows_(flows), longest_s_(longest_motor_step(a.circuit)) {
    const double teeth = a.circuit.rotor.teeth;
    step_rad_ = kPi / (2.0 * teeth);
    const std::string& f = flows.front();
    theta0_rad_ = std::atan2(sign_of(f[1]), sign_of(f[0])) / teeth;
    x_ = {0, 0, 0, theta0_rad_};
  }
  void stay(std::size_t state, double time_s) {
    const std::string& f = flows_[state % flows_.size()];
    const double towards[2] = {sign_of(f[0]), sign_of(f[1])};
    const double n = std::ceil(time_s / longest_s_), h = time_s / n;
    const auto volts = [&](std::size_t w, double i_A) {
      return volts_across(a_, towards[w], i_A, h);
    };
    for (double k = 0; k < n; ++k) motor_step(a_.circuit, h, volts, x_);
  }
  double steps() const { return (x_[3] - theta0_rad_) / step_rad_; }

 private:
  const Alone& a_;
  const std::vector<std::string>& flows_;
  MotorVector x_;
  double step_rad_, theta0_rad_, longest_s_;
};

bool moves(const Alone& a, const std::vector<std::string>& flows, const Motion& m) {
  constexpr double kMostLag_step = 2.0, kMostEnd_step = 0.5, kSettle_s = 0.05;
  Walk walk(a, flows);
  walk.stay(0, kSettle_s);
  const int last = static_cast<int>(std::lround(m.steps * m.per_step));
  for (int k = 0; k < last; ++k) {
    walk.stay(static_cast<std::size_t>(k) + 1, m.interval_s(k));
    if (!(std::abs(walk.steps() - (k + 1) / m.per_step) <= kMostLag_step)) return false;
  }
  walk.stay(static_cast<std::size_t>(last), kSettle_s);
  return std::abs(walk.steps() - m.steps) <= kMostEnd_step;
}

/// Two figures that a person can remember.
double rounded_down(double x) {
  const double unit = std::pow(10.0, std::floor(std::log10(x)) - 1.0);
  return std::floor(x / unit * (1.0 + 1e-12)) * unit;
}

/// Halves between what holds and what does not, by ratio.
template <class Holds>
double greatest(double holds, double fails, const Holds& test) {
  for (int k = 0; k < kHalvings; ++k) {
    const double middle = std::sqrt(holds * fails);
    (test(middle) ? holds : fails) = middle;
  }
  return holds;
}

class Chooser {
 public:
  explicit Chooser(const Brief& b)
      : rate_(b.motion.rate_steps_s),
        move_steps_(b.motion.move_steps),
        alone_(alone(b)),
        flows_(flows_for(b)) {}

  bool makes(double rate, double start, double ramp, double steps) const {
    const double per_step = static_cast<double>(flows_.size()) / 4.0;
    return moves(alone_, flows_, {rate, start, ramp, std::max(std::floor(steps), 4.0), per_step});
  }
  bool starts_at(double rate) const { return makes(rate, rate, 0, cruise()); }
  bool ramps(double start, double ramp_steps) const {
    const double a = slope(start, ramp_steps);
    return makes(rate_, start, a, std::min(2.0 * std::ceil(ramp_steps) + cruise(), move_steps_));
  }

  std::optional<RampChoice> choose() const {
    if (starts_at(rate_) && starts_at(kScanned * rate_)) return std::nullopt;
    constexpr double kSlowest = 1.0 / 64;
    if (!starts_at(kSlowest * rate_)) return std::nullopt;
    const double most =
        greatest(kSlowest * rate_, kScanned * rate_, [&](double rate) { return starts_at(rate); });
    const double start = rounded_down(std::min(kStartReserve * most, 0.9 * rate_));
    const double longest = std::min(kLongestRamp_steps, 0.5 * move_steps_);
    if (!ramps(start, longest)) return std::nullopt;
    const double shortest = greatest(1.0 / longest, 1.0 / kShortestRamp_steps,
                                     [&](double per_step) { return ramps(start, 1.0 / per_step); });
    const double kept = std::min(1.0 / (kRampReserve * shortest), longest);
    if (!ramps(start, kept)) return std::nullopt;
    return RampChoice{start, rounded_down(slope(start, kept))};
  }

 private:
  double cruise() const { return std::min(kCruise_steps, move_steps_); }
  double slope(double start, double ramp_steps) const {
    return (square(rate_) - square(start)) / (2.0 * ramp_steps);
  }

  double rate_, move_steps_;
  Alone alone_;
  std::vector<std::string> flows_;
};

}  // namespace

std::optional<RampChoice> choose_ramp(const Brief& b) {
  if (given(b.motion.start_rate_steps_s) || given(b.motion.ramp_steps_s2)) return std::nullopt;
  return Chooser(b).choose();
}

}  // namespace pb
