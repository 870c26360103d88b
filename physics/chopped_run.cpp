// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/chopped_run.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "base/check.h"
#include "base/math.h"
#include "physics/chop_cycle.h"
#include "physics/follow.h"
#include "physics/latched_drive.h"
#include "physics/mean_drive.h"
#include "physics/near_edges.h"
#include "physics/watched_run.h"

namespace pb::physics {
namespace {

class ChoppedRun {
 public:
  ChoppedRun(const Design& d, const std::vector<Spread>& spreads, const Point& point,
             const Temperatures& temperatures, const RunRequest& request, const StopToken& stop)
      : d_(d),
        spreads_(spreads),
        point_(point),
        request_(request),
        plan_(request.plan),
        table_(*request.on_means),
        motion_only_(request.motion_only),
        by_edge_(request.window_by_edge && request.plan.moving_states > 1),
        temperatures_(temperatures),
        stop_(stop),
        motor_(assemble(d, spreads, point, temperatures, still(request.plan), request.power)),
        periods_(request.periods ? request.periods : std::make_shared<PeriodStore>(d, spreads)),
        period_s_(request.plan.measured ? measured_period() : table_.tick_s * table_.c.chop.period),
        supply_V_(value_of(spreads, point, "supply.voltage")),
        regulated_A_(regulated_current(d.brief)),
        ambient_K_(value_of(spreads, point, "ambient")) {}

  RunFigures run() {
    const bool ended = simulate();
    RunFigures out = edges_ ? std::move(edges_->watch.out) : RunFigures{};
    out.temperatures = temperatures_;
    out.theta0_rad = motor_.theta0_rad;
    if (means_ok_) motion_figures(out);
    if (!ended && trouble_.empty() && !means_ok_) give_up("no mean over a period of the chopping");
    out.outcome = outcome_, out.trouble = trouble_;
    doubt(out);
    if (stop_.stop_requested()) out.outcome = Outcome::cancelled, out.trouble.clear();
    out.steps = edges_ ? edges_->transient.accepted : 0;
    return out;
  }

 private:
  static constexpr double kLead = 1, kSeen = 2;  // periods
  static constexpr double kLongLead = 5;         // where means are read off edges: the rail settles

  /// A stretch of edges: from a mean state on, counted after its lead.
  using Piece = Span;

  /// The motor on the means, with the other winding at the current that comes of them. False if a
  /// period does not end.
  bool walk(const std::vector<double>& times) {
    constexpr int kRounds = 3;
    constexpr double kNear = 0.2, kGrid = 0.1;
    // Half as fine as it needs to be, so that runs at other loads ask for the same periods.
    const auto rounded = [&](double rms_A) {
      return std::max(std::round(rms_A / (kGrid * regulated_A_)), 1.0) * kGrid * regulated_A_;
    };
    double usual_A = plan_.measured ? usual_share(table_) * regulated_A_
                                    : rounded(ideal_rms_A(motor_, plan_, table_, supply_V_));
    rail_ = mean_rail(motor_, supply_V_, d_.brief.supply.can_sink == "yes");
    for (int round = 0; round < kRounds; ++round) {
      const bool in_step = plan_.measured && plan_.moving_states <= 1;
      points_ = &periods_->of(point_, temperatures_, table_, usual_A, in_step);
      const PeriodMeans means(*points_, stop_);
      stretches_.clear();
      const auto keep = [&](const MeanStretch& s) {
        if (!motion_only_) stretches_.push_back(s);
      };
      motion_ = plan_.measured
                    ? latched_motion(motor_, plan_, d_, logic_V(), supply_V_, means, times, keep)
                    : mean_motion(motor_, plan_, table_, means, rail_, times, keep);
      means_ok_ = means.ok();
      if (!means_ok_) return false;
      if (std::abs(motion_.rms_A - usual_A) < kNear * usual_A) break;
      usual_A = rounded(motion_.rms_A);
    }
    return true;
  }

  /// Before anything is simulated edge by edge within these spans.
  void prepare(std::vector<Span> spans) {
    // The state before a span may be an edge's; looks need none.
    for (Span& s : spans) s.from_s -= period_s_;
    const Plan near = within(plan_, spans);
    edges_ = std::make_unique<Edges>(
        d_, assemble(d_, spreads_, point_, temperatures_, near, request_.power),
        within_reason(request_.options, plan_), plan_);
  }

  double logic_V() const { return value_of(spreads_, point_, "controller.logic_voltage"); }

  /// Of a chopper that measures: about as long as its cycles last. [s]
  double measured_period() const {
    const CycleLaw cycle =
        cycle_law(d_, spreads_, point_, temperatures_, plan_.dead_s, regulated_current(d_.brief));
    return cycle_s(cycle.law, 0.5 * (cycle.on_s[0] + cycle.on_s[1]));
  }

  /// A hold of a drive that measures: what it loses from the means, extremes from a few cycles.
  bool stands_measured(const MeanSpan& window) {
    const double from_s = std::max(window.to_s - 2 * (kLead + kSeen) * period_s_, 0.0);
    std::vector<double> times{from_s, window.from_s, window.to_s};
    std::sort(times.begin(), times.end());
    times.erase(std::unique(times.begin(), times.end()), times.end());
    if (!walk(times)) return false;
    if (motion_only_) return true;
    prepare(request_.losses_only ? std::vector<Span>{} : std::vector<Span>{{from_s, window.to_s}});
    if (!lose(window)) return false;
    if (request_.losses_only) return true;
    return piece(*std::find_if(motion_.asked.begin(), motion_.asked.end(),
                               [&](const MotorState& s) { return s.t_s >= from_s; }),
                 window.to_s);
  }

  bool simulate() {
    if (plan_.measured && plan_.moving_states <= 1) return stands_measured(means_of(plan_));
    const MeanSpan window = by_edge_ ? last_cycle() : means_of(plan_);
    if (plan_.moving_states <= 1) {
      const double from_s = window.from_s - kLead * period_s_;
      if (!walk({from_s})) return false;
      if (motion_only_) return true;
      prepare({{from_s, window.to_s}});
      return stands(window);
    }
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
    if (!walk(times)) return false;
    if (motion_only_) return true;
    if (request_.losses_only) {
      prepare({});
      return lose(window);
    }
    std::vector<Span> spans = pieces;
    for (const MotorState& most : motion_.most) spans.push_back({most.t_s, end_of(most)});
    if (releases) spans.push_back({release_from_s, plan_.end_s});
    if (by_edge_) spans.push_back({edges_from_s, window.to_s});
    prepare(std::move(spans));
    if (!lose(window)) return false;
    const auto at = [&](double t) {
      return *std::find_if(motion_.asked.begin(), motion_.asked.end(),
                           [&](const MotorState& s) { return s.t_s >= t; });
    };
    if (by_edge_ && !every_edge_of(window, at(edges_from_s))) return false;
    for (const Piece& p : pieces)
      if (!piece(at(p.from_s), p.to_s)) return false;
    for (const MotorState& most : motion_.most)
      if (!piece(most, end_of(most))) return false;
    return !releases || released(at(release_from_s));
  }

  double end_of(const MotorState& most) const {
    return std::min(most.t_s + (kLead + kSeen) * period_s_, plan_.end_s);
  }

  std::size_t moving() const { return static_cast<std::size_t>(plan_.moving_states); }

  /// Losses, heat and the windings' currents, stretch by stretch of the motion.
  bool lose(const MeanSpan& window) {
    const PeriodMeans means(*points_, stop_);
    Observer& watch = edges_->watch;
    sums_.assign(edges_->system.names.size(), {});
    watch.from_s = 0;
    std::set<double> ends;
    for (const PlannedState& s : plan_.states) ends.insert(s.t_s);
    double given_J = 0, given_at_opening_J = 0;
    bool opened = false;
    for (const MeanStretch& s : stretches_) {
      if (!opened && !by_edge_ && s.from_s >= window.from_s) {
        opened = true;
        watch.open_window(window.from_s, sums_);
        given_at_opening_J = given_J + lost_J();
      }
      add(s, means);
      if (!means.ok()) return means_ok_ = false;
      given_J += s.shaft_J;
      watch.warm(s.to_s, sums_, temperatures_, ambient_K_, stages_);
      if (ends.contains(s.to_s)) watch.state_over(sums_);
      if (s.to_s != window.to_s || by_edge_) continue;
      watch.close_window(window.to_s, sums_);
      // What goes in is what is lost and what turns the shaft; no store is fuller or emptier after
      // whole cycles.
      watch.out.supply_mean_A =
          (given_J + lost_J() - given_at_opening_J) / (window.to_s - window.from_s) / supply_V_;
    }
    watch.close(sums_);
    return true;
  }

  double lost_J() const {
    double sum = 0;
    for (const ElementSums& e : sums_) sum += e.loss_J;
    return sum;
  }

  void add(const MeanStretch& s, const PeriodMeans& means) {
    means.add(s.shares, s.to_s - s.from_s, sums_);
    for (const MeanRail::Bulk& b : rail_.bulk) {
      const double i2_A2s = b.share * b.share * s.pulses_A2s;
      sums_[b.resistor].i2_A2s += i2_A2s;
      sums_[b.resistor].loss_J += i2_A2s / motor_.resistors[b.resistor].conductance_S;
    }
    const std::size_t first = sums_.size() - motor_.windings.size();
    for (std::size_t w = 0; w < motor_.windings.size(); ++w) {
      ElementSums& e = sums_[first + w];
      winding_i2_[w] += s.i2_A2s[w];
      e.i2_A2s = winding_i2_[w];
      e.loss_J = winding_i2_[w] * motor_.windings[w].resistance_ohm;
    }
  }

  void give_up(const std::string& why) {
    outcome_ = Outcome::step_underflow;
    trouble_ = why;
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
            2.0 * motor_.windings[w].inductance_H * peak_A(w, k) / turning_V(w) + 2 * period_s_;
        const double to_s = turns ? std::min(end + back_s, next_end) : end;
        out.push_back({std::max(end - (kLead + kSeen) * period_s_, plan_.states[k].t_s), to_s});
      }
    return out;
  }

  /// What turns a winding's current round: all of the supply, or, where its switches are looked at
  /// when it is regulated again, what is left of it at that current and a quarter less for EMF.
  double turning_V(std::size_t w) const {
    if (!plan_.measured) return supply_V_;
    const double left_V = supply_V_ - regulated_A_ * motor_.windings[w].resistance_ohm;
    return std::max(0.75 * left_V, 0.25 * supply_V_);
  }

  double on_of(std::size_t winding, std::size_t state) const {
    if (plan_.measured)
      return (winding == 0 ? table_.reference_a : table_.reference_b)[state % table_.flows.size()];
    return (winding == 0 ? table_.on_a : table_.on_b)[state % table_.flows.size()];
  }

  /// What the duty makes flow in a winding at rest.
  double peak_A(std::size_t winding, std::size_t state) const {
    if (plan_.measured) return regulated_A_;
    const double duty = on_of(winding, state) / table_.c.chop.period;
    return duty * supply_V_ / motor_.windings[winding].resistance_ohm;
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
    if (plan_.measured) return s;  // is that already
    const auto k = static_cast<std::size_t>(
        std::upper_bound(plan_.states.begin(), plan_.states.end(), s.t_s,
                         [](double t, const PlannedState& p) { return t < p.t_s; }) -
        plan_.states.begin());
    const std::size_t state = k == 0 ? 0 : k - 1;
    for (std::size_t w : {0U, 1U}) {
      const double duty = on_of(w, state) / table_.c.chop.period;
      if (std::abs(s.i_A[w]) < ripple_A(w, duty)) continue;
      const double above = above_mean_A(motor_, table_, supply_V_, w, duty, s.t_s + plan_.settle_s);
      s.i_A[w] += s.i_A[w] > 0 ? above : -above;
    }
    return s;
  }

  double ripple_A(std::size_t w, double duty) const {
    return physics::ripple_A(motor_, table_, supply_V_, w, duty);
  }

  bool stopped(Outcome o) {
    if (o == Outcome::reached_end) return false;
    outcome_ = o;
    if (o != Outcome::cancelled)
      trouble_ = "no convergence at t = " + std::to_string(edges_->transient.time_s()) + " s, " +
                 name_of_unknown(edges_->system, edges_->transient.worst_unknown());
    return true;
  }

  /// Of the windings' currents, what choppers that measure do not ask of the supply on average.
  double stored_A(const MotorState& s) const {
    if (!plan_.measured) return 0;
    const auto& on_s = points_->on_times_s();
    const double stored = 1 - drawn_share(points_->law(), 0.5 * (on_s[0] + on_s[1]));
    double sum = 0;
    for (const std::size_t w : {0U, 1U}) {
      const double along_A = flow_at(s.t_s, w) == '-' ? -s.i_A[w] : s.i_A[w];
      if (along_A > 0.5 * regulated_A_) sum += stored * along_A;
    }
    return sum;
  }

  char flow_at(double t_s, std::size_t w) const {
    const auto after = std::upper_bound(plan_.states.begin(), plan_.states.end(), t_s,
                                        [](double t, const PlannedState& p) { return t < p.t_s; });
    return after == plan_.states.begin() ? plan_.states.front().flow[w] : (after - 1)->flow[w];
  }

  bool begin(const MotorState& mean) {
    const std::vector<double> x =
        at_state(edges_->system.circuit(), at_this_moment(mean), stored_A(mean));
    if (x.empty()) {
      give_up("no state to start from");
      return false;
    }
    if (plan_.measured) edges_->chop(mean.t_s);
    edges_->transient.start(mean.t_s, x);
    expect_cable(edges_->system, edges_->transient, regulated_A_);
    edges_->watch.from_s = mean.t_s + kLead * period_s_;
    edges_->transient.on_step = [&](double t, const std::vector<double>& at) {
      edges_->watch.step(t, at, edges_->transient.sums());
    };
    return true;
  }

  /// Up to a time, with the looks on the way.
  bool go(double to_s) {
    auto look = std::find_if(plan_.looks.begin(), plan_.looks.end(), [&](const Look& l) {
      return l.t_s > std::max(edges_->transient.time_s(), edges_->watch.from_s);
    });
    for (; look != plan_.looks.end() && look->t_s <= to_s; ++look) {
      if (stopped(edges_->transient.run_to(look->t_s, stop_))) return false;
      edges_->watch.settled(*look, edges_->transient.state());
    }
    return !stopped(edges_->transient.run_to(to_s, stop_));
  }

  void keep_ledger() {
    const Ledger& l = edges_->transient.ledger();
    Ledger& sum = edges_->watch.out.ledger;
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
    edges_->watch.open_window(window.from_s, edges_->transient.sums());
    edges_->watch.state_begins(edges_->transient.sums());
    edges_->watch.record(request_.record);
    if (!go(window.to_s)) return false;
    edges_->watch.record(false);
    edges_->watch.close_window(window.to_s, edges_->transient.sums());
    keep_ledger();
    return true;
  }

  /// A hold: the last tenth.
  bool stands(const MeanSpan& window) {
    if (!every_edge_of(window, motion_.asked.at(0))) return false;
    edges_->watch.state_over(edges_->transient.sums());
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
        edges_->watch.state_begins(edges_->transient.sums());
      else
        edges_->watch.state_over(edges_->transient.sums());
    }
    keep_ledger();
    return true;
  }

  void motion_figures(RunFigures& out) const {
    const MeanMotion& m = motion_;
    const double step_rad = kPi / (2.0 * motor_.rotor.teeth);
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
      const double ripple = plan_.measured ? 0.0 : ripple_A(w, duty_of_most(w));
      return std::abs(m.most[w].i_A[w]) + 0.5 * ripple;
    };
    out.winding_a.peak_A = std::max(out.winding_a.peak_A, peak(0));
    out.winding_b.peak_A = std::max(out.winding_b.peak_A, peak(1));
  }

  double duty_of_most(std::size_t w) const {
    const auto& on = w == 0 ? table_.on_a : table_.on_b;
    return *std::max_element(on.begin(), on.end()) / double(table_.c.chop.period);
  }

  const Design& d_;
  const std::vector<Spread>& spreads_;
  const Point& point_;
  const RunRequest& request_;
  const Plan& plan_;
  const DriveTable& table_;
  const bool motion_only_, by_edge_;
  const Temperatures& temperatures_;
  const StopToken& stop_;
  const Circuit motor_;  // of it no edge is run
  const std::shared_ptr<PeriodStore> periods_;
  const PeriodPoints* points_ = nullptr;
  bool means_ok_ = false;
  std::unique_ptr<Edges> edges_;
  Outcome outcome_ = Outcome::reached_end;
  std::string trouble_;
  StageDecay stages_;
  double period_s_, supply_V_, regulated_A_, ambient_K_, winding_i2_[2] = {0, 0};
  MeanMotion motion_;
  MeanRail rail_;
  std::vector<MeanStretch> stretches_;
  std::vector<ElementSums> sums_;
};

}  // namespace

bool has_means(const Design& d) {
  // The means know of a rigid load that nothing stops, of iron that neither saturates nor loses and
  // of a supply that gives what is asked for.
  const LoadBrief& load = d.brief.load;
  const bool plain = !given(load.end_stop_rad) && load.backlash_rad == 0.0 &&
                     !given(d.brief.motor.saturation_current_A) &&
                     !given(d.brief.motor.iron_loss_resistance_ohm) && !limits(d.brief.supply);
  return regulated(d.brief) && d.settings.decay != "fast" && plain;
}

RunFigures run_chopped(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const Temperatures& temperatures, const RunRequest& request,
                       const StopToken& stop) {
  PB_CHECK(request.on_means && (request.on_means->c.chop.period > 0 || request.plan.measured),
           "a drive that is not chopped");
  return ChoppedRun(d, spreads, point, temperatures, request, stop).run();
}

}  // namespace pb::physics
