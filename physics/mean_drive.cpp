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
  Motor(const Circuit& circuit, const PeriodMeans* means, const MeanRail& rail)
      : c_(circuit), means_(means), rail_(rail) {}

  using Vector = MotorVector;

  /// `lift_V`: of the rail above the supply; all voltages go with the rail's.
  void step(const std::array<Drive, 2>& drive, double h, Vector& x, double& lift_V) const {
    const double rise = 1.0 + lift_V / rail_.supply_V;
    const auto volts = [&](std::size_t w, double i) {
      return rise * voltage(drive[w], static_cast<int>(w), i);
    };
    const double taken_before_W = taken_W(drive, x, volts);
    motor_step(c_, h, volts, x);
    for (std::size_t w = 0; w < 2; ++w)  // an open winding's current ends; it does not turn round
      if (drive[w].flow == '0' &&
          std::abs(x[w]) < rise * rail_.supply_V * h / c_.windings[w].inductance_H)
        x[w] = 0;
    const double taken_A =
        0.5 * (taken_before_W + taken_W(drive, x, volts)) / (rise * rail_.supply_V);
    lift_V = std::clamp(lift_V - h * taken_A / rail_.capacitance_F, 0.0, rail_.most_lift_V);
  }

  /// Square of the pulses that windings draw: each its current for the share of a period that its
  /// mean voltage is of the supply's. What they return is in the periods simulated.
  double pulses_A2(const std::array<Drive, 2>& drive, const Vector& x) const {
    double sum = 0;
    for (std::size_t w = 0; w < 2; ++w) {
      const double taken_W = voltage(drive[w], static_cast<int>(w), x[w]) * x[w];
      sum += std::max(taken_W, 0.0) / rail_.supply_V * std::abs(x[w]);
    }
    return sum;
  }

  /// What a step about x adds to the stretch.
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

  /// From the rail.
  template <class Volts>
  double taken_W(const std::array<Drive, 2>& drive, const Vector& x, const Volts& volts) const {
    double sum = means_ ? means_->usual_beside_W() : 0.0;
    for (std::size_t w = 0; w < 2; ++w)
      sum += volts(w, x[w]) * x[w] + beside_W(drive[w], static_cast<int>(w), x[w]);
    return sum;
  }

  /// Mean voltage along the drive.
  double along(double duty, int winding, bool forward, double i) const {
    if (!means_) return duty * rail_.supply_V;
    const auto& i_A = means_->of().currents_A();
    return known(duty, winding, forward).volts(i, i_A, [&](std::size_t k) {
      return means_->volts(means_->between(winding, forward, duty, i_A[k]));
    });
  }

  /// Into the supply, until nothing is left.
  double back(int winding, double i) const {
    if (!means_ || i == 0) return -sign(i) * rail_.supply_V;
    return open_[static_cast<std::size_t>(winding)].volts(
        i, means_->of().currents_A(),
        [&](std::size_t k) { return means_->at(means_->of().open(winding, k)).volts; });
  }

  /// What all but the windings lose more than as usual, for this winding is driven so.
  double beside_W(const Drive& d, int winding, double i) const {
    if (!means_) return 0.0;
    const auto& i_A = means_->of().currents_A();
    if (d.flow == '0' && i != 0)
      return open_[static_cast<std::size_t>(winding)].beside_W(
          i, i_A, [&](std::size_t k) { return means_->beside_W(means_->of().open(winding, k)); });
    if (d.flow != '+' && d.flow != '-') return means_->beside_W(means_->undriven(winding));
    const bool forward = d.flow == '+';
    return known(d.duty, winding, forward).beside_W(forward ? i : -i, i_A, [&](std::size_t k) {
      return means_->beside_W(means_->between(winding, forward, d.duty, i_A[k]));
    });
  }

  struct Curves {
    double duty = -1;
    CurrentCurve volts, beside_W;
  };
  Curves& known(double duty, int winding, bool forward) const {
    Curves& out = along_[static_cast<std::size_t>(2 * winding + (forward ? 0 : 1))];
    if (out.duty != duty) out = {duty, {}, {}};
    return out;
  }

  const Circuit& c_;
  const PeriodMeans* means_;
  const MeanRail& rail_;
  mutable std::array<Curves, 4> along_;  // by winding and direction
  std::array<Curves, 2> open_;           // by winding
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
  Walk(const Circuit& circuit, const Plan& plan, const DriveTable& table, const PeriodMeans* means,
       const MeanRail& rail, const std::vector<double>& times_s,
       const std::function<void(const MeanStretch&)>& each)
      : MotorWalk(circuit.theta0_rad, -plan.settle_s, means ? means->points() : 0, times_s, each),
        circuit_(circuit),
        table_(table),
        begun_s_(-plan.settle_s),
        supply_V_(rail.supply_V),
        motor_(circuit, means, rail),
        longest_s_(longest_motor_step(circuit)) {}

  void go(const std::array<Drive, 2>& drive, double until_s) {
    if (t_s_ < until_s) change_over(drive);
    walk(until_s, [&](double stop_s) { straight(drive, stop_s); });
  }

 private:
  void straight(const std::array<Drive, 2>& drive, double stop_s) {
    const double steps = std::ceil((stop_s - t_s_) / longest_s_), h = (stop_s - t_s_) / steps;
    for (double k = 0; k < steps; ++k) {
      MotorVector middle = x_;
      motor_.step(drive, h, x_, lift_V_);
      t_s_ += h;
      for (std::size_t m = 0; m < middle.size(); ++m) middle[m] = 0.5 * (middle[m] + x_[m]);
      if (lift_V_ > 0) stretch_.pulses_A2s += h * motor_.pulses_A2(drive, middle);
      motor_.account(drive, h, middle, stretch_);
      if (k + 1 < steps && stretch_is_long()) end_stretch();
      for (std::size_t w = 0; w < 2; ++w) keep_most(w);
    }
    t_s_ = stop_s;
    end_stretch();
  }

  /// A change comes at some moment of a period: the current goes on from what it is then, its mean
  /// from there.
  void change_over(const std::array<Drive, 2>& drive) {
    for (std::size_t w = 0; w < 2; ++w) x_[w] += above_mean(w, drive_[w]) - above_mean(w, drive[w]);
    drive_ = drive;
  }
  double above_mean(std::size_t w, const Drive& d) const {
    if (d.flow != '+' && d.flow != '-') return 0.0;
    const double above = above_mean_A(circuit_, table_, supply_V_, w, d.duty, t_s_ - begun_s_);
    return d.flow == '+' ? above : -above;
  }

  const Circuit& circuit_;
  const DriveTable& table_;
  const double begun_s_, supply_V_;
  const Motor motor_;
  const double longest_s_;
  double lift_V_ = 0;
  std::array<Drive, 2> drive_{Drive{'0', 0}, Drive{'0', 0}};
};

MeanMotion motion(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                  const PeriodMeans* means, const MeanRail& rail,
                  const std::vector<double>& times_s,
                  const std::function<void(const MeanStretch&)>& each) {
  Walk walk(circuit, plan, table, means, rail, times_s, each);
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

double ripple_A(const Circuit& motor, const DriveTable& table, double supply_V, std::size_t winding,
                double duty) {
  const pb_chop& c = table.c.chop;
  const double swing_V = c.idle > 0 ? 2.0 * supply_V : supply_V, period_s = table.tick_s * c.period;
  return swing_V * duty * (1.0 - duty) * period_s / motor.windings[winding].inductance_H;
}

double above_mean_A(const Circuit& motor, const DriveTable& table, double supply_V,
                    std::size_t winding, double duty, double since_s) {
  if (duty <= 0 || duty >= 1) return 0.0;
  const std::uint32_t half = table.c.chop.period / 2U;  // into a's, winding b's periods begin
  const double period = table.c.chop.period, later = winding == 0 ? 0.0 : half,
               phase = std::fmod(since_s / table.tick_s + later, period) / period,
               above = phase < duty ? phase / duty - 0.5 : 0.5 - (phase - duty) / (1.0 - duty);
  return above * ripple_A(motor, table, supply_V, winding, duty);
}

MeanRail mean_rail(const Circuit& c, double supply_V, bool sinks) {
  constexpr double kLeast_F = 1e-9;  // strays, where there is no capacitor
  MeanRail out;
  out.supply_V = supply_V;
  if (sinks) return out;
  const int rail = c.find_node(kRail);
  out.capacitance_F = kLeast_F, out.most_lift_V = supply_V;
  // A capacitor's own resistance may lie between.
  const auto count = [&](int node, int other, double farad) {
    const auto own = std::ranges::find_if(
        c.resistors, [&](const ResistorElement& r) { return r.a == rail && r.b == node; });
    const bool has_own = own != c.resistors.end();
    if (other != 0 || (node != rail && !has_own)) return;
    out.capacitance_F += farad;
    if (has_own) out.bulk.push_back({static_cast<std::size_t>(own - c.resistors.begin()), farad});
  };
  for (const CapacitorElement& e : c.capacitors) count(e.a, e.b, e.capacitance_F);
  for (const ChargeElement<Ceramic>& e : c.ceramics) count(e.a, e.b, e.law(supply_V).slope);
  for (MeanRail::Bulk& b : out.bulk) b.share /= out.capacitance_F;
  for (const DiodeElement& e : c.diodes)
    if (e.anode == 0 && e.cathode == rail && e.breakdown_V > 0)
      out.most_lift_V = std::min(out.most_lift_V, std::max(e.breakdown_V - supply_V, 0.0));
  return out;
}

MeanMotion mean_motion(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                       const PeriodMeans& means, const MeanRail& rail,
                       const std::vector<double>& times_s,
                       const std::function<void(const MeanStretch&)>& each) {
  return motion(circuit, plan, table, &means, rail, times_s, each);
}

double ideal_rms_A(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                   double supply_V) {
  MeanRail stiff;
  stiff.supply_V = supply_V;
  return motion(circuit, plan, table, nullptr, stiff, {}, {}).rms_A;
}

}  // namespace pb::physics
