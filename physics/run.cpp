// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/run.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "physics/heat.h"
#include "physics/observer.h"
#include "physics/settle.h"
#include "physics/watched_run.h"

namespace pb::physics {
namespace {

/// States between which means are taken: whole electrical cycles, the last ones at the running
/// rate; of a move that never runs at it, the last ones. The first half of the move is left to
/// settle.
struct Window {
  int from = 0, to = 0;
};
Window window_of(const Plan& p) {
  const int cycle = 4 * p.per_step, moves = p.moving_states - 1;
  const bool cruises = p.cruise_to - p.cruise_from >= cycle;
  const int end = cruises ? p.cruise_to : moves;
  if (end < cycle) return {0, end};
  const int settled = std::max(cruises ? p.cruise_from : 0, end / 2);
  return {end - cycle * std::clamp((end - settled) / cycle, 1, 8), end};
}

Circuit assembled(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                  const Temperatures& temperatures, const RunRequest& request) {
  Circuit c = assemble(d, spreads, point, temperatures, request.plan, request.power);
  if (request.alter) request.alter(c);
  return c;
}

}  // namespace

MeanSpan means_of(const Plan& plan) {
  if (plan.moving_states <= 1)  // standing: the last tenth
    return {mix(plan.states.front().t_s, plan.end_s, 0.9), plan.end_s};
  const Window w = window_of(plan);
  const auto at = [&](int k) { return plan.states[static_cast<std::size_t>(k)].t_s; };
  return {at(w.from), at(w.to)};
}

TransientOptions within_reason(TransientOptions o, const Plan& plan) {
  constexpr long kAtLeast = 20000, kEachState = 1000, kEachWrite = 200;
  if (o.max_steps == 0)
    o.max_steps = kAtLeast + kEachState * static_cast<long>(plan.states.size()) +
                  (plan.looks.empty() ? 0 : kEachWrite * static_cast<long>(plan.writes.size()));
  return o;
}

RunFigures run(const Design& d, const std::vector<Spread>& spreads, const Point& point,
               const Temperatures& temperatures, const RunRequest& request, const StopToken& stop) {
  return watched_run(d, spreads, point, temperatures, request, {}, stop);
}

RunFigures watched_run(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const Temperatures& temperatures, const RunRequest& request,
                       const Watch& onlooker, const StopToken& stop) {
  const Plan& plan = request.plan;
  System system(assembled(d, spreads, point, temperatures, request));
  Transient transient(system, within_reason(request.options, plan));
  Observer watch(d, system, request.record);
  watch.from_s = request.power.in_reset ? -plan.settle_s : 0.0;
  for (const PlannedState& s : plan.states) transient.landings_s.push_back(s.t_s);
  transient.start(-plan.settle_s);
  const double ambient_K = value_of(spreads, point, "ambient");
  transient.on_step = [&](double t, const std::vector<double>& x) {
    watch.step(t, x, transient.sums());
    watch.warm(t, transient.sums(), temperatures, ambient_K);
    if (onlooker) onlooker(system, t, x);
  };
  RunFigures& out = watch.out;
  out.theta0_rad = system.circuit().theta0_rad;
  const double step_rad = kPi / (2.0 * system.circuit().rotor.teeth),
               state_step = 1.0 / plan.per_step;
  const Window window = window_of(plan);
  const int last = plan.moving_states - 1;
  const auto stopped = [&](Outcome o) {
    out.outcome = o;
    const std::string at =
        " at t = " + std::to_string(transient.time_s()) + " s, " + transient.worst_unknown();
    if (o == Outcome::step_underflow) out.trouble = "no convergence" + at;
    if (o == Outcome::too_many_steps)
      out.trouble = "oscillates by itself: " + std::to_string(transient.accepted) + " steps" + at;
    return o != Outcome::reached_end;
  };
  auto look = plan.looks.begin();
  bool failed = stopped(transient.run_to(0.0, stop));
  watch.state_begins(transient.sums());
  for (std::size_t k = 0; k < plan.states.size() && !failed; ++k) {
    if (static_cast<int>(k) == window.from && last > 0) watch.open_window(transient);
    if (static_cast<int>(k) == window.to && last > 0) watch.close_window(transient);
    const double until = k + 1 < plan.states.size() ? plan.states[k + 1].t_s : plan.end_s;
    if (last == 0) {  // standing: the window is the last tenth
      failed = stopped(transient.run_to(mix(plan.states[k].t_s, until, 0.9), stop));
      watch.open_window(transient);
    }
    for (; !failed && look != plan.looks.end() && look->t_s <= until; ++look) {
      failed = stopped(transient.run_to(look->t_s, stop));
      if (!failed) watch.settled(*look, transient.state());
    }
    if (!failed) failed = stopped(transient.run_to(until, stop));
    if (last == 0) watch.close_window(transient);
    if (failed) break;
    watch.state_over(transient.sums());
    if (static_cast<int>(k) <= last) {
      if (plan.looks.empty()) watch.settled(plan.states[k], transient.state());
      watch.lag(transient.state(), out.theta0_rad + static_cast<double>(k) * state_step * step_rad);
    }
    if (static_cast<int>(k) == last) {
      const double moved = (transient.state()[system.angle_unknown()] - out.theta0_rad) / step_rad;
      out.steps_made = static_cast<int>(std::lround(moved));
      out.end_error_step = moved - last * state_step;
    }
  }
  out.steps_commanded = last / plan.per_step;
  out.theta_end_rad = transient.state()[system.angle_unknown()];
  out.settle_error_step = (out.theta_end_rad - out.theta0_rad) / step_rad - last * state_step;
  out.ledger = transient.ledger();
  watch.close(transient.sums());
  out.temperatures = temperatures;
  out.steps = transient.accepted;
  return std::move(out);
}

RunFigures stand(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                 const Temperatures& temperatures, const RunRequest& request) {
  return watched_stand(d, spreads, point, temperatures, request, {});
}

RunFigures watched_stand(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                         const Temperatures& temperatures, const RunRequest& request,
                         const Watch& onlooker) {
  const Plan& plan = request.plan;
  PB_CHECK(plan.stands_still(), plan.states.size());
  System system(assembled(d, spreads, point, temperatures, request));
  Observer watch(d, system, false);
  watch.out.theta0_rad = watch.out.theta_end_rad = system.circuit().theta0_rad;
  std::vector<double> x(static_cast<std::size_t>(system.size()), 0.0);
  x[static_cast<std::size_t>(system.angle_unknown())] = system.circuit().theta0_rad;
  if (settle(system, plan.end_s, x)) {
    system.evaluate(x);
    system.read(x);
    watch.at_rest(x);
    if (onlooker) onlooker(system, watch.from_s, x);
    watch.settled(plan.states.front(), x);
  } else {
    watch.out.outcome = Outcome::step_underflow;
    watch.out.trouble = "no resting state found";
  }
  watch.out.temperatures = temperatures;
  return std::move(watch.out);
}

Temperatures heated(const Design& d, double ambient_K, const RunFigures& figures) {
  Temperatures t;
  for (const Place& p : d.wiring.places) {
    const auto part = d.parts.find(p.role);
    if (part == d.parts.end()) continue;
    const PartClass* c = find_part_class(part->second.part_class);
    if (!c || figure_index(*c, "rth_ja") < 0) continue;
    const auto f = figures.parts.find(p.ref);
    const double loss_W = f == figures.parts.end() ? 0.0 : f->second.loss_W;
    t.junction_K[p.ref] = ambient_K + figure(part->second, "rth_ja") * std::max(loss_W, 0.0);
  }
  t.winding_K = ambient_K + d.brief.motor.thermal_resistance_K_W * figures.winding_loss_W;
  return t;
}

namespace {

/// The windings' temperature decides the current, and with it all others: where it meets what
/// follows from it is sought along the line through the last two rounds.
class WindingHeat {
 public:
  /// Where to go on, having asked for one temperature and seen another follow.
  double next(double asked_K, double followed_K) {
    constexpr double kSteepest = 0.9;  // a line steeper than that says little of where they meet
    const double slope = (followed_K - followed_) / (asked_K - asked_);
    asked_ = asked_K, followed_ = followed_K;
    if (!(std::abs(slope) < kSteepest)) return followed_K;
    return asked_K + (followed_K - asked_K) / (1.0 - slope);
  }

 private:
  double asked_ = kNotGiven, followed_ = kNotGiven;
};

/// `once` runs at given temperatures; again until they follow from its losses. From `start`, else
/// from ambient.
template <class Once>
HeatedRun until_consistent(const Design& d, double ambient_K, double settled_K,
                           const Temperatures* start, Once once) {
  HeatedRun out;
  Temperatures t;
  t.winding_K = ambient_K;
  if (start) t = *start;
  constexpr double kMelted_K = 800.0;
  constexpr int kRounds = 12;
  WindingHeat winding;
  for (int round = 0; round < kRounds; ++round) {
    out.figures = once(t);
    if (out.figures.outcome != Outcome::reached_end) return out;
    const Temperatures next = heated(d, ambient_K, out.figures);
    double moved = std::abs(next.winding_K - t.winding_K), hottest = next.winding_K;
    for (const auto& [ref, T_K] : next.junction_K) {
      const auto before = t.junction_K.find(ref);
      moved = std::max(moved,
                       std::abs(T_K - (before == t.junction_K.end() ? ambient_K : before->second)));
      hottest = std::max(hottest, T_K);
    }
    const double asked_K = t.winding_K;
    t = next;
    if (hottest > kMelted_K) {
      out.runaway = true;
      break;
    }
    if (moved < settled_K) {
      out.consistent = true;
      break;
    }
    t.winding_K = winding.next(asked_K, next.winding_K);
  }
  if (!out.consistent)
    out.runaway = true;  // twelve rounds of a contraction below one half leave nothing to settle
  out.figures.temperatures = t;
  return out;
}

}  // namespace

HeatedRun run_heated(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                     const RunRequest& request, const StopToken& stop, const Temperatures* start) {
  const auto from = [&](const Temperatures* t0) {
    return until_consistent(
        d, value_of(spreads, point, "ambient"), request.settled_K, t0,
        [&](const Temperatures& t) { return run(d, spreads, point, t, request, stop); });
  };
  HeatedRun out = from(start);
  // A driver that settles from cold may run away from hotter than it ever gets.
  return start && out.runaway ? from(nullptr) : out;
}

HeatedRun stand_heated(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const RunRequest& request) {
  return until_consistent(
      d, value_of(spreads, point, "ambient"), request.settled_K, nullptr,
      [&](const Temperatures& t) { return stand(d, spreads, point, t, request); });
}

}  // namespace pb::physics
