// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Driver chips: the truth table, no leg ever short, slopes against differences; and whole runs of
// every template with a chip against Ohm's law, the closed form of self-heating and the ledger.
#include "physics/devices/bridge_chip.h"

#include <cmath>

#include <gtest/gtest.h>

#include "judgement/checks.h"
#include "physics/run.h"
#include "tests/unit/delivery_samples.h"

namespace pb::physics {
namespace {

constexpr BridgeChip kChip{2.5, 1.4, 2.4, 2e-3};
constexpr BridgeChip kGates{2.5, 1.4, 2.4, 2e-3, 0.0, 0.0, 1.0};

// The table of bridge_chip.h (common practice of chips with two inputs a bridge, no source).
TEST(BridgeChip, FollowsItsTruthTable) {
  const struct {
    double in1, in2, high1, low1, high2, low2;
  } rows[] = {{0, 0, 0, 0, 0, 0}, {3, 0, 1, 0, 0, 1}, {0, 3, 0, 1, 1, 0}, {3, 3, 0, 1, 0, 1}};
  for (const auto& r : rows) {
    const BridgeSwitches<double> s = bridge_switches<double>(kChip, 12, r.in1, r.in2);
    EXPECT_EQ(s.on[0], r.high1) << r.in1 << r.in2;
    EXPECT_EQ(s.on[1], r.low1) << r.in1 << r.in2;
    EXPECT_EQ(s.on[2], r.high2) << r.in1 << r.in2;
    EXPECT_EQ(s.on[3], r.low2) << r.in1 << r.in2;
    for (double on : bridge_switches<double>(kChip, 2.2, r.in1, r.in2).on)
      EXPECT_EQ(on, 0);  // locked out
  }
}

// What a logic buffer is: its output is at the supply while its input is high, else at ground.
TEST(BridgeChip, GatesFollowTheirInputs) {
  for (const double in1 : {0.0, 3.0})
    for (const double in2 : {0.0, 3.0}) {
      const BridgeSwitches<double> s = bridge_switches<double>(kGates, 5, in1, in2);
      EXPECT_EQ(s.on[0], in1 > 2 ? 1 : 0) << in1 << in2;
      EXPECT_EQ(s.on[1], in1 > 2 ? 0 : 1) << in1 << in2;
      EXPECT_EQ(s.on[2], in2 > 2 ? 1 : 0) << in1 << in2;
      EXPECT_EQ(s.on[3], in2 > 2 ? 0 : 1) << in1 << in2;
      for (double on : bridge_switches<double>(kGates, 2.2, in1, in2).on) EXPECT_EQ(on, 0);
    }
}

class BridgeChipOfEitherKind : public testing::TestWithParam<BridgeChip> {};
INSTANTIATE_TEST_SUITE_P(Kinds, BridgeChipOfEitherKind, testing::Values(kChip, kGates));

TEST_P(BridgeChipOfEitherKind, NoLevelsOfTheInputsShortALeg) {
  int partly = 0;
  for (double in1 = 1.2; in1 < 1.6; in1 += 0.01)
    for (double in2 = 1.2; in2 < 1.6; in2 += 0.01) {
      const BridgeSwitches<double> s = bridge_switches<double>(GetParam(), 12, in1, in2);
      EXPECT_EQ(s.on[0] * s.on[1], 0) << in1 << ' ' << in2;
      EXPECT_EQ(s.on[2] * s.on[3], 0) << in1 << ' ' << in2;
      for (double on : s.on) partly += on > 0 && on < 1;
    }
  EXPECT_GT(partly, 100);  // the sweep did cross the levels where switches go over
}

TEST_P(BridgeChipOfEitherKind, SlopesAreThoseOfTheCurrents) {
  // supply, ground, in1, in2, out1, out2; around every kind of crossing
  const double points[][kBridgeTerminals] = {{12, 0, 3, 0, 11, 1},
                                             {12, 0.1, 1.45, 0.2, 9, 1},
                                             {12, 0, 1.42, 1.38, 5, 7},
                                             {2.42, 0, 1.45, 0, 1, 1},
                                             {0.3, 0, 3, 0, 0, 0}};
  for (const auto& at : points)
    for (int u = 0; u < kBridgeTerminals; ++u) {
      constexpr double kStep_V = 1e-6;
      double up[kBridgeTerminals], down[kBridgeTerminals];
      std::copy(std::begin(at), std::end(at), up);
      std::copy(std::begin(at), std::end(at), down);
      up[u] += kStep_V, down[u] -= kStep_V;
      const BridgeCurrent here = bridge_current(GetParam(), at), a = bridge_current(GetParam(), up),
                          b = bridge_current(GetParam(), down);
      double sum = 0;
      for (int t = 0; t < kBridgeTerminals; ++t) {
        const double slope = (a.i_A[t] - b.i_A[t]) / (2 * kStep_V);
        EXPECT_NEAR(here.g_S[t][u], slope, 1e-6 * (1 + std::abs(slope))) << t << ' ' << u;
        sum += here.i_A[t];
      }
      EXPECT_NEAR(sum, 0, 1e-12);  // what goes in comes out
    }
}

/// Every template with a driver chip, on a stiff supply of 5 V.
std::vector<Design> chip_designs() {
  std::vector<Design> out;
  for (const Template& t : test::all_templates()) {
    const bool chip = std::any_of(t.roles.begin(), t.roles.end(), [](const Role& r) {
      return is_driver_chip(*find_part_class(r.part_class));
    });
    if (!chip) continue;
    out.push_back(test::design_of(t, false));
    out.back().brief.supply.resistance_ohm = 1e-4;
    out.back().brief.supply.can_sink = "yes";  // no diode in it
    out.back().brief.motor.winding_resistance_ohm = 20;
    out.back().settings.sequence = "two-phase";
    out.back().settings.stop = "coast";
  }
  EXPECT_GE(out.size(), 2u);
  return out;
}

const Part& chip_of(const Design& d) {
  for (const auto& [role, part] : d.parts)
    if (is_driver_chip(*find_part_class(part.part_class))) return part;
  throw std::runtime_error("no chip");
}

/// What stands between a chip's low switches and ground; 0 where nothing does.
double sense_of(const Design& d) {
  return d.wiring.measures.empty() ? 0.0 : d.settings.value.at("sense");
}

RunRequest standing(const Design& d) {
  RunRequest r;
  r.plan = plan_hold(d, standing_table(d, "++", 0.0), 0.02);
  return r;
}

TEST(BridgeChip, CurrentIsOhmsLaw) {
  for (const Design& d : chip_designs()) {
    const auto spreads = spreads_of(d);
    const RunFigures f = run(d, spreads, typical(spreads), {}, standing(d));
    ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    // At 25 degC throughout: I = V/(R + R_on), R_on high and low switch together.
    const double expected =
        d.brief.supply.voltage_V / (d.brief.motor.winding_resistance_ohm +
                                    figure(chip_of(d), "on_resistance_typ") + sense_of(d));
    EXPECT_NEAR(f.winding_a.peak_A, expected, 2e-4 * expected) << d.wiring.title;
    EXPECT_NEAR(f.winding_b.peak_A, expected, 2e-4 * expected) << d.wiring.title;
  }
}

TEST(BridgeChip, JunctionIsWhereLossAndCoolingMeet) {
  for (const Design& d : chip_designs()) {
    const Part& chip = chip_of(d);
    const auto spreads = spreads_of(d);
    const Point point = typical(spreads);
    const HeatedRun r = run_heated(d, spreads, point, standing(d));
    ASSERT_TRUE(r.consistent);
    // P = n I^2 R_on(T_j) + I_q V + what the pull-downs of the inputs that are high take, with
    // n windings on the package; on 20 cm2 of board, 25 K for each watt of all chips and of what
    // senses, T_j = T_a + 25 K/W P_board + (R_th - 5.741 K/W) P. Solved by iteration, apart from
    // the engine.
    const double ambient_K = value_of(spreads, point, "ambient"), v = d.brief.supply.voltage_V,
                 n = static_cast<double>(find_part_class(chip.part_class)->inputs.size()) / 2,
                 winding_K = r.figures.temperatures.winding_K;
    double T_K = ambient_K;
    for (int k = 0; k < 100; ++k) {
      const double on = figure(chip, "on_resistance_typ") * std::pow(T_K / 298.15, 1.4),
                   winding = d.brief.motor.winding_resistance_ohm * copper_ratio(winding_K),
                   i = v / (winding + on + sense_of(d)),
                   pulls =
                       square(d.brief.controller.logic_voltage_V) / figure(chip, "input_pull_down");
      const double loss_W = n * (i * i * on + pulls) + figure(chip, "quiescent") * v,
                   board_W = 2 / n * loss_W + 2 * i * i * sense_of(d);
      T_K = ambient_K + 25 * board_W + (figure(chip, "rth_ja") - 5.741) * loss_W;
    }
    EXPECT_GT(T_K, ambient_K + 3.0);
    int chips = 0;
    for (const Place& p : d.wiring.places) {
      if (find_role(d.wiring, p.role)->part_class != chip.part_class) continue;
      EXPECT_NEAR(r.figures.temperatures.junction_K.at(p.ref), T_K, 0.02 * (T_K - ambient_K));
      ++chips;
    }
    EXPECT_EQ(chips * n, 2);
  }
}

TEST(BridgeChip, LedgerClosesOverAMoveWithRelease) {
  for (const Design& d : chip_designs()) {
    const auto spreads = spreads_of(d);
    RunRequest r;
    r.plan = plan_move(d, drive_table(d, "two-phase", 0.0), 8);
    const RunFigures f = run(d, spreads, typical(spreads), {}, r);
    ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    EXPECT_EQ(f.steps_made, 8);
    EXPECT_GT(f.ledger.throughput_J, 1e-3);
    EXPECT_LT(std::abs(f.ledger.residual_J()), 1e-3 * f.ledger.throughput_J + 1e-6);
  }
}

std::map<std::string, double> margins(const Design& d, std::string_view id) {
  const Case c = case_of(d);
  EvidenceWanted w;
  w.windows = false;
  const Point p = typical(c.spreads);
  const Evidence e = gather(c, p, w, {});
  std::map<std::string, double> out;
  for (const CheckRow& row : check_rows())
    if (row.id == id)
      for (const Measured& m : row.measure(c, p, e))
        out[m.subject] = margin_of(row.sense, m.value, m.limit);
  return out;
}

TEST(BridgeChip, InputBetweenItsLevelsFails) {
  for (Design d : chip_designs()) {
    const double high = figure(chip_of(d), "input_high_min"),
                 low = figure(chip_of(d), "input_low_max");
    for (const auto& [subject, margin] : margins(d, "gate_drive_on")) EXPECT_GT(margin, 0);
    for (const auto& [subject, margin] : margins(d, "gate_off")) EXPECT_GT(margin, 0);
    d.brief.controller.logic_voltage_V = 0.3 * low + 0.7 * high;  // the typical unit still runs
    int failing = 0;
    for (const auto& [subject, margin] : margins(d, "gate_drive_on")) {
      const bool input = find_switched(d.wiring, subject) && !find_place(d.wiring, subject);
      EXPECT_EQ(margin < 0, input) << subject;
      failing += margin < 0;
    }
    EXPECT_EQ(failing, 4) << d.wiring.title;
  }
}

}  // namespace
}  // namespace pb::physics
