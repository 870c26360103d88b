// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/latched_drive.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "base/math.h"
#include "physics/chop_cycle.h"
#include "physics/current_curve.h"
#include "physics/motor_walk.h"

namespace pb::physics {
namespace {

using Mode = ChopperLatch::Mode;

/// What a winding driven in one direction sees in the modes of its latch; currents along it.
class Across {
 public:
  Across(const PeriodMeans& means, int winding, bool forward)
      : means_(means), drive_(static_cast<std::size_t>(2 * winding + (forward ? 0 : 1))) {}

  double driven_V(double i) const {
    return of(driven_, i, [&](std::size_t k) { return driven(k).volts; });
  }
  double sense_V(double i) const {
    return of(sense_, i, [&](std::size_t k) { return driven(k).sense_V; });
  }
  /// In a decay no current flows the other way: of |i|.
  double decay_V(Mode mode, double i) const {
    const std::size_t m = SimulatedPeriod::number_of(mode);
    return of(decay_[m - 1], std::abs(i), [&](std::size_t k) {
      return both(k, [&](const SimulatedPeriod& p, double) { return p.stretch[m].end_V; });
    });
  }
  /// What the way into a mode is worth beyond that. [V s]
  double edge_Vs(Mode into, double i) const {
    const std::size_t m = SimulatedPeriod::number_of(into);
    return of(edge_[m], std::max(i, 0.0), [&](std::size_t k) {
      return both(k, [&](const SimulatedPeriod& p, double) {
        const SimulatedPeriod::Stretch& s = p.stretch[m];
        const double settled_V =
            into == Mode::driven ? driven_V(means_.of().currents_A()[k]) : s.end_V;
        return s.sum_Vs - settled_V * s.span_s;
      });
    });
  }
  /// Volts compared with for each of the analog output.
  double reference_gain() const { return driven(kAnyCurrent).reference_gain; }

 private:
  static constexpr std::size_t kAnyCurrent = 5;

  const SimulatedPeriod& driven(std::size_t current) const {
    return means_.at(means_.of().index_of(drive_, PeriodPoints::kDriven, current));
  }
  /// Mean of both on-times.
  template <class Figure>
  double both(std::size_t current, const Figure& figure) const {
    double sum = 0;
    for (std::size_t j = 0; j < PeriodPoints::kOnTimes; ++j)
      sum +=
          figure(means_.at(means_.of().index_of(drive_, j, current)), means_.of().on_times_s()[j]);
    return sum / PeriodPoints::kOnTimes;
  }
  template <class At>
  double of(const CurrentCurve& curve, double i, const At& at) const {
    return curve(i, means_.of().currents_A(), at);
  }

  const PeriodMeans& means_;
  std::size_t drive_;
  CurrentCurve driven_, sense_;
  std::array<CurrentCurve, 2> decay_;
  std::array<CurrentCurve, 3> edge_;
};

/// Walks a plan from event to event.
class LatchWalk : public MotorWalk {
 public:
  LatchWalk(const Circuit& circuit, const Plan& plan, const Design& d, double logic_V,
            double supply_V, const PeriodMeans& means, const std::vector<double>& times_s,
            const std::function<void(const MeanStretch&)>& each)
      : MotorWalk(circuit.theta0_rad, -plan.settle_s, means.points(), times_s, each),
        c_(circuit),
        plan_(plan),
        means_(means),
        logic_V_(logic_V),
        supply_V_(supply_V),
        small_A_(means.of().currents_A()[3]),
        longest_s_(longest_motor_step(circuit)),
        slow_by_diode_(d.settings.decay == "diode") {
    for (int w : {0, 1})
      windings_[static_cast<std::size_t>(w)].emplace(
          c_.choppers[static_cast<std::size_t>(w)],
          std::array<Across, 2>{Across(means, w, true), Across(means, w, false)});
    for (auto& w : windings_) {
      w->latch.drive(t_s_);
      w->driven_since_s = t_s_;
      w->on_s = means.of().on_times_s().front();
    }
  }

  void begin_state(std::size_t k) {
    for (std::size_t w = 0; w < 2; ++w) {
      Winding& at = *windings_[w];
      const char flow = plan_.states[k].flow[w];
      if (flow == at.flow) continue;
      account(w);
      at.flow = flow;
      if (at.chopper.bridge >= 0) continue;  // a chip's latch does not know
      flow == '+' || flow == '-' ? at.latch.drive(t_s_ + plan_.dead_s) : at.latch.rest();
      at.driven_since_s = t_s_;
    }
  }

  void go(double until_s) {
    walk(until_s, [this](double stop_s) { straight(stop_s); });
  }

 private:
  /// A current this near to the reference has reached it. Share of that.
  static constexpr double kReached = 1e-4;
  struct Winding {
    Winding(const ChopperElement& e, const std::array<Across, 2>& a)
        : chopper(e), across(a), latch(e.law) {}
    const ChopperElement& chopper;
    std::array<Across, 2> across;  // driven forwards, backwards
    ChopperLatch latch;
    char flow = 'z';
    double reference_V = 0;           // of the analog output
    double driven_since_s = 0;        // of this cycle, or the last
    double on_s = 0;                  // of the last cycle
    double span_s = 0, charge_C = 0;  // what is not yet accounted for
    bool driven() const { return latch.mode() == Mode::driven; }
    bool flows() const { return flow == '+' || flow == '-'; }
    double sign() const { return flow == '-' ? -1.0 : 1.0; }
    const Across& seen() const { return across[flow == '-' ? 1 : 0]; }
  };

  double volts(std::size_t w, double i) const {
    const Winding& at = *windings_[w];
    if (at.flow == '0') return i > 0 ? -supply_V_ : i < 0 ? supply_V_ : 0.0;
    if (!at.flows()) return 0.0;
    const Mode m = at.latch.mode();
    if (m == Mode::driven || m == Mode::idle) return at.sign() * at.seen().driven_V(at.sign() * i);
    return i < 0 ? -at.across[1].decay_V(m, i) : at.across[0].decay_V(m, i);
  }

  /// Where a diode is in the way of a decaying current, that ends and does not turn round.
  bool one_way(const Winding& at) const {
    if (at.flow == '0') return true;
    return at.flows() &&
           (at.latch.mode() == Mode::fast || (at.latch.mode() == Mode::slow && slow_by_diode_));
  }

  /// How far the sense voltage is above what it is compared with. [V]
  double excess_V(const Winding& at, double i) const {
    const double reference_V = at.reference_V * at.seen().reference_gain() / at.chopper.ratio;
    return at.seen().sense_V(at.sign() * i) - reference_V - at.chopper.offset_V;
  }
  double reached_V(const Winding& at) const {
    return kReached * at.reference_V * at.seen().reference_gain() / at.chopper.ratio;
  }

  /// The next thing that happens by itself, or where a winding's current will have reached its
  /// reference if it goes on as it does.
  double next_event(double stop_s, const MotorVector& slope) const {
    double next = std::min(stop_s, t_s_ + longest_s_);
    if (next_reference_ < plan_.references.size()) {
      const double t = reference_s(next_reference_);
      if (t > t_s_) next = std::min(next, t);
    }
    for (std::size_t w = 0; w < 2; ++w) {
      const Winding& at = *windings_[w];
      next = std::min(next, std::max(at.latch.next_s(), t_s_));
      const double long_from_s = at.driven_since_s + longest_on_s();
      if (at.driven() && long_from_s > t_s_) next = std::min(next, long_from_s);
      const double watches_s = at.latch.watches_s();
      if (watches_s > t_s_) {
        next = std::min(next, watches_s);
      } else if (at.flows()) {
        constexpr double kShort_A = 1e-3;
        const double i = x_[w], more_A = at.sign() * kShort_A;
        const double ohms = (excess_V(at, i + more_A) - excess_V(at, i)) / kShort_A,
                     rises_V_s = ohms * at.sign() * slope[w];
        if (rises_V_s > 0)
          next = std::min(next, t_s_ + std::max(-excess_V(at, i) / rises_V_s, 1e-9));
      }
    }
    return next;
  }

  double reference_s(std::size_t k) const {
    return static_cast<double>(plan_.references[k].tick) * plan_.tick_s;
  }

  void straight(double stop_s) {
    while (t_s_ < stop_s) {
      happen();
      const auto across = [&](std::size_t w, double i) { return volts(w, i); };
      const double to_s = next_event(stop_s, motor_slope(c_, x_, across));
      if (to_s > t_s_) step_to(to_s);
      if (stretch_is_long() && t_s_ < stop_s) end_accounted();
    }
    happen();
    end_accounted();
  }

  void step_to(double to_s) {
    const double h = to_s - t_s_;
    const MotorVector before = x_;
    motor_step(c_, h, [&](std::size_t w, double i) { return volts(w, i); }, x_);
    t_s_ = to_s;
    for (std::size_t w = 0; w < 2; ++w) {
      Winding& at = *windings_[w];
      if (one_way(at) && before[w] * x_[w] <= 0) x_[w] = 0;
      const double a = before[w], b = x_[w];
      stretch_.i2_A2s[w] += h / 3.0 * (a * a + a * b + b * b);
      if (is_long(at, 0.5 * (a + b), 0.5 * h)) {
        share_out(means_.driven(static_cast<int>(w), at.flow == '+', at.sign() * 0.5 * (a + b)), h);
      } else {
        at.span_s += h;
        at.charge_C += 0.5 * h * (a + b);
      }
      // Not right after an edge into fast decay, whose volt seconds need not all lie above the
      // peak.
      if (at.latch.mode() != Mode::fast) keep_most(w);
    }
    const MotorTorque m = motor_torque(c_.rotor, x_[0], x_[1], x_[2], x_[3]);
    stretch_.shaft_J += h * m.electric_Nm * x_[2];
  }

  /// Driven, and not as a part of a cycle like those simulated: in the middle of the last step.
  bool is_long(const Winding& at, double i, double back_s) const {
    return at.flows() && at.driven() &&
           (at.sign() * i < small_A_ || t_s_ - back_s - at.driven_since_s > longest_on_s());
  }
  double longest_on_s() const { return means_.of().on_times_s().back(); }

  /// Everything that is due.
  void happen() {
    for (; next_reference_ < plan_.references.size() && reference_s(next_reference_) <= t_s_;
         ++next_reference_) {
      const ReferenceWrite& r = plan_.references[next_reference_];
      windings_[static_cast<std::size_t>(r.winding)]->reference_V = r.share * logic_V_;
    }
    for (std::size_t w = 0; w < 2; ++w) {
      Winding& at = *windings_[w];
      if (at.flows() && at.latch.watches_s() <= t_s_ && excess_V(at, x_[w]) >= -reached_V(at))
        at.latch.cross(t_s_);
      while (at.latch.next_s() <= t_s_) pass(w);
    }
  }

  void pass(std::size_t w) {
    Winding& at = *windings_[w];
    if (!at.driven()) account(w);
    if (at.driven()) at.on_s = std::min(t_s_ - at.driven_since_s, longest_on_s());
    at.latch.pass();
    if (at.driven()) at.driven_since_s = t_s_;
    if (!at.flows() || at.sign() * x_[w] <= 0) return;
    const double gained_A =
        at.seen().edge_Vs(at.latch.mode(), at.sign() * x_[w]) / c_.windings[w].inductance_H;
    const double along_A = at.sign() * x_[w] + gained_A;
    x_[w] = at.sign() * (one_way(at) ? std::max(along_A, 0.0) : along_A);
  }

  void share_out(const PeriodMeans::Between& points, double span_s) {
    for (std::size_t k = 0; k < points.count; ++k)
      stretch_.shares[points.point[k]] += span_s * points.share[k];
  }

  /// Gives the time not yet accounted for to the points it is like.
  void account(std::size_t w) {
    Winding& at = *windings_[w];
    const double span_s = at.span_s, mean_A = span_s > 0 ? at.charge_C / span_s : 0;
    at.span_s = at.charge_C = 0;
    if (!(span_s > 0)) return;
    if (!at.flows()) {
      stretch_.shares[means_.undriven(static_cast<int>(w))] += span_s;
      return;
    }
    share_out(means_.cycle(static_cast<int>(w), at.flow == '+', at.on_s, std::abs(mean_A)), span_s);
  }

  void end_accounted() {
    for (std::size_t w : {0U, 1U}) account(w);
    end_stretch();
  }

  const Circuit& c_;
  const Plan& plan_;
  const PeriodMeans& means_;
  const double logic_V_, supply_V_, small_A_, longest_s_;
  const bool slow_by_diode_;
  std::array<std::optional<Winding>, 2> windings_;
  std::size_t next_reference_ = 0;
};

}  // namespace

MeanMotion latched_motion(const Circuit& circuit, const Plan& plan, const Design& d, double logic_V,
                          double supply_V, const PeriodMeans& means,
                          const std::vector<double>& times_s,
                          const std::function<void(const MeanStretch&)>& each) {
  LatchWalk walk(circuit, plan, d, logic_V, supply_V, means, times_s, each);
  walk.begin_state(0);
  walk.go(0.0);
  for (std::size_t k = 0; k < plan.states.size() && means.ok(); ++k) {
    walk.begin_state(k);
    walk.go(k + 1 < plan.states.size() ? plan.states[k + 1].t_s : plan.end_s);
    walk.end_state();
  }
  return walk.take();
}

}  // namespace pb::physics
