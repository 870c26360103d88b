// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/run.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/check.h"
#include "base/quantity.h"
#include "physics/board_heat.h"
#include "physics/chopped_run.h"
#include "physics/chopping.h"
#include "physics/decay.h"
#include "physics/follow.h"
#include "physics/heat_rounds.h"
#include "physics/period_means.h"
#include "physics/settle.h"
#include "physics/stretch_judge.h"
#include "physics/watched_run.h"

namespace pb::physics {
namespace {

Circuit assembled(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                  const Temperatures& temperatures, const RunRequest& request) {
  Circuit c = assemble(d, spreads, point, temperatures, request.plan, request.power);
  if (request.alter) request.alter(c);
  return c;
}

/// Means of a hold over whole periods of the chopping: from winding a's first trip in the window to
/// its last.
class WholePeriods {
 public:
  WholePeriods(const Plan& plan, Observer& watch) : watch_(watch) {
    if (plan.measured && plan.moving_states == 1) from_s_ = means_of(plan).from_s;
  }
  void trip(const Chopping::Stretch& s, const std::vector<ElementSums>& sums) {
    if (s.mode != ChopperLatch::Mode::driven || s.chopper->winding != 0 || !(s.to_s > from_s_))
      return;
    if (opened_)
      last_s_ = s.to_s, last_ = sums;
    else
      watch_.open_window(s.to_s, sums);
    opened_ = true;
  }
  /// Without two trips, what follow() opened lasts up to the end.
  void end(double t_s, const std::vector<ElementSums>& sums) {
    if (from_s_ == kNever_s) return;
    if (last_.empty())
      watch_.close_window(t_s, sums);
    else
      watch_.close_window(last_s_, last_);
  }

 private:
  Observer& watch_;
  double from_s_ = kNever_s, last_s_ = 0;
  bool opened_ = false;
  std::vector<ElementSums> last_;
};

}  // namespace

Window window_of(const Plan& p) {
  const int cycle = 4 * p.per_step, moves = p.moving_states - 1;
  const bool cruises = p.cruise_to - p.cruise_from >= cycle;
  const int end = cruises ? p.cruise_to : moves;
  if (end < cycle) return {0, end};
  const int settled = std::max(cruises ? p.cruise_from : 0, end / 2);
  return {end - cycle * std::clamp((end - settled) / cycle, 1, 8), end};
}

double speed_ripple(const RunFigures& f) {
  if (f.steps_commanded == 0 || !(std::abs(f.speed_mean_rad_s) > 0)) return kNotGiven;
  return (f.speed_max_rad_s - f.speed_min_rad_s) / std::abs(f.speed_mean_rad_s);
}

MeanSpan means_of(const Plan& plan) {
  if (plan.moving_states <= 1)  // standing: the last tenth
    return {mix(plan.states.front().t_s, plan.end_s, 0.9), plan.end_s};
  const Window w = window_of(plan);
  const auto at = [&](int k) { return plan.states[static_cast<std::size_t>(k)].t_s; };
  return {at(w.from), at(w.to)};
}

double energy_residual(const Ledger& l) {
  constexpr double kNothing_J = 1e-6;
  return std::max(std::abs(l.residual_J()) - kNothing_J, 0.0) /
         std::max(l.throughput_J, kNothing_J);
}

void doubt(RunFigures& f) {
  if (f.outcome != Outcome::reached_end || energy_residual(f.ledger) <= kLedgerShare) return;
  f.outcome = Outcome::unbalanced;
  f.trouble =
      "the energy ledger does not close: " + format_quantity(f.ledger.residual_J(), dim::energy) +
      " missing of " + format_quantity(f.ledger.throughput_J, dim::energy);
}

TransientOptions within_reason(TransientOptions o, const Plan& plan) {
  // Beyond this a stage rings; what it does meanwhile judges it (watch_ringing).
  constexpr double kAtLeast = 20000, kEachState = 1000, kEachWrite = 200;
  // Steps of a method of the third order.
  const double finer = std::cbrt(std::max(TransientOptions{}.rtol / o.rtol, 1.0));
  if (o.max_steps == 0)
    o.max_steps = static_cast<long>(
        finer * (kAtLeast + kEachState * static_cast<double>(plan.states.size()) +
                 (plan.looks.empty() ? 0 : kEachWrite * static_cast<double>(plan.writes.size()))));
  if (o.max_steps > 0) {
    constexpr double kEachEdge = 200;
    o.max_steps +=
        static_cast<long>(kEachEdge * 2.0 * plan.clock_Hz * (plan.end_s + plan.settle_s));
  }
  if (plan.measured && o.max_steps > 0) {
    constexpr double kEachSecond = 4e7;  // 400 a trip, two windings, 20 us
    o.max_steps += static_cast<long>(kEachSecond * (plan.end_s + plan.settle_s));
  }
  return o;
}

RunFigures run(const Design& d, const std::vector<Spread>& spreads, const Point& point,
               const Temperatures& temperatures, const RunRequest& request, const StopToken& stop) {
  if (request.on_means) return run_chopped(d, spreads, point, temperatures, request, stop);
  return watched_run(d, spreads, point, temperatures, request, {}, stop);
}

namespace {

/// Some more of what has taken too many steps, looked at in each.
void watch_ringing(const Plan& plan, Transient& transient, Observer& watch) {
  constexpr long kMore = 5000;
  const auto after =
      std::ranges::upper_bound(plan.states, transient.time_s(), {}, &PlannedState::t_s);
  // Before the first state begins the rotor is drawn into it.
  const auto now = after == plan.states.begin() ? after : after - 1, next = now + 1;
  if (now == plan.states.end()) return;
  transient.on_step = [&](double, const std::vector<double>&) { watch.rings(*now); };
  transient.allow(kMore);
  transient.run_to(next == plan.states.end() ? plan.end_s : next->t_s);
  watch.rang();
}

RunFigures run_once(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                    const Temperatures& temperatures, const RunRequest& request,
                    const Watch& onlooker, const StopToken& stop) {
  const Plan& plan = request.plan;
  System system(assembled(d, spreads, point, temperatures, request));
  Transient transient(system, options_of(request));
  Observer watch(d, system, request.record);
  begin_figures(watch, system, request);
  for (const PlannedState& s : plan.states) transient.landings_s.push_back(s.t_s);
  Chopping chopping(system, -plan.settle_s);
  StretchJudge judge(d, plan, watch);
  WholePeriods whole(plan, watch);
  if (plan.measured) {
    transient.responder = &chopping;
    chopping.on_stretch = [&](const Chopping::Stretch& s, const std::vector<double>& x) {
      judge.judge(s, x);
      whole.trip(s, transient.sums());
    };
  }
  transient.start(-plan.settle_s);
  const double ambient_K = value_of(spreads, point, "ambient");
  StageDecay stages;
  transient.on_step = [&](double t, const std::vector<double>& x) {
    watch.step(t, x, transient.sums());
    watch.warm(t, transient.sums(), temperatures, ambient_K, stages);
    if (onlooker) onlooker(system, t, x);
  };
  const Underway unit{system, watch, transient.state(), transient.sums()};
  watch.out.outcome = follow(plan, transient, [&](const auto& visit) { visit(unit); }, stop);
  const std::string at = " at t = " + std::to_string(transient.time_s()) + " s, " +
                         name_of_unknown(system, transient.worst_unknown());
  if (watch.out.outcome == Outcome::step_underflow) watch.out.trouble = "no convergence" + at;
  if (watch.out.outcome == Outcome::too_many_steps) {
    watch.out.trouble =
        "oscillates by itself: " + std::to_string(transient.accepted) + " steps" + at;
    if (plan.looks.empty()) watch_ringing(plan, transient, watch);
  }
  if (watch.out.outcome == Outcome::reached_end) whole.end(transient.time_s(), transient.sums());
  end_figures(unit, plan, temperatures, transient.ledger(), transient.accepted);
  if (!request.outside_power) doubt(watch.out);
  return std::move(watch.out);
}

/// A decay far shorter than the step may pass the step control, which damps what is stiff.
TransientOptions in_smaller_steps(TransientOptions o) {
  constexpr double kShare = 0.1;
  o.rtol *= kShare, o.atol_A *= kShare, o.atol_V *= kShare, o.atol_rad *= kShare;
  o.max_step_s *= kShare;
  return o;
}

}  // namespace

RunFigures watched_run(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const Temperatures& temperatures, const RunRequest& request,
                       const Watch& onlooker, const StopToken& stop) {
  RunFigures out = run_once(d, spreads, point, temperatures, request, onlooker, stop);
  if (onlooker || out.outcome != Outcome::unbalanced) return out;  // nobody looks on twice
  RunRequest again = request;
  again.options = in_smaller_steps(again.options);
  return run_once(d, spreads, point, temperatures, again, onlooker, stop);
}

RunFigures stand(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                 const Temperatures& temperatures, const RunRequest& request) {
  return watched_stand(d, spreads, point, temperatures, request, {});
}

RunFigures watched_stand(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                         const Temperatures& temperatures, const RunRequest& request,
                         const Watch& onlooker) {
  const Plan& plan = request.plan;
  // With a clock there is no rest: it comes round again and again.
  if (plan.clock_Hz > 0) return watched_run(d, spreads, point, temperatures, request, onlooker, {});
  PB_CHECK(plan.stands_still(), plan.states.size());
  System system(assembled(d, spreads, point, temperatures, request));
  Observer watch(d, system, false);
  watch.out.theta0_rad = watch.out.theta_end_rad = system.circuit().theta0_rad;
  std::vector<double> x(static_cast<std::size_t>(system.size()), 0.0);
  system.turn_to(x, system.circuit().theta0_rad);
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

namespace {

/// What a part turns into heat; a source gives none.
double loss_W(const RunFigures& figures, const std::string& ref) {
  const auto f = figures.parts.find(ref);
  return f == figures.parts.end() ? 0.0 : std::max(f->second.loss_W, 0.0);
}

}  // namespace

double board_loss_W(const Design& d, const RunFigures& figures) {
  std::vector<double> losses_W;
  losses_W.reserve(d.wiring.places.size());
  for (const Place& p : d.wiring.places) losses_W.push_back(loss_W(figures, p.ref));
  // To the last bit the same in whatever order a template lists its places.
  std::ranges::sort(losses_W);
  return std::accumulate(losses_W.begin(), losses_W.end(), 0.0);
}

double neighbour_rise_K(const Design& d, const RunFigures& figures, const std::string& ref) {
  const SharedPackage* package = shared_by(d, ref);
  if (!package) return 0;
  return without_board_K_W(package->mutual_K_W) * loss_W(figures, other_half(*package, ref));
}

namespace {

/// Of every part with an R_th what `stages_W` makes of its loss, and the other half's of its
/// package.
template <class StagesW>
void heat_junctions(const Design& d, const StagesW& stages_W, Temperatures& t) {
  for (const Place& p : d.wiring.places) {
    const auto part = d.parts.find(p.role);
    if (part == d.parts.end()) continue;
    const PartClass* c = find_part_class(part->second.part_class);
    if (!c || figure_index(*c, "rth_ja") < 0) continue;
    double rise_K = without_board_K_W(figure(part->second, "rth_ja")) * stages_W(p.ref);
    if (const SharedPackage* package = shared_by(d, p.ref))
      rise_K += without_board_K_W(package->mutual_K_W) * stages_W(other_half(*package, p.ref));
    t.junction_K[p.ref] = t.board_K + rise_K;
  }
}

Losses losses_of(const Design& d, const RunFigures& figures) {
  Losses out;
  for (const auto& [ref, part] : figures.parts) out.part_W[ref] = loss_W(figures, ref);
  out.board_W = board_loss_W(d, figures), out.windings_W = figures.winding_loss_W;
  return out;
}

/// Of the hotter of each.
void take_hotter(const Temperatures& other, Temperatures& t) {
  t.winding_K = std::max(t.winding_K, other.winding_K);
  t.board_K = std::max(t.board_K, other.board_K);
  for (auto& [ref, T_K] : t.junction_K) T_K = std::max(T_K, other.junction_K.at(ref));
}

}  // namespace

Temperatures heated(const Design& d, double ambient_K, const RunFigures& figures) {
  Temperatures t;
  t.board_K = ambient_K + board_K_W(d.brief.build.board_area_m2) * board_loss_W(d, figures);
  heat_junctions(d, [&](const std::string& ref) { return loss_W(figures, ref); }, t);
  t.winding_K = ambient_K + d.brief.motor.thermal_resistance_K_W * figures.winding_loss_W;
  return t;
}

Temperatures heated_at(const Design& d, double ambient_K, const RunFigures& move, const Rest& rest,
                       double t_s) {
  // Losses of a hold at V/R as they are in copper of another temperature: its own as the current,
  // a switch's as its square.
  double more = 1;
  const auto powers = [&](double move_W, double held_W, double rest_W, double by) {
    return DutyPowers{move_W, held_W * by, rest.let_go ? rest_W : rest_W * by};
  };
  Temperatures t;
  const auto warm_windings = [&] {
    t.winding_K = ambient_K + d.brief.motor.thermal_resistance_K_W *
                                  duty_W(rest.cycle,
                                         powers(move.winding_loss_W, rest.held.windings_W,
                                                rest.resting.windings_W, more),
                                         kMotorStages, t_s);
  };
  warm_windings();
  constexpr int kRounds = 4;  // of a contraction by far below one half
  for (int k = 0; k < kRounds && given(rest.held_winding_K); ++k) {
    more = copper_ratio(rest.held_winding_K) / copper_ratio(t.winding_K);
    warm_windings();
  }
  const double squared = square(more);
  t.board_K = ambient_K + board_K_W(d.brief.build.board_area_m2) *
                              duty_W(rest.cycle,
                                     powers(board_loss_W(d, move), rest.held.board_W,
                                            rest.resting.board_W, squared),
                                     kBoardStage, t_s);
  const auto stages_W = [&](const std::string& ref) {
    return duty_W(rest.cycle,
                  powers(loss_W(move, ref), rest.held.part(ref), rest.resting.part(ref), squared),
                  kPackage, t_s);
  };
  heat_junctions(d, stages_W, t);
  t.moving_W = losses_of(d, move).part_W;
  return t;
}

Temperatures heated(const Design& d, double ambient_K, const RunFigures& move, const Rest* rest) {
  if (!rest) return heated(d, ambient_K, move);
  Temperatures out;
  for (const double t_s : ends_s(rest->cycle)) {
    Temperatures t = heated_at(d, ambient_K, move, *rest, t_s);
    if (t_s == 0.0)
      out = std::move(t);
    else
      take_hotter(t, out);
  }
  return out;
}

std::shared_ptr<const Rest> rest_of(const Design& d, const HeatedRun& held,
                                    const RunFigures* let_go) {
  const std::optional<DutyCycle> cycle = cycle_of(d.brief.motion);
  if (!cycle) return nullptr;
  auto rest = std::make_shared<Rest>();
  rest->cycle = *cycle;
  rest->let_go = let_go != nullptr;
  rest->held = losses_of(d, held.figures);
  rest->resting = let_go ? losses_of(d, *let_go) : rest->held;
  if (!regulated(d.brief)) rest->held_winding_K = held.figures.temperatures.winding_K;
  return rest;
}

namespace {

/// `once` runs at given temperatures; again until they follow from its losses. From `start`, else
/// from ambient.
template <class Once>
HeatedRun until_consistent(const Design& d, double ambient_K, const RunRequest& request,
                           const Temperatures* start, Once once) {
  HeatRounds rounds(d, ambient_K, request.settled_K, request.rest.get(), start);
  while (!rounds.over()) rounds.take(once(rounds.at()));
  return rounds.result();
}

}  // namespace

HeatedRun run_heated(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                     const RunRequest& request, const StopToken& stop, const Temperatures* start) {
  // Where edges have no part in what a chopped move loses, one run with them is enough.
  const bool edges_last = request.on_means && !request.window_by_edge &&
                          (request.plan.moving_states > 1 || request.plan.measured);
  RunRequest rounds = request;
  rounds.losses_only = edges_last;
  if (!request.periods && edges_last) rounds.periods = std::make_shared<PeriodStore>(d, spreads);
  const auto from = [&](const Temperatures* t0) {
    Temperatures last;
    HeatedRun out = until_consistent(d, value_of(spreads, point, "ambient"), request, t0,
                                     [&](const Temperatures& t) {
                                       last = t;
                                       return run(d, spreads, point, t, rounds, stop);
                                     });
    if (!edges_last || out.figures.outcome != Outcome::reached_end) return out;
    RunRequest whole = rounds;
    whole.losses_only = false;
    Temperatures at = std::move(out.figures.temperatures);
    out.figures = run(d, spreads, point, last, whole, stop);
    out.figures.temperatures = std::move(at);
    return out;
  };
  HeatedRun out = from(start);
  // A driver that settles from cold may run away from hotter than it ever gets.
  return start && out.runaway ? from(nullptr) : out;
}

HeatedRun stand_heated(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const RunRequest& request) {
  return until_consistent(
      d, value_of(spreads, point, "ambient"), request, nullptr,
      [&](const Temperatures& t) { return stand(d, spreads, point, t, request); });
}

}  // namespace pb::physics
