// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/run_requests.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

#include "physics/chopped_run.h"
#include "physics/period_means.h"

namespace pb {

using namespace physics;

namespace {

/// All tolerances of a run, times `share`.
void sharpen(RunRequest& r, double share) {
  TransientOptions& o = r.options;
  for (double* x : {&o.rtol, &o.atol_A, &o.atol_V, &o.atol_rad, &r.settled_K}) *x *= share;
}

}  // namespace

RunRequest move_request(const Case& c, const Design& d, const How& how) {
  RunRequest r;
  sharpen(r, how.tolerance);
  DriveTable table = table_of(c, d);
  r.plan = planned(c, d, table);
  if (has_means(d)) r.on_means = std::make_shared<const DriveTable>(std::move(table));
  r.periods = c.periods;
  r.window_by_edge = how.every_edge;
  return r;
}

RunRequest motion_request(const Case& c, const Design& d, const How& how) {
  RunRequest r = move_request(c, d, how);
  r.motion_only = true;
  if (how.every_edge) r.on_means.reset();
  return r;
}

RunRequest on_latches(const Case& c, RunRequest r) {
  if (!has_means(c.design) || !measures_current(c.design.brief)) return r;
  r.on_means = std::make_shared<const DriveTable>(table_of(c, c.design));
  r.periods = c.periods;
  return r;
}

RunRequest standing_request(const Case& c, const PowerUp& power, double hold_s, double tolerance) {
  RunRequest r;
  sharpen(r, tolerance);
  r.plan = plan_hold(c.design, standing_table(c.design, c.hold_flow, c.dead_time_s), hold_s);
  r.power = power;
  return r;
}

RunRequest holding_request(const Case& c, double tolerance) {
  constexpr double kHold_s = 0.01, kShortHold_s = 0.004;
  RunRequest r;
  sharpen(r, tolerance);
  const DriveTable table = holding_table(c.design, c.hold_flow, c.dead_time_s);
  if (measures_current(c.design.brief)) {
    // Its current is there after L/R ln(V/(V - I R)).
    const MotorBrief& m = c.design.brief.motor;
    const double share = regulated_current(c.design.brief) * m.winding_resistance_ohm /
                         c.design.brief.supply.voltage_V,
                 rise_s = share < 1 ? -m.winding_inductance_H / m.winding_resistance_ohm *
                                          std::log1p(-share)
                                    : kHold_s;
    r.plan = plan_hold(c.design, table, std::clamp(5 * rise_s, kShortHold_s, kHold_s));
    return r;
  }
  // Means are of the last tenth: of a chopped drive whole periods.
  const double tenth_s = table.tick_s * table.c.chop.period;
  const double hold_s = tenth_s > 0 ? 10.0 * tenth_s * std::ceil(0.1 * kHold_s / tenth_s) : kHold_s;
  r.plan = plan_hold(c.design, table, hold_s);
  return r;
}

RunRequest holding_as(const Case& c, const How& how) {
  RunRequest r = holding_request(c, how.tolerance);
  // A hold by duty has its last tenth by edges as it is.
  const bool edges = how.every_edge && measures_current(c.design.brief);
  if (has_means(c.design) && !edges)
    r.on_means =
        std::make_shared<const DriveTable>(holding_table(c.design, c.hold_flow, c.dead_time_s));
  r.periods = c.periods;
  return r;
}

}  // namespace pb
