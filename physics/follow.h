// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// From state to state of a plan, with an observer for each unit: the same for one unit and for
// several in lockstep. Of physics/run.cpp and physics/run_units.cpp alone.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "physics/observer.h"
#include "physics/run.h"

namespace pb::physics {

/// States between which means are taken: whole electrical cycles, the last ones at the running
/// rate; of a move that never runs at it, the last ones. The first half of the move is left to
/// settle.
struct Window {
  int from = 0, to = 0;
};
Window window_of(const Plan& plan);

/// A unit on its way: what it is made of, what watches it, and what it is like now.
struct Underway {
  System& system;
  Observer& watch;
  const std::vector<double>& x;
  const std::vector<ElementSums>& sums;
};

/// `engine` runs to a time and tells the time; `each` calls a function of every unit. Returns how
/// far it came.
template <class Engine, class Each>
Outcome follow(const Plan& plan, Engine& engine, const Each& each, const StopToken& stop) {
  const Window window = window_of(plan);
  const int last = plan.moving_states - 1;
  auto look = plan.looks.begin();
  Outcome o = engine.run_to(0.0, stop);
  const auto on = [&](double until_s) {
    o = engine.run_to(until_s, stop);
    return o == Outcome::reached_end;
  };
  const auto open = [&] {
    each([&](Underway u) { u.watch.open_window(engine.time_s(), u.sums); });
  };
  const auto close = [&] {
    each([&](Underway u) { u.watch.close_window(engine.time_s(), u.sums); });
  };
  each([&](Underway u) { u.watch.state_begins(u.sums); });
  for (std::size_t k = 0; k < plan.states.size() && o == Outcome::reached_end; ++k) {
    if (static_cast<int>(k) == window.from && last > 0) open();
    if (static_cast<int>(k) == window.to && last > 0) close();
    const double until = k + 1 < plan.states.size() ? plan.states[k + 1].t_s : plan.end_s;
    if (last == 0) {  // standing: the window is the last tenth
      on(mix(plan.states[k].t_s, until, 0.9));
      open();
    }
    for (; o == Outcome::reached_end && look != plan.looks.end() && look->t_s <= until; ++look)
      if (on(look->t_s)) each([&](Underway u) { u.watch.settled(*look, u.x); });
    if (o == Outcome::reached_end) on(until);
    // A chopper that measures has periods of its own: watched_run() ends with a whole one.
    if (last == 0 && !plan.measured) close();
    if (o != Outcome::reached_end) break;
    each([&](Underway u) {
      const double step_rad = kPi / (2.0 * u.system.circuit().rotor.teeth),
                   state_step = 1.0 / plan.per_step;
      RunFigures& out = u.watch.out;
      u.watch.state_over(u.sums);
      if (static_cast<int>(k) <= last) {
        if (plan.looks.empty() && !plan.measured) u.watch.settled(plan.states[k], u.x);
        u.watch.lag(u.x, out.theta0_rad + static_cast<double>(k) * state_step * step_rad);
      }
      if (static_cast<int>(k) == last) {
        const double moved = (u.x[u.system.angle_unknown()] - out.theta0_rad) / step_rad;
        out.steps_made = static_cast<int>(std::lround(moved));
        out.end_error_step = moved - last * state_step;
      }
    });
  }
  return o;
}

/// Extremes count from then on.
inline double watched_from_s(const RunRequest& request) {
  return request.power.in_reset ? -request.plan.settle_s : 0.0;
}
inline TransientOptions options_of(const RunRequest& request) {
  TransientOptions options = within_reason(request.options, request.plan);
  options.peaks_from_s = watched_from_s(request);
  return options;
}

/// Before the run, and after it.
inline void begin_figures(Observer& watch, const System& system, const RunRequest& request) {
  watch.from_s = watched_from_s(request);
  watch.out.theta0_rad = system.circuit().theta0_rad;
}
inline void end_figures(Underway u, const Plan& plan, const Temperatures& temperatures,
                        const Ledger& ledger, long steps) {
  RunFigures& out = u.watch.out;
  const int last = plan.moving_states - 1;
  const double step_rad = kPi / (2.0 * u.system.circuit().rotor.teeth);
  out.steps_commanded = last / plan.per_step;
  out.theta_end_rad = u.x[u.system.angle_unknown()];
  out.output_end_rad = u.watch.at_output(u.x[u.system.load_angle_unknown()] - out.theta0_rad);
  out.settle_error_step =
      (out.theta_end_rad - out.theta0_rad) / step_rad - last * (1.0 / plan.per_step);
  out.ledger = ledger;
  u.watch.close(u.sums);
  out.temperatures = temperatures;
  out.steps = steps;
}

}  // namespace pb::physics
