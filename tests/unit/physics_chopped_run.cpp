// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A hold on means over its periods against every edge, and the means against duty and drops.
// Moves: tests/slow/chopped_run.cpp.
#include "physics/chopped_run.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "files/toml_brief.h"
#include "physics/held_state.h"
#include "physics/mean_drive.h"
#include "tests/rigs/chopped.h"
#include "tests/unit/files_samples.h"

namespace pb::physics {
namespace {

Design chopped_by(const std::string& part_class, const std::string& decay,
                  const std::string& sequence) {
  return rigs::chopped(read_brief("least.toml", test::kLeastBrief)->brief, test::kRoot.string(),
                       part_class, decay, sequence);
}

void near(double value, double expected, double share, const std::string& what) {
  EXPECT_NEAR(value, expected, share * std::abs(expected)) << what;
}

TEST(PhysicsChoppedRun, HoldIsThatOfEveryEdge) {
  Design d = chopped_by("bridge-chip", "slow", "two-phase");
  d.brief.motion.hold = "reduced";
  const DriveTable table = holding_table(d, "++", 0);
  RunRequest r;
  r.plan = plan_hold(d, table, 10e-3);
  const RunFigures all = rigs::by_edges(d, r), few = rigs::by_means(d, r, table);
  ASSERT_EQ(few.outcome, Outcome::reached_end) << few.trouble;
  near(few.winding_a.rms_A, all.winding_a.rms_A, 0.01, "a");
  near(few.winding_b.rms_A, all.winding_b.rms_A, 0.01, "b");
  near(few.winding_loss_W, all.winding_loss_W, 0.02, "windings");
  near(few.supply_mean_A, all.supply_mean_A, 0.03, "supply");
}

TEST(PhysicsChoppedRun, MeanVoltageIsDutyTimesSupplyLessDrops) {
  Design d = chopped_by("bridge-chip", "slow", "two-phase");
  d.brief.motion.hold = "reduced";  // so that two duties are simulated
  const auto spreads = spreads_of(d);
  const Point point = typical(spreads);
  const Temperatures cold;
  const DriveTable table = drive_table(d, "two-phase", 0);
  const StopToken stop;
  const PeriodPoints points(d, spreads, point, cold, table, 0.25);
  const PeriodMeans m(points, stop);
  double ohms = 0;
  for (const auto& [role, part] : d.parts)
    if (part.part_class == "bridge-chip") ohms = figure(part, "on_resistance_typ");
  for (const double duty : {0.05, 0.0625, 0.125})
    for (const double i : {0.2, 0.4})
      for (const bool forward : {true, false})
        EXPECT_NEAR(m.volts(m.between(0, forward, duty, i)), duty * 24 - i * ohms, 0.04)
            << duty << ' ' << i;
}

/// A design, and what its periods are asked for with.
struct Asked {
  explicit Asked(Design design)
      : d(std::move(design)),
        spreads(spreads_of(d)),
        point(typical(spreads)),
        table(drive_table(d, d.settings.sequence, 0)) {}
  PeriodAt at() const {
    return {d, spreads, point, cold, table.tick_s, 0, table.tick_s * table.c.chop.period};
  }
  double duty() const { return table.on_a.front() / double(table.c.chop.period); }

  const Design d;
  const std::vector<Spread> spreads;
  const Point point;
  const Temperatures cold;
  const DriveTable table;
};

// Each single run is held against every edge elsewhere; in lockstep steps fall differently.
TEST(PhysicsChoppedRun, PeriodsTogetherAreThoseOfEachAlone) {
  for (const auto& [part_class, decay] :
       {std::pair("bridge-chip", "slow"), {"p-mosfet", "diode"}}) {
    const Asked a(chopped_by(part_class, decay, "two-phase"));
    const std::vector<double> currents_A{-0.5, -0.2, -0.02, 0.05, 0.2, 0.4, 0.6};
    std::array<HeldDrive, 2> held{HeldDrive{'+', a.duty(), 0}, HeldDrive{'+', a.duty(), 0.4}};
    const auto together = simulated_periods(a.at(), held, 0, currents_A);
    ASSERT_EQ(together.size(), currents_A.size());
    for (std::size_t k = 0; k < currents_A.size(); ++k) {
      held[0].i_A = currents_A[k];
      const SimulatedPeriod alone = simulated_period(a.at(), held, 0);
      ASSERT_EQ(together[k].element.size(), alone.element.size());
      EXPECT_NEAR(together[k].volts, alone.volts, 0.01) << part_class << currents_A[k];
      for (std::size_t e = 0; e < alone.element.size(); ++e)
        EXPECT_NEAR(together[k].element[e].loss_W, alone.element[e].loss_W,
                    0.02 * alone.element[e].loss_W + 1e-3)
            << part_class << ' ' << currents_A[k] << ' ' << e;
    }
  }
}

TEST(PhysicsChoppedRun, PeriodsDoNotDependOnWhichIsAskedForFirst) {
  const Asked a(chopped_by("bridge-chip", "slow", "two-phase"));
  const StopToken stop;
  const PeriodPoints one(a.d, a.spreads, a.point, a.cold, a.table, 0.25),
      other(a.d, a.spreads, a.point, a.cold, a.table, 0.25);
  const auto same = [](const SimulatedPeriod& x, const SimulatedPeriod& y) {
    ASSERT_FALSE(x.element.empty());
    ASSERT_EQ(x.element.size(), y.element.size());
    EXPECT_EQ(x.volts, y.volts);
    for (std::size_t e = 0; e < x.element.size(); ++e)
      EXPECT_EQ(x.element[e].loss_W, y.element[e].loss_W);
  };
  const std::size_t early = one.index_of(0, 0, 1), late = one.index_of(0, 0, 6),
                    back = one.index_of(3, 0, 4);
  one.usual(0, stop), one.at(early, stop), one.at(back, stop);
  other.at(back, stop), other.at(late, stop);
  for (const std::size_t k : {early, late, back}) same(one.at(k, stop), other.at(k, stop));
  same(one.usual(0, stop), other.usual(0, stop));
  // It is that of its own, beside the seven currents of a row.
  const double duty = a.duty();
  const SimulatedPeriod alone =
      simulated_period(a.at(), {HeldDrive{'+', duty, 0.25}, HeldDrive{'+', duty, 0.25}}, 0);
  EXPECT_NEAR(one.usual(0, stop).volts, alone.volts, 0.01);
}

TEST(PhysicsChoppedRun, HeldStatesOneAfterAnotherAreThoseOfEachAlone) {
  const Asked a(chopped_by("p-mosfet", "diode", "two-phase"));
  const Circuit c = assemble(a.d, a.spreads, a.point, a.cold, plan_hold(a.d, a.table, 0), {});
  HeldCircuit held(c);
  for (const double i_A : {-0.5, 0.3, -0.1}) {
    const MotorState state{0, {i_A, 0.4}, 2.0, c.theta0_rad};
    const std::vector<double> next = held.at(state), alone = at_state(c, state);
    ASSERT_FALSE(alone.empty());
    ASSERT_EQ(next.size(), alone.size());
    for (std::size_t k = 0; k < next.size(); ++k) EXPECT_NEAR(next[k], alone[k], 1e-3) << k;
  }
}

// A triangle from -1/2 to 1/2 of V D (1 - D) T / L, rising while the winding is driven; winding b's
// periods begin half a period later.
TEST(PhysicsChoppedRun, CurrentLiesAboutItsMeanAsATriangle) {
  const Asked a(chopped_by("bridge-chip", "slow", "two-phase"));
  const Circuit c = assemble(a.d, a.spreads, a.point, a.cold, plan_hold(a.d, a.table, 0), {});
  const double T = a.table.tick_s * a.table.c.chop.period,
               ripple = 24 * 0.25 * 0.75 * T / c.windings[0].inductance_H;
  EXPECT_NEAR(ripple_A(c, a.table, 24, 0, 0.25), ripple, 1e-9);
  const auto above = [&](std::size_t w, double periods) {
    return above_mean_A(c, a.table, 24, w, 0.25, periods * T) / ripple;
  };
  EXPECT_NEAR(above(0, 3.0), -0.5, 1e-6);
  EXPECT_NEAR(above(0, 3.25), 0.5, 1e-6);
  EXPECT_NEAR(above(0, 3.625), 0.0, 1e-6);
  EXPECT_NEAR(above(1, 3.5), -0.5, 1e-6);
  EXPECT_EQ(above_mean_A(c, a.table, 24, 0, 1.0, 0.3 * T), 0.0);
}

TEST(PhysicsChoppedRun, RailIsLiftedByWhatLiesAcrossIt) {
  Circuit c;
  c.nodes.push_back({"ground", true, {{0.0}, {0.0}}});
  const int rail = c.add_node(kRail), inside = c.add_node("inside"), out = c.add_node("out");
  c.resistors.push_back({"bulk", rail, inside, 2.0});
  c.capacitors.push_back({"bulk", inside, 0, 100e-6});
  c.capacitors.push_back({"small", rail, 0, 1e-6});
  c.capacitors.push_back({"elsewhere", out, 0, 1e-3});
  c.capacitors.push_back({"between", rail, out, 1e-3});
  EXPECT_NEAR(mean_rail(c, 24, false).capacitance_F, 101e-6, 1e-8);
  ASSERT_EQ(mean_rail(c, 24, false).bulk.size(), 1U);
  EXPECT_NEAR(mean_rail(c, 24, false).bulk[0].share, 100.0 / 101.0, 1e-4);
  EXPECT_EQ(mean_rail(c, 24, false).most_lift_V, 24.0);
  EXPECT_EQ(mean_rail(c, 24, true).capacitance_F, HUGE_VAL);
  c.diodes.push_back({"clamp", 0, rail, {}, 30.0, {}});
  EXPECT_NEAR(mean_rail(c, 24, false).most_lift_V, 6.0, 1e-12);
}

// Ohm's law of a held rotor: long against L/R, the mean current is the mean voltage over R.
TEST(PhysicsChoppedRun, IdealCurrentOfAHoldIsItsDutysShareOverR) {
  const Asked a(chopped_by("bridge-chip", "slow", "two-phase"));
  const DriveTable table = holding_table(a.d, "++", 0);
  const Plan plan = plan_hold(a.d, table, 0.2);
  const Circuit c = assemble(a.d, a.spreads, a.point, a.cold, plan, {});
  const double volts = table.on_a.front() / double(table.c.chop.period) * 24;
  near(ideal_rms_A(c, plan, table, 24), volts / c.windings[0].resistance_ohm, 0.01, "rms");
}

}  // namespace
}  // namespace pb::physics
