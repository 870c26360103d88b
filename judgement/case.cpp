// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/case.h"

#include <algorithm>
#include <cmath>

#include "physics/chopped_run.h"
#include "physics/period_means.h"

namespace pb {

using namespace physics;

DriveTable table_of(const Case& c, const Design& d) {
  DriveTable table = drive_table(d, d.settings.sequence, c.dead_time_s);
  if (c.drive_edit) c.drive_edit(table);
  return table;
}

Plan planned(const Case& c, const Design& d, const DriveTable& table) {
  Plan plan = plan_move(d, table, c.steps);
  plan.left_out_steps = d.brief.motion.move_steps - c.steps;
  return plan;
}

std::string hold_flow_of(const std::string& sequence) {
  const auto flows = flows_of(sequence);
  std::string out;
  if (sequence == "micro") return flows.front();  // of all, the one with a winding at its peak
  for (const std::string& f : flows)
    if (out.empty() || (f.find('0') == std::string::npos && out.find('0') != std::string::npos))
      out = f;
  return out;
}

namespace {

/// The driver with all its switches off, as cold as its surroundings; nothing where the wiring has
/// no such state, or it is not found.
std::optional<RunFigures> let_go(const Case& c, const Point& point) {
  constexpr double kStands_s = 2e-3;
  const std::string kOff = "00";
  PlannedState ignored;
  if (!find_state(c.design.wiring, kOff, ignored)) return std::nullopt;
  RunRequest r;
  r.plan = plan_hold(c.design, standing_table(c.design, kOff, 0.0), kStands_s);
  Temperatures cold;
  cold.winding_K = value_of(c.spreads, point, "ambient");
  RunFigures out = stand(c.design, c.spreads, point, cold, r);
  return out.outcome == Outcome::reached_end ? std::optional(std::move(out)) : std::nullopt;
}

}  // namespace

std::shared_ptr<const Rest> rest_of(const Case& c, const Point& point, const HeatedRun& held) {
  const MotionBrief& m = c.design.brief.motion;
  if (!cycle_of(m)) return nullptr;
  const std::optional<RunFigures> off = m.hold == "off" ? let_go(c, point) : std::nullopt;
  return physics::rest_of(c.design, held, off ? &*off : nullptr);
}

Case case_of(const Design& d) {
  Case c{d, spreads_of(d), 0.0, 16, hold_flow_of(d.settings.sequence)};
  // The ramps up and down and three electrical cycles at the running rate, as far as the brief's
  // own move goes; not more than 480 steps.
  const MotionBrief& m = d.brief.motion;
  const double v0 = start_rate(m),
               ramp = v0 < m.rate_steps_s
                          ? (square(m.rate_steps_s) - square(v0)) / (2.0 * m.ramp_steps_s2)
                          : 0.0;
  c.steps = static_cast<int>(std::clamp(2.0 * std::ceil(ramp) + 12.0, 12.0, 480.0));
  c.steps = std::max(4, std::min(c.steps, static_cast<int>(m.move_steps)));
  if (has_means(d)) c.periods = std::make_shared<PeriodStore>(d, c.spreads);
  return c;
}

double dead_time_of(const Case& c) {
  if (given(c.design.settings.dead_time_s)) return c.design.settings.dead_time_s;
  return computed_dead_time(c.design, c.spreads, typical(c.spreads), c.design.settings.sequence);
}

Plan move_plan(const Case& c) { return planned(c, c.design, table_of(c, c.design)); }

}  // namespace pb
