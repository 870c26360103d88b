// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/run_units.h"

#include <algorithm>
#include <memory>

#include "base/check.h"
#include "physics/follow.h"
#include "physics/heat_rounds.h"
#include "physics/lockstep.h"

namespace pb::physics {
namespace {

/// One unit of a lockstep run: its own circuit, observer and copy of what it is like now.
struct Rider {
  Rider(const Design& d, const Circuit& c, const RunRequest& request)
      : system(c),
        watch(d, system, request.record),
        x(static_cast<std::size_t>(system.size()), 0.0),
        sums(system.names.size()) {
    begin_figures(watch, system, request);
  }
  Underway underway() { return {system, watch, x, sums}; }

  System system;
  Observer watch;
  std::vector<double> x;
  std::vector<ElementSums> sums;
};

class Engine {
 public:
  explicit Engine(Lockstep& lockstep) : lockstep_(lockstep) {}
  Outcome run_to(double t_end_s, const StopToken& stop) { return lockstep_.run_to(t_end_s, stop); }
  double time_s() const { return lockstep_.time_s(); }

 private:
  Lockstep& lockstep_;
};

using Rests = std::span<const std::shared_ptr<const Rest>>;

/// The request as it is for one unit.
RunRequest of_unit(const RunRequest& request, Rests rests, std::size_t unit) {
  RunRequest own = request;
  if (!rests.empty()) own.rest = rests[unit];
  return own;
}

/// Empty if these units cannot run in lockstep, or do not reach the end that way.
std::vector<RunFigures> together(const Design& d, const std::vector<Spread>& spreads,
                                 std::span<const Point> points, std::span<const Temperatures> at,
                                 const RunRequest& request, const StopToken& stop, Rests rests) {
  if (points.size() != kLanes || request.on_means || request.plan.measured) return {};
  const Plan& plan = request.plan;
  std::vector<std::unique_ptr<Rider>> riders;
  std::array<System*, kLanes> systems{};
  for (std::size_t k = 0; k < points.size(); ++k) {
    Circuit c = assemble(d, spreads, points[k], at[k], plan, request.power);
    if (request.alter) request.alter(c);
    riders.push_back(std::make_unique<Rider>(d, c, request));
    systems[k] = &riders[k]->system;
  }
  const std::unique_ptr<Lockstep> run = lockstep(systems, options_of(request));
  if (!run) return {};
  for (const PlannedState& s : plan.states) run->landings_s.push_back(s.t_s);
  run->start(-plan.settle_s);
  std::array<double, kLanes> ambient_K{};
  for (std::size_t k = 0; k < points.size(); ++k)
    ambient_K[k] = value_of(spreads, points[k], "ambient");
  const auto show = [&](int unit) -> Rider& {
    Rider& r = *riders[static_cast<std::size_t>(unit)];
    run->show(unit, r.x, r.system, r.sums);
    return r;
  };
  std::array<StageDecay, kLanes> stages;
  if (!request.motion_only)
    run->on_step = [&](int unit, double t) {
      const auto k = static_cast<std::size_t>(unit);
      Rider& r = show(unit);
      r.watch.step(t, r.x, r.sums);
      r.watch.warm(t, r.sums, at[k], ambient_K[k], stages[k]);
    };
  Engine engine(*run);
  const auto each = [&](const auto& visit) {
    for (int k = 0; k < kLanes; ++k) visit(show(k).underway());
  };
  if (follow(plan, engine, each, stop) != Outcome::reached_end) return {};
  std::vector<RunFigures> out;
  for (std::size_t k = 0; k < riders.size(); ++k) {
    end_figures(riders[k]->underway(), plan, at[k], run->ledger(static_cast<int>(k)),
                run->accepted());
    RunFigures& f = riders[k]->watch.out;
    if (!request.outside_power) doubt(f);
    const bool alone = f.outcome == Outcome::unbalanced;
    out.push_back(alone
                      ? physics::run(d, spreads, points[k], at[k], of_unit(request, rests, k), stop)
                      : std::move(f));
  }
  return out;
}

}  // namespace

std::vector<RunFigures> run_units(const Design& d, const std::vector<Spread>& spreads,
                                  std::span<const Point> points, std::span<const Temperatures> at,
                                  const RunRequest& request, const StopToken& stop, Rests rests) {
  PB_CHECK(points.size() == at.size(), points.size(), at.size());
  PB_CHECK(rests.empty() || rests.size() == points.size(), rests.size(), points.size());
  std::vector<RunFigures> out = together(d, spreads, points, at, request, stop, rests);
  if (!out.empty()) return out;
  for (std::size_t k = 0; k < points.size(); ++k)
    out.push_back(run(d, spreads, points[k], at[k], of_unit(request, rests, k), stop));
  return out;
}

std::vector<HeatedRun> run_units_heated(const Design& d, const std::vector<Spread>& spreads,
                                        std::span<const Point> points, const RunRequest& request,
                                        const StopToken& stop, std::span<const Temperatures> start,
                                        Rests rests) {
  std::vector<HeatRounds> rounds;
  rounds.reserve(points.size());
  for (std::size_t k = 0; k < points.size(); ++k)
    rounds.emplace_back(d, value_of(spreads, points[k], "ambient"), request.settled_K,
                        rests.empty() ? request.rest.get() : rests[k].get(), &start[k]);
  const auto over = [](const HeatRounds& r) { return r.over(); };
  while (!std::all_of(rounds.begin(), rounds.end(), over)) {
    // Units that have settled go along, so that the others' steps stay what they were.
    std::vector<Temperatures> at;
    at.reserve(rounds.size());
    for (const HeatRounds& r : rounds) at.push_back(r.at());
    std::vector<RunFigures> figures = run_units(d, spreads, points, at, request, stop, rests);
    for (std::size_t k = 0; k < rounds.size(); ++k)
      if (!rounds[k].over()) rounds[k].take(std::move(figures[k]));
  }
  std::vector<HeatedRun> out;
  for (std::size_t k = 0; k < rounds.size(); ++k) {
    out.push_back(rounds[k].result());
    // A driver that settles from cold may run away from hotter than it ever gets.
    if (out[k].runaway)
      out[k] = run_heated(d, spreads, points[k], of_unit(request, rests, k), stop);
  }
  return out;
}

}  // namespace pb::physics
