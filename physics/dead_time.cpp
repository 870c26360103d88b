// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How long a switch takes to let go.
#include <algorithm>
#include <cmath>
#include <limits>

#include "physics/run.h"

namespace pb::physics {

double computed_dead_time(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                          const std::string& sequence) {
  // Chopping hides how long a switch stays on; a winding of more resistance carries the regulated
  // current without. Of microsteps those are enough in which anything changes its sign.
  if (regulated(d.brief)) {
    Design steady = d;
    steady.brief.regulation.kind = "none";
    Point weaker = point;
    for (std::size_t k = 0; k < spreads.size(); ++k)
      if (spreads[k].name == "motor.winding_resistance")
        weaker.value[k] /= std::max(d.brief.motor.winding_resistance_ohm *
                                        regulated_current(d.brief) / d.brief.supply.voltage_V,
                                    1e-3);
    return computed_dead_time(steady, spreads, weaker, sequence == "micro" ? "half" : sequence);
  }
  const bool any = std::any_of(d.wiring.pins.begin(), d.wiring.pins.end(),
                               [](const Pin& p) { return p.off != '-'; });
  if (!any) return 0.0;
  // Move on with the dead time as long as half a state and watch how long each switch that is told
  // to go off stays on.
  Design slow = d;
  slow.brief.motion.start_rate_steps_s = slow.brief.motion.rate_steps_s;
  const double state_s = 1.0 / slow.brief.motion.rate_steps_s / (sequence == "half" ? 2.0 : 1.0);
  const double longest = 0.5 * state_s;
  DriveTable table = drive_table(slow, sequence, longest);
  table.c.releases = 0;
  table.c.hold_ticks = static_cast<std::uint32_t>(0.9 * state_s / table.tick_s);
  Plan plan = plan_move(slow, table, 4);
  plan.rotor_locked = true;
  System system(assemble(d, spreads, point, {}, plan, {}));
  Transient transient(system, within_reason({}, plan));
  double slowest = 0;
  std::size_t state = 0;
  // A channel that could still carry this much at this drive counts as on: a thousandth of an
  // ampere heats nothing.
  constexpr double kOffCurrent_A = 1e-3;
  const auto still_on = [&](const std::string& ref) {
    for (const MosfetElement& m : system.circuit().mosfets)
      if (m.ref == ref) {
        const auto v = [&](int n) { return system.node_voltage(transient.state(), n); };
        return std::abs(
                   channel_current(m.channel, v(m.gate) - v(m.source), m.channel.sign * 1.0).i_A) >
               kOffCurrent_A;
      }
    for (const BipolarElement& q : system.circuit().bipolars)
      if (q.ref == ref) {
        const auto v = [&](int n) { return system.node_voltage(transient.state(), n); };
        return std::abs(bipolar_current(q.transistor, v(q.base) - v(q.emitter), -q.transistor.sign)
                            .ic_A) > kOffCurrent_A;
      }
    return false;
  };
  transient.on_step = [&](double t, const std::vector<double>&) {
    if (state == 0) return;
    const auto& now = plan.states[state].on;
    const double waited = t - plan.states[state].t_s;
    // Once the partner comes on, its edge may lift a gate for an instant: that is another check's.
    if (waited >= longest) return;
    for (const std::string& ref : plan.states[state - 1].on) {
      const bool stays = std::find(now.begin(), now.end(), ref) != now.end();
      if (!stays && still_on(ref)) slowest = std::max(slowest, waited);
    }
  };
  transient.start(-plan.settle_s);
  transient.run_to(0.0);
  for (; state < plan.states.size(); ++state) {
    const double until = plan.states[state].t_s + (state == 0 ? 0.9 * state_s : longest);
    if (transient.run_to(until) != Outcome::reached_end)
      return std::numeric_limits<double>::quiet_NaN();
    if (state + 1 < plan.states.size() &&
        transient.run_to(plan.states[state + 1].t_s) != Outcome::reached_end)
      return std::numeric_limits<double>::quiet_NaN();
  }
  if (slowest > 0.95 * longest) return std::numeric_limits<double>::quiet_NaN();
  const double tick = d.brief.controller.timer_tick_s;
  return std::ceil(1.25 * slowest / tick) * tick;
}

}  // namespace pb::physics
