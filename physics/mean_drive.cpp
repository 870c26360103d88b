// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/mean_drive.h"

#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "physics/current_curve.h"
#include "physics/motor_walk.h"

namespace pb::physics {
namespace {

double sign(double x) { return x > 0 ? 1.0 : x < 0 ? -1.0 : 0.0; }

/// Of one winding in one state: direction and duty; what an open or a shorted winding does.
struct Drive {
  char flow;
  double duty;
};

class Motor {
 public:
  /// Without means: of ideal switches.
  Motor(const Circuit& circuit, const PeriodMeans* means, double supply_V)
      : c_(circuit), means_(means), supply_V_(supply_V) {}

  using Vector = MotorVector;

  void step(const std::array<Drive, 2>& drive, double h, Vector& x) const {
    motor_step(
        c_, h, [&](std::size_t w, double i) { return voltage(drive[w], static_cast<int>(w), i); },
        x);
    for (std::size_t w = 0; w < 2; ++w)  // an open winding's current ends; it does not turn round
      if (drive[w].flow == '0' && std::abs(x[w]) < supply_V_ * h / c_.windings[w].inductance_H)
        x[w] = 0;
  }

  /// What a step that ended at x adds to the stretch.
  void account(const std::array<Drive, 2>& drive, double h, const Vector& x,
               MeanStretch& to) const {
    for (std::size_t w = 0; w < 2; ++w) {
      to.i2_A2s[w] += h * square(x[w]);
      if (!means_) continue;
      const bool drives = drive[w].flow == '+' || drive[w].flow == '-';
      if (!drives && (drive[w].flow != '0' || x[w] == 0)) {
        to.shares[means_->undriven(static_cast<int>(w))] += h;
        continue;
      }
      const auto at = drives ? place(drive[w], static_cast<int>(w), x[w])
                             : means_->open(static_cast<int>(w), x[w]);
      for (std::size_t k = 0; k < at.count; ++k) to.shares[at.point[k]] += h * at.share[k];
    }
    const MotorTorque m = motor_torque(c_.rotor, x[0], x[1], x[2], x[3]);
    to.shaft_J += h * m.electric_Nm * x[2];
  }

 private:
  PeriodMeans::Between place(const Drive& d, int winding, double i) const {
    const bool forward = d.flow == '+';
    return means_->between(winding, forward, d.duty, forward ? i : -i);
  }

  double voltage(const Drive& d, int winding, double i) const {
    switch (d.flow) {
      case '+':
        return along(d.duty, winding, true, i);
      case '-':
        return -along(d.duty, winding, false, -i);
      case '0':
        return back(winding, i);
      default:
        return 0.0;
    }
  }

  /// Mean voltage along the drive.
  double along(double duty, int winding, bool forward, double i) const {
    if (!means_) return duty * supply_V_;
    Along& known = along_[static_cast<std::size_t>(2 * winding + (forward ? 0 : 1))];
    if (known.duty != duty) known = {duty, {}};
    const auto& i_A = means_->of().currents_A();
    return known.volts(i, i_A, [&](std::size_t k) {
      return means_->volts(means_->between(winding, forward, duty, i_A[k]));
    });
  }

  /// Into the supply, until nothing is left.
  double back(int winding, double i) const {
    if (!means_ || i == 0) return -sign(i) * supply_V_;
    return open_[static_cast<std::size_t>(winding)](
        i, means_->of().currents_A(),
        [&](std::size_t k) { return means_->at(means_->of().open(winding, k)).volts; });
  }

  struct Along {
    double duty = -1;
    CurrentCurve volts;
  };

  const Circuit& c_;
  const PeriodMeans* means_;
  double supply_V_;
  mutable std::array<Along, 4> along_;  // by winding and direction
  std::array<CurrentCurve, 2> open_;    // by winding
};

/// What the tables do with both windings in state k of the plan.
std::array<Drive, 2> drive_in(const Plan& plan, const DriveTable& t, std::size_t k, bool lessened) {
  const std::string& flow = plan.states[k].flow;
  const std::size_t n = t.flows.size();
  std::array<Drive, 2> out{Drive{flow[0], 0}, Drive{flow[1], 0}};
  if (k >= static_cast<std::size_t>(plan.moving_states)) return out;
  const pb_chop& c = t.c.chop;
  for (int w : {0, 1}) {
    double on = (w == 0 ? t.on_a : t.on_b)[k % n];
    if (lessened && on > c.idle) on = c.idle + (on - c.idle) * c.hold_256ths / 256.0;
    out[static_cast<std::size_t>(w)].duty = on / c.period;
  }
  return out;
}

/// Walks a plan from state to state.
class Walk : public MotorWalk {
 public:
  Walk(const Circuit& circuit, const Plan& plan, const PeriodMeans* means, double supply_V,
       const std::vector<double>& times_s, const std::function<void(const MeanStretch&)>& each)
      : MotorWalk(circuit.theta0_rad, -plan.settle_s, means ? means->points() : 0, times_s, each),
        motor_(circuit, means, supply_V),
        longest_s_(longest_motor_step(circuit)) {}

  void go(const std::array<Drive, 2>& drive, double until_s) {
    walk(until_s, [&](double stop_s) { straight(drive, stop_s); });
  }

 private:
  void straight(const std::array<Drive, 2>& drive, double stop_s) {
    const double steps = std::ceil((stop_s - t_s_) / longest_s_), h = (stop_s - t_s_) / steps;
    for (double k = 0; k < steps; ++k) {
      motor_.step(drive, h, x_);
      t_s_ += h;
      motor_.account(drive, h, x_, stretch_);
      if (k + 1 < steps && stretch_is_long()) end_stretch();
      for (std::size_t w = 0; w < 2; ++w) keep_most(w);
    }
    t_s_ = stop_s;
    end_stretch();
  }

  const Motor motor_;
  const double longest_s_;
};

MeanMotion motion(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                  const PeriodMeans* means, double supply_V, const std::vector<double>& times_s,
                  const std::function<void(const MeanStretch&)>& each) {
  Walk walk(circuit, plan, means, supply_V, times_s, each);
  const double held_s = table.tick_s * table.c.hold_ticks;
  walk.go(drive_in(plan, table, 0, false), 0.0);
  for (std::size_t k = 0; k < plan.states.size(); ++k) {
    const bool last = k + 1 == plan.states.size();
    const double until = last ? plan.end_s : plan.states[k + 1].t_s;
    const bool holds = k + 1 == static_cast<std::size_t>(plan.moving_states) && !plan.rotor_locked;
    if (holds)
      walk.go(drive_in(plan, table, k, false), std::min(plan.states[k].t_s + held_s, until));
    walk.go(drive_in(plan, table, k, holds), until);
    walk.end_state();
  }
  return walk.take();
}

}  // namespace

MeanMotion mean_motion(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                       const PeriodMeans& means, double supply_V,
                       const std::vector<double>& times_s,
                       const std::function<void(const MeanStretch&)>& each) {
  return motion(circuit, plan, table, &means, supply_V, times_s, each);
}

double ideal_rms_A(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                   double supply_V) {
  return motion(circuit, plan, table, nullptr, supply_V, {}, {}).rms_A;
}

}  // namespace pb::physics
