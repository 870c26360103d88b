// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/plan.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace pb::physics {
namespace {

/// Long enough for currents (L/R) and for any gate behind 100 kohm and 1 nF to come to rest.
double settling_time(const MotorBrief& m) {
  return 12.0 * m.winding_inductance_H / m.winding_resistance_ohm + 1e-3;
}

std::string levels_before(const Template& t) { return std::string(t.pins.size(), 'z'); }

}  // namespace

std::vector<std::string> flows_of(const std::string& sequence) {
  if (sequence == "two-phase") return {"++", "-+", "--", "+-"};
  if (sequence == "one-phase") return {"+0", "0+", "-0", "0-"};
  if (sequence == "half") return {"+0", "++", "0+", "-+", "-0", "--", "0-", "+-"};
  return {};
}

bool find_state(const Template& t, const std::string& flow, PlannedState& out) {
  out.flow = flow;
  out.levels = levels_before(t);
  out.on.clear();
  for (const DriveGroup& g : t.groups) {
    std::string want;
    for (char w : g.windings) want += w == 'a' ? flow[0] : flow[1];
    const auto s = std::find_if(g.states.begin(), g.states.end(),
                                [&](const DriveState& x) { return x.flow == want; });
    if (s == g.states.end()) return false;
    for (std::size_t k = 0; k < g.pins.size(); ++k) {
      const Pin* pin = find_pin(t, g.pins[k]);
      PB_CHECK(pin != nullptr, g.pins[k]);
      out.levels[static_cast<std::size_t>(pin - t.pins.data())] = s->levels[k];
    }
    out.on.insert(out.on.end(), s->on.begin(), s->on.end());
  }
  return true;
}

bool supports(const Template& t, const std::string& sequence) {
  PlannedState ignored;
  const auto flows = flows_of(sequence);
  return !flows.empty() && std::all_of(flows.begin(), flows.end(), [&](const std::string& f) {
    return find_state(t, f, ignored);
  });
}

double state_time(const MotionBrief& m, int k, int states_per_step) {
  // Constant acceleration from the start rate v0: steps made n(t) = v0 t + a t^2/2 up to the
  // running rate, then linear.
  const double n = static_cast<double>(k) / states_per_step, v0 = start_rate(m),
               v1 = m.rate_steps_s;
  if (v0 >= v1) return n / v1;
  const double a = m.ramp_steps_s2, ramp_steps = (v1 * v1 - v0 * v0) / (2.0 * a);
  if (n <= ramp_steps) return (std::sqrt(v0 * v0 + 2.0 * a * n) - v0) / a;
  return (v1 - v0) / a + (n - ramp_steps) / v1;
}

Plan plan_move(const Design& d, const std::string& sequence, int steps, double dead_time_s,
               double hold_s, double release_s) {
  Plan p;
  const auto flows = flows_of(sequence);
  PB_CHECK(!flows.empty(), sequence);
  const int per_step = sequence == "half" ? 2 : 1;
  p.steps_per_state_x2 = 2 / per_step;
  p.settle_s = settling_time(d.brief.motor);
  p.dead_time_s = dead_time_s;
  p.moving_states = steps * per_step + 1;  // N states make N-1 steps
  const double tick = d.brief.controller.timer_tick_s;
  for (int k = 0; k < p.moving_states; ++k) {
    PlannedState s;
    PB_CHECK(find_state(d.wiring, flows[k % flows.size()], s), flows[k % flows.size()]);
    s.t_s = std::round(state_time(d.brief.motion, k, per_step) / tick) * tick;
    p.states.push_back(std::move(s));
  }
  double t = p.states.back().t_s + hold_s;
  if (release_s > 0) {
    PlannedState s;
    if (d.settings.stop == "brake" && find_state(d.wiring, "bb", s)) {
      s.t_s = t;
      p.states.push_back(s);
      t += release_s;
    }
    if (find_state(d.wiring, "00", s)) {
      s.t_s = t;
      p.states.push_back(s);
      t += release_s;
    }
  }
  p.end_s = t;
  return p;
}

Plan plan_hold(const Design& d, const std::string& flow, double hold_s) {
  Plan p;
  PlannedState s;
  PB_CHECK(find_state(d.wiring, flow, s), flow);
  s.t_s = 0;
  p.states.push_back(s);
  p.settle_s = settling_time(d.brief.motor);
  p.moving_states = 1;
  p.end_s = hold_s;
  p.rotor_locked = true;
  return p;
}

}  // namespace pb::physics
