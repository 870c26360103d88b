// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/chopped_run.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <memory>
#include <set>

#include "base/check.h"
#include "base/math.h"
#include "physics/follow.h"
#include "physics/mean_drive.h"
#include "physics/observer.h"
#include "physics/watched_run.h"

namespace pb::physics {
namespace {

class ChoppedRun {
 public:
  ChoppedRun(const Design& d, const std::vector<Spread>& spreads, const Point& point,
             const Temperatures& temperatures, const RunRequest& request, const StopToken& stop)
      : plan_(request.plan),
        table_(*request.on_means),
        motion_only_(request.motion_only),
        records_(request.record),
        by_edge_(request.window_by_edge && request.plan.moving_states > 1),
        temperatures_(temperatures),
        stop_(stop),
        circuit_(assemble(d, spreads, point, temperatures, request.plan, request.power)),
        system_(circuit_),
        transient_(system_, within_reason(request.options, request.plan)),
        watch_(d, system_, false),
        period_s_(table_.tick_s * table_.c.chop.period),
        supply_V_(value_of(spreads, point, "supply.voltage")),
        regulated_A_(regulated_current(d.brief)),
        ambient_K_(value_of(spreads, point, "ambient")) {}

  RunFigures run(const Design& d, const std::vector<Spread>& spreads, const Point& point) {
    watch_.out.temperatures = temperatures_;
    watch_.out.theta0_rad = circuit_.theta0_rad;
    if (!simulate(d, spreads, point) && !means_->ok())
      give_up("no mean over a period of the chopping");
    if (stop_.stop_requested()) watch_.out.outcome = Outcome::cancelled, watch_.out.trouble.clear();
    watch_.out.steps = transient_.accepted;
    return std::move(watch_.out);
  }

 private:
  static constexpr double kLead = 1, kSeen = 2;  // periods
  static constexpr double kLongLead = 5;         // where means are read off edges: the rail settles

  /// A stretch of edges: from a mean state on, counted after its lead.
  struct Piece {
    double from_s, to_s;
  };

  /// The motor on the means, with the other winding at the current that comes of them. False if a
  /// period does not end.
  bool walk(const Design& d, const std::vector<Spread>& spreads, const Point& point,
            const std::vector<double>& times) {
    constexpr int kRounds = 3;
    constexpr double kNear = 0.2;
    double usual_A = usual_share(table_) * regulated_A_;
    for (int round = 0; round < kRounds; ++round) {
      means_ =
          std::make_unique<PeriodMeans>(d, spreads, point, temperatures_, table_, usual_A, stop_);
      stretches_.clear();
      motion_ = mean_motion(circuit_, plan_, table_, *means_, supply_V_, times,
                            [&](const MeanStretch& s) {
                              if (!motion_only_) stretches_.push_back(s);
                            });
      if (!means_->ok()) return false;
      if (std::abs(motion_.rms_A - usual_A) < kNear * usual_A) break;
      usual_A = motion_.rms_A;
    }
    motion_figures(motion_);
    return true;
  }

  bool simulate(const Design& d, const std::vector<Spread>& spreads, const Point& point) {
    const MeanSpan window = by_edge_ ? last_cycle() : means_of(plan_);
    if (plan_.moving_states <= 1)
      return walk(d, spreads, point, {window.from_s - kLead * period_s_}) &&
             (motion_only_ || stands(window));
    const std::vector<Piece> pieces = pieces_of(window);
    const bool releases = plan_.states.size() > moving();
    const double release_from_s =
        releases ? plan_.states[moving()].t_s - (kLead + kSeen) * period_s_ : plan_.end_s;
    const double edges_from_s = window.from_s - kLongLead * period_s_;
    std::vector<double> times{window.from_s, window.to_s, release_from_s, edges_from_s};
    for (const Piece& p : pieces) times.push_back(p.from_s);
    for (const PlannedState& s : plan_.states) times.push_back(s.t_s);
    std::sort(times.begin(), times.end());
    times.erase(std::unique(times.begin(), times.end()), times.end());
    if (!walk(d, spreads, point, times)) return false;
    if (motion_only_) return true;
    if (!lose(window)) return false;
    const auto at = [&](double t) {
      return *std::find_if(motion_.asked.begin(), motion_.asked.end(),
                           [&](const MotorState& s) { return s.t_s >= t; });
    };
    if (by_edge_ && !every_edge_of(window, at(edges_from_s))) return false;
    for (const Piece& p : pieces)
      if (!piece(at(p.from_s), p.to_s)) return false;
    for (const MotorState& most : motion_.most)
      if (!piece(most, std::min(most.t_s + (kLead + kSeen) * period_s_, plan_.end_s))) return false;
    return !releases || released(at(release_from_s));
  }

  std::size_t moving() const { return static_cast<std::size_t>(plan_.moving_states); }

  /// Losses, heat and the windings' currents, stretch by stretch of the motion.
  bool lose(const MeanSpan& window) {
    sums_.assign(system_.names.size(), {});
    watch_.from_s = 0;
    std::set<double> ends;
    for (const PlannedState& s : plan_.states) ends.insert(s.t_s);
    double given_J = 0, given_at_opening_J = 0;
    bool opened = false;
    for (const MeanStretch& s : stretches_) {
      if (!opened && !by_edge_ && s.from_s >= window.from_s) {
        opened = true;
        watch_.open_window(window.from_s, sums_);
        given_at_opening_J = given_J + lost_J();
      }
      add(s);
      if (!means_->ok()) return false;
      given_J += s.shaft_J;
      watch_.warm(s.to_s, sums_, temperatures_, ambient_K_, stages_);
      if (ends.contains(s.to_s)) watch_.state_over(sums_);
      if (s.to_s != window.to_s || by_edge_) continue;
      watch_.close_window(window.to_s, sums_);
      // What goes in is what is lost and what turns the shaft; no store is fuller or emptier after
      // whole cycles.
      watch_.out.supply_mean_A =
          (given_J + lost_J() - given_at_opening_J) / (window.to_s - window.from_s) / supply_V_;
    }
    watch_.close(sums_);
    return true;
  }

  double lost_J() const {
    double sum = 0;
    for (const ElementSums& e : sums_) sum += e.loss_J;
    return sum;
  }

  void add(const MeanStretch& s) {
    means_->add(s.shares, s.to_s - s.from_s, sums_);
    const std::size_t first = sums_.size() - circuit_.windings.size();
    for (std::size_t w = 0; w < circuit_.windings.size(); ++w) {
      ElementSums& e = sums_[first + w];
      winding_i2_[w] += s.i2_A2s[w];
      e.i2_A2s = winding_i2_[w];
      e.loss_J = winding_i2_[w] * circuit_.windings[w].resistance_ohm;
    }
  }

  void give_up(const std::string& why) {
    watch_.out.outcome = Outcome::step_underflow;
    watch_.out.trouble = why;
  }

  bool flows_on(std::size_t state, std::size_t winding, char sign) const {
    return state < moving() && plan_.states[state].flow[winding] == sign;
  }

  /// About the ends of each winding's drive in either direction, as late in the window as there is
  /// one: its last periods, and until the current has turned round.
  std::vector<Piece> pieces_of(const MeanSpan& window) const {
    std::vector<Piece> out;
    for (std::size_t w : {0U, 1U})
      for (const char sign : {'+', '-'}) {
        const std::size_t k = last_of_most(w, sign, window.to_s);
        if (k >= moving()) continue;
        const double end = k + 1 < plan_.states.size() ? plan_.states[k + 1].t_s : plan_.end_s;
        const bool turns = !flows_on(k + 1, w, sign) && k + 1 < moving();
        const double next_end = k + 2 < plan_.states.size() ? plan_.states[k + 2].t_s : plan_.end_s;
        const double back_s =
            2.0 * circuit_.windings[w].inductance_H * peak_A(w, k) / supply_V_ + 2 * period_s_;
        const double to_s = turns ? std::min(end + back_s, next_end) : end;
        out.push_back({std::max(end - (kLead + kSeen) * period_s_, plan_.states[k].t_s), to_s});
      }
    return out;
  }

  double on_of(std::size_t winding, std::size_t state) const {
    return (winding == 0 ? table_.on_a : table_.on_b)[state % table_.flows.size()];
  }

  /// What the duty makes flow in a winding at rest.
  double peak_A(std::size_t winding, std::size_t state) const {
    const double duty = on_of(winding, state) / table_.c.chop.period;
    return duty * supply_V_ / circuit_.windings[winding].resistance_ohm;
  }

  /// Of the states before `before_s` that drive the winding this way with its greatest duty, the
  /// last; of those after which it is driven another way, if there are any. moving() if none.
  std::size_t last_of_most(std::size_t w, char sign, double before_s) const {
    std::size_t best = moving();
    bool best_turns = false;
    for (std::size_t k = 0; k + 1 < moving(); ++k) {
      if (plan_.states[k + 1].t_s > before_s || !flows_on(k, w, sign)) continue;
      const bool turns = !flows_on(k + 1, w, sign);
      const bool more = best >= moving() || on_of(w, k) > on_of(w, best);
      if (more || (on_of(w, k) == on_of(w, best) && turns >= best_turns))
        best = k, best_turns = turns;
    }
    return best;
  }

  /// From the mean over a period to what the current is at this moment of it: a triangle about it.
  MotorState at_this_moment(MotorState s) const {
    const pb_chop& c = table_.c.chop;
    const double tick = (s.t_s + plan_.settle_s) / table_.tick_s;
    const std::uint32_t later = c.period / 2U;  // winding b's periods begin

    const auto k = static_cast<std::size_t>(
        std::upper_bound(plan_.states.begin(), plan_.states.end(), s.t_s,
                         [](double t, const PlannedState& p) { return t < p.t_s; }) -
        plan_.states.begin());
    const std::size_t state = k == 0 ? 0 : k - 1;
    for (std::size_t w : {0U, 1U}) {
      const double duty = on_of(w, state) / c.period, ripple = ripple_A(w, duty);
      if (duty <= 0 || duty >= 1 || std::abs(s.i_A[w]) < ripple) continue;
      const double phase =
          std::fmod(tick + (w == 0 ? 0.0 : static_cast<double>(later)), c.period) / c.period;
      const double above = phase < duty ? phase / duty - 0.5 : 0.5 - (phase - duty) / (1.0 - duty);
      s.i_A[w] += s.i_A[w] > 0 ? ripple * above : -ripple * above;
    }
    return s;
  }

  /// From valley to peak, for a period far below L/R.
  double ripple_A(std::size_t w, double duty) const {
    const double swing_V = table_.c.chop.idle > 0 ? 2.0 * supply_V_ : supply_V_;
    return swing_V * duty * (1.0 - duty) * period_s_ / circuit_.windings[w].inductance_H;
  }

  bool stopped(Outcome o) {
    if (o == Outcome::reached_end) return false;
    watch_.out.outcome = o;
    if (o != Outcome::cancelled)
      watch_.out.trouble = "no convergence at t = " + std::to_string(transient_.time_s()) + " s, " +
                           name_of_unknown(system_, transient_.worst_unknown());
    return true;
  }

  bool begin(const MotorState& mean) {
    const std::vector<double> x = at_state(circuit_, at_this_moment(mean));
    if (x.empty()) {
      give_up("no state to start from");
      return false;
    }
    transient_.start(mean.t_s, x);
    expect_cable(system_, transient_, regulated_A_);
    watch_.from_s = mean.t_s + kLead * period_s_;
    transient_.on_step = [&](double t, const std::vector<double>& at) {
      watch_.step(t, at, transient_.sums());
    };
    return true;
  }

  /// Up to a time, with the looks on the way.
  bool go(double to_s) {
    auto look = std::find_if(plan_.looks.begin(), plan_.looks.end(), [&](const Look& l) {
      return l.t_s > std::max(transient_.time_s(), watch_.from_s);
    });
    for (; look != plan_.looks.end() && look->t_s <= to_s; ++look) {
      if (stopped(transient_.run_to(look->t_s, stop_))) return false;
      watch_.settled(*look, transient_.state());
    }
    return !stopped(transient_.run_to(to_s, stop_));
  }

  void keep_ledger() {
    const Ledger& l = transient_.ledger();
    Ledger& sum = watch_.out.ledger;
    sum.source_J += l.source_J, sum.loss_J += l.loss_J, sum.load_J += l.load_J;
    sum.stored_J += l.stored_J, sum.throughput_J += l.throughput_J;
  }

  bool piece(const MotorState& from, double to_s) {
    if (!begin(from) || !go(to_s)) return false;
    keep_ledger();
    return true;
  }

  /// Figures of the window by all its edges, from a state a lead before it.
  bool every_edge_of(const MeanSpan& window, const MotorState& from) {
    if (!begin(from) || !go(window.from_s)) return false;
    watch_.open_window(window.from_s, transient_.sums());
    watch_.state_begins(transient_.sums());
    watch_.record(records_);
    if (!go(window.to_s)) return false;
    watch_.record(false);
    watch_.close_window(window.to_s, transient_.sums());
    keep_ledger();
    return true;
  }

  /// A hold: the last tenth.
  bool stands(const MeanSpan& window) {
    if (!every_edge_of(window, motion_.asked.at(0))) return false;
    watch_.state_over(transient_.sums());
    return true;
  }

  /// Of the window of a move.
  MeanSpan last_cycle() const {
    const MeanSpan whole = means_of(plan_);
    const Window w = window_of(plan_);
    const int cycle = 4 * plan_.per_step;
    const int from = std::max(w.from, w.to - cycle);
    return {plan_.states[static_cast<std::size_t>(from)].t_s, whole.to_s};
  }

  bool released(const MotorState& from) {
    if (!begin(from)) return false;
    for (std::size_t k = moving(); k <= plan_.states.size(); ++k) {
      if (!go(k < plan_.states.size() ? plan_.states[k].t_s : plan_.end_s)) return false;
      if (k == moving())
        watch_.state_begins(transient_.sums());
      else
        watch_.state_over(transient_.sums());
    }
    keep_ledger();
    return true;
  }

  void motion_figures(const MeanMotion& m) {
    RunFigures& out = watch_.out;
    const double step_rad = kPi / (2.0 * circuit_.rotor.teeth);
    const auto steps = [&](std::size_t k) {
      return (m.ends[k].th_rad - out.theta0_rad) / step_rad;
    };
    const std::size_t last = moving() - 1;
    for (std::size_t k = 0; k <= last; ++k)
      out.lag_max_step =
          std::max(out.lag_max_step, std::abs(static_cast<double>(k) / plan_.per_step - steps(k)));
    const double asked = static_cast<double>(last) / plan_.per_step;
    out.steps_commanded = static_cast<int>(last) / plan_.per_step;
    out.steps_made = static_cast<int>(std::lround(steps(last)));
    out.end_error_step = steps(last) - asked;
    out.theta_end_rad = m.ends.back().th_rad;
    out.settle_error_step = steps(m.ends.size() - 1) - asked;
    const auto peak = [&](std::size_t w) {
      const double greatest = duty_of_most(w);
      return std::abs(m.most[w].i_A[w]) + 0.5 * ripple_A(w, greatest);
    };
    out.winding_a.peak_A = peak(0), out.winding_b.peak_A = peak(1);
  }

  double duty_of_most(std::size_t w) const {
    const auto& on = w == 0 ? table_.on_a : table_.on_b;
    return *std::max_element(on.begin(), on.end()) / double(table_.c.chop.period);
  }

  const Plan& plan_;
  const DriveTable& table_;
  const bool motion_only_, records_, by_edge_;
  const Temperatures& temperatures_;
  const StopToken& stop_;
  const Circuit circuit_;
  System system_;
  Transient transient_;
  Observer watch_;
  std::unique_ptr<PeriodMeans> means_;
  StageDecay stages_;
  double period_s_, supply_V_, regulated_A_, ambient_K_, winding_i2_[2] = {0, 0};
  MeanMotion motion_;
  std::vector<MeanStretch> stretches_;
  std::vector<ElementSums> sums_;
};

}  // namespace

bool has_means(const Design& d) {
  // The means know of a rigid load that nothing stops, of iron that does not saturate and of a
  // supply that gives what is asked for.
  const LoadBrief& load = d.brief.load;
  const bool plain = !given(load.end_stop_rad) && load.backlash_rad == 0.0 &&
                     !given(d.brief.motor.saturation_current_A) && !limits(d.brief.supply);
  return regulated(d.brief) && d.settings.decay != "fast" && plain;
}

RunFigures run_chopped(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const Temperatures& temperatures, const RunRequest& request,
                       const StopToken& stop) {
  PB_CHECK(request.on_means && request.on_means->c.chop.period > 0, "a drive that is not chopped");
  return ChoppedRun(d, spreads, point, temperatures, request, stop).run(d, spreads, point);
}

}  // namespace pb::physics
