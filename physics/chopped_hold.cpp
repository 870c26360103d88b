// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/chopped_hold.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "physics/drive_table.h"
#include "physics/heat.h"
#include "physics/heat_rounds.h"
#include "physics/period_means.h"
#include "physics/system.h"

namespace pb::physics {
namespace {

/// Far below what a period at one current can tell of the junctions. [K]
constexpr double kSettled_K = 1.0;

bool drives_alike(const DriveTable& t) {
  const std::string& flow = t.flows.front();
  return flow.find_first_not_of("+-") == std::string::npos && t.on_a.front() == t.on_b.front();
}

RunFigures figures_of(const SimulatedPeriod& period, const std::vector<ElementName>& names) {
  RunFigures out;
  for (std::size_t e = 0; e < names.size(); ++e)
    out.parts[names[e].ref].loss_W += period.element[e].loss_W;
  out.winding_loss_W = out.parts["winding_a"].loss_W + out.parts["winding_b"].loss_W;
  return out;
}

std::array<HeldDrive, 2> both(const DriveTable& t, double duty, double held_A) {
  const auto one = [&](char sign) { return HeldDrive{sign, duty, sign == '+' ? held_A : -held_A}; };
  return {one(t.flows.front()[0]), one(t.flows.front()[1])};
}

/// The last tenth of this is many cycles, and all of it many times what a current takes to rise.
constexpr double kMeasuredHold_s = 4e-3;

double hottest_K(const Temperatures& t) {
  double out = t.winding_K;
  for (const auto& [ref, T_K] : t.junction_K) out = std::max(out, T_K);
  return out;
}

}  // namespace

namespace {

HeatedRun hold_measured(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                        const DriveTable& table, const StopToken& stop) {
  RunRequest r;
  r.plan = plan_hold(d, table, kMeasuredHold_s);
  r.on_means = std::make_shared<const DriveTable>(table);
  r.losses_only = true;
  r.settled_K = kSettled_K;
  return run_heated(d, spreads, point, r, stop);
}

}  // namespace

HeatedRun hold_chopped(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                       const DriveTable& table, const StopToken& stop) {
  if (!table.reference_a.empty()) {
    HeatedRun out = hold_measured(d, spreads, point, table, stop);
    out.runaway = out.runaway && hottest_K(out.figures.temperatures) > kMelted_K;
    return out;
  }
  if (!drives_alike(table)) return {};
  constexpr int kMost = 5;
  constexpr double kNear = 0.02;  // of the current: a tenth of what is made of the heat
  const double ohms = value_of(spreads, point, "motor.winding_resistance");
  const double duty = table.on_a.front() / double(table.c.chop.period);
  double held_A = duty * value_of(spreads, point, "supply.voltage") / ohms;
  std::vector<ElementName> names;
  HeatRounds rounds(d, value_of(spreads, point, "ambient"), kSettled_K, nullptr, nullptr);
  while (!rounds.over()) {
    const Temperatures& at = rounds.at();
    const PeriodAt here{d,
                        spreads,
                        point,
                        at,
                        table.tick_s,
                        table.tick_s * table.c.dead_ticks,
                        table.tick_s * table.c.chop.period};
    SimulatedPeriod period;
    bool near = false;
    for (int k = 0; k < kMost && !near; ++k) {
      if (stop.stop_requested()) return {};
      period = simulated_period(here, both(table, duty, held_A), 0);
      if (period.element.empty()) return {};
      const double follows_A = std::abs(period.volts) / (ohms * copper_ratio(at.winding_K));
      near = std::abs(follows_A - held_A) < kNear * held_A;
      held_A = follows_A;
    }
    if (!near) return {};
    if (names.empty())
      names = System(assemble(d, spreads, point, at, plan_hold(d, table, 0), {})).names;
    rounds.take(figures_of(period, names));
  }
  HeatedRun out = rounds.result();
  // Rounds that do not settle say nothing; only what melts does.
  out.runaway = out.runaway && hottest_K(out.figures.temperatures) > kMelted_K;
  return out;
}

}  // namespace pb::physics
