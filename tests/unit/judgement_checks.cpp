// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Each check can pass and can fail: on a sound design, and on the same design with one thing made
// wrong. And its twin: where the closed form holds, simulation and paper agree.
#include "judgement/checks.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "physics/heat.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

using judgement_samples::at_nominal;
using judgement_samples::followers;
using judgement_samples::full;
using judgement_samples::of;
using judgement_samples::row_of;
using judgement_samples::Studied;

void hot_switch(Design& d) {
  for (const char* figure : {"rds_typ", "rds_max"}) of(d.parts["low_side"], figure) = 10;
  of(d.parts["low_side"], "rds_high_max") = kNotGiven;
  of(d.parts["low_side"], "rth_ja") = 1000;
  of(d.parts["low_side"], "tj_max") = 310;
}
void little_capacitance(Design& d) {
  d.parts.erase("clamp");
  d.settings.stop = "coast";
  of(d.parts["bulk"], "capacitance") = 1e-6;
  for (const char* role : {"bulk", "ceramic"}) of(d.parts[role], "voltage_max") = 8;
}
void ringing_supply(Design& d) {
  little_capacitance(d);
  of(d.parts["bulk"], "esr") = 1e-3;
  d.brief.supply.resistance_ohm = 0.02;
}
void too_fast(Design& d) { d.brief.motion.rate_steps_s = 3000; }

struct Row {
  const char* id;
  void (*spoil)(Design&);
  Design (*base)() = full;
};

const Row kRows[] = {
    {"gate_drive_on", [](Design& d) { d.brief.controller.logic_voltage_V = 5; }},
    {"base_drive_on", [](Design& d) { d.brief.controller.pin_resistance_ohm = 3000; }, followers},
    // A switch that its pin turns on and the state does not mean to.
    {"gate_off", [](Design& d) { d.wiring.groups[0].states[0].on.pop_back(); }},
    {"shoot_through_edge",
     [](Design& d) {
       d.settings.dead_time_s = 0;
       of(d.parts["low_side"], "drain_pulsed") = 0.05;
     }},
    {"shoot_through_reset",
     [](Design& d) {
       d.brief.controller.reset = "pull-up";
       d.brief.controller.reset_pull_resistance_ohm = 1000;
     }},
    // Pins whose order nobody orders: one leg's two switches change in any order.
    {"shoot_through_fault",
     [](Design& d) {
       for (Pin& p : d.wiring.pins) p.off = '-';
       d.settings.dead_time_s = 1e-6;
     }},
    {"partial_supply", [](Design& d) { d.brief.controller.pin_source_current_A = 1e-4; }},
    {"pin_current", [](Design& d) { d.brief.controller.pin_sink_current_A = 1e-3; }},
    {"pin_current_total", [](Design& d) { d.brief.controller.total_current_A = 1e-3; }},
    {"switch_voltage", [](Design& d) { of(d.parts["low_side"], "vds_max") = 5; }},
    {"switch_voltage", [](Design& d) { of(d.parts["high_side"], "veb_max") = 0.5; }, followers},
    {"switch_peak", [](Design& d) { of(d.parts["low_side"], "drain_pulsed") = 0.1; }},
    {"switch_rms", hot_switch},
    {"switch_junction", hot_switch},
    {"switch_soa", hot_switch},
    {"diode_reverse", [](Design& d) { of(d.parts["freewheel"], "vr_max") = 4; }},
    {"diode_current", [](Design& d) { of(d.parts["freewheel"], "if_max") = 1e-6; }},
    {"diode_junction", [](Design& d) { of(d.parts["freewheel"], "tj_max") = 315; }},
    {"clamp_standoff", [](Design& d) { of(d.parts["clamp"], "vz") = 5; }},
    {"clamp_energy",
     [](Design& d) {
       of(d.parts["clamp"], "vz") = 5.2;
       of(d.parts["clamp"], "pulse_energy") = 1e-9;
     }},
    {"clamp_power",
     [](Design& d) {
       of(d.parts["clamp"], "vz") = 4.5;
       of(d.parts["clamp"], "power_max") = 0.01;
     }},
    {"rail_peak", little_capacitance},
    {"rail_dip", [](Design& d) { d.brief.supply.resistance_ohm = 8; }},
    {"hot_plug", ringing_supply},
    {"supply_mean", [](Design& d) { d.brief.supply.current_limit_A = 0.1; }},
    {"supply_peak", [](Design& d) { d.brief.supply.current_limit_A = 0.1; }},
    {"supply_inrush",
     [](Design& d) {
       of(d.parts["bulk"], "capacitance") = 0.02;
       of(d.parts["bulk"], "esr") = 0.05;
       d.brief.supply.current_limit_A = 0.3;
     }},
    {"capacitor_ripple", [](Design& d) { of(d.parts["bulk"], "ripple_max") = 1e-3; }},
    {"capacitor_voltage", [](Design& d) { of(d.parts["bulk"], "voltage_max") = 5; }},
    {"winding_rms", [](Design& d) { d.brief.motor.rated_current_A = 0.05; }},
    {"winding_peak", [](Design& d) { d.brief.motor.saturation_current_A = 0.1; }},
    {"winding_temperature", [](Design& d) { d.brief.motor.thermal_resistance_K_W = 200; }},
    {"torque_margin", [](Design& d) { d.brief.load.torque_Nm = 0.013; }},
    {"start_rate", too_fast},
    {"resonance", too_fast},
    {"lost_steps", too_fast},
    {"end_position", [](Design& d) { d.brief.load.torque_Nm = 0.014; }},
    // With the current gone a weight turns the rotor back.
    {"rest_position",
     [](Design& d) {
       d.brief.load.gravity_torque_Nm = 0.006;
       d.settings.stop = "coast";
     }},
    {"permanent_hold", hot_switch},
    {"resistor_power", [](Design& d) { d.settings.value["pull_down"] = 20; }},
    {"trace", [](Design& d) { d.brief.build.copper_thickness_m = 1e-6; }},
    {"via", [](Design& d) { d.brief.rules.trace_rise_K = 0.01; }},
    {"wire", [](Design& d) { d.brief.motor.winding_resistance_ohm = 1; }},
    {"pins", [](Design& d) { d.brief.controller.pins = 4; }},
    {"cost_target", [](Design& d) { d.brief.build.target_cost = 0.001; }, followers},
};

/// The sound design's runs, once a process.
const Studied& sound_full() {
  static const Studied s(full(), {});
  return s;
}

class EachCheck : public testing::TestWithParam<Row> {};

TEST_P(EachCheck, PassesOnASoundDesignAndFailsOnASpoiltOne) {
  const CheckRow& row = row_of(GetParam().id);
  Design d = GetParam().base();
  const auto sound = at_nominal(d, row);
  EXPECT_FALSE(sound.empty()) << "judges nothing";
  for (const Measured& m : sound)
    EXPECT_GE(margin_of(row.sense, m.value, m.limit), 0)
        << m.subject << ": " << m.value << " against " << m.limit;
  GetParam().spoil(d);
  const auto spoilt = at_nominal(d, row);
  EXPECT_TRUE(
      std::any_of(spoilt.begin(), spoilt.end(),
                  [&](const Measured& m) { return margin_of(row.sense, m.value, m.limit) < 0; }))
      << "nothing fails: " << (spoilt.empty() ? 0.0 : spoilt.front().value);
}

INSTANTIATE_TEST_SUITE_P(All, EachCheck, testing::ValuesIn(kRows), [](const auto& each) {
  const std::string id = each.param.id;
  return each.param.base == followers ? id + "_of_followers" : id;
});

TEST(Checks, EveryIdHasATestAndNoneIsLeft) {
  std::set<std::string> tested;
  for (const Row& r : kRows) tested.insert(r.id);
  for (const CheckRow& row : check_rows())
    EXPECT_TRUE(tested.contains(std::string(row.id))) << row.id;
  EXPECT_TRUE(ids_not_judged().empty());
}

TEST(Checks, ThePageOfChecksIsTheTable) {
  const std::string page = load_text((test::kRoot / "docs/checks.md").string()).value();
  for (const CheckRow& r : check_rows()) {
    const std::string line = "| `" + std::string(r.id) + "` | " +
                             (r.sense == Sense::max ? "at most" : "at least") + " | " +
                             std::string(r.help) + " | " + std::string(r.unit) + " | " +
                             std::string(r.source) + " |\n";
    EXPECT_NE(page.find(line), std::string::npos) << line;
  }
}

// Closed forms that hold for this design at standstill or low rate; the tolerance says how far
// back-EMF, the winding's warming and a pin's sag may pull them apart.
struct Twin {
  const char *id, *subject;
  double tolerance;
};
constexpr Twin kTwins[] = {  // junctions: what resistors make of the board is not on paper
    {"gate_drive_on", "Q2", 0.01},   {"switch_voltage", "Q2 drain", 0.05},
    {"pin_current", "a1h", 0.2},     {"switch_rms", "Q2", 0.2},
    {"switch_junction", "Q2", 0.06}, {"permanent_hold", "Q2", 0.06},
    {"switch_soa", "Q2", 0.06},      {"clamp_standoff", "D9", 0.0},
    {"rail_dip", "rail", 0.01},      {"supply_inrush", "supply", 0.02},
    {"hot_plug", "rail", 0.02},      {"supply_peak", "supply", 0.15},
    {"winding_peak", "a", 0.15},     {"winding_temperature", "windings", 0.3},
    {"resistor_power", "R1", 0.02},  {"wire", "motor and supply leads, AWG 26", 0.3}};

TEST(Checks, TheTightestIsOneACornerCanChangeUnlessACountFails) {
  const auto check = [](const char* id, double margin) {
    Check c;
    c.id = id, c.margin = margin, c.passes = margin >= 0;
    return c;
  };
  Verdict verdict;
  EXPECT_EQ(tightest(verdict), nullptr);
  verdict.checks = {check("pins", 0.0), check("rail_dip", 0.3), check("gate_drive_on", 0.1)};
  EXPECT_EQ(tightest(verdict)->id, "gate_drive_on");
  verdict.checks[0] = check("pins", -0.25);
  EXPECT_EQ(tightest(verdict)->id, "pins");
  verdict.checks = {check("pins", 0.0)};
  EXPECT_EQ(tightest(verdict)->id, "pins");
}

TEST(Checks, TwinsAgreeWhereTheClosedFormHolds) {
  for (const Twin& t : kTwins) {
    bool found = false;
    for (const Measured& m : sound_full().numbers(row_of(t.id)))
      if (m.subject == t.subject) {
        found = true;
        EXPECT_FALSE(m.hand.formula.empty()) << t.id;
        EXPECT_NEAR(m.value, m.hand.value, t.tolerance * std::abs(m.hand.value) + 1e-9) << t.id;
      }
    EXPECT_TRUE(found) << t.id << " " << t.subject;
  }
}

TEST(Checks, AFollowersLostThresholdIsOnPaperToo) {
  Design d = full();
  d.brief.controller.logic_voltage_V = 5;
  for (const Measured& m : at_nominal(d, row_of("gate_drive_on")))
    if (m.subject == "Q1") {  // a threshold and a little overdrive
      EXPECT_GT(m.value, m.hand.value);
      EXPECT_LT(m.value, m.hand.value + 0.5);
    }
}

TEST(Checks, WithoutAClampTheCapacitorsTakeTheEnergy) {
  Design d = full();
  d.parts.erase("clamp");
  const auto rows = at_nominal(d, row_of("clamp_energy"));
  ASSERT_EQ(rows.size(), 1u);
  EXPECT_LT(rows[0].value, rows[0].hand.value) << "no more comes back than the windings hold";
  little_capacitance(d);
  const auto less = at_nominal(d, row_of("clamp_energy"));
  EXPECT_GT(less[0].value, less[0].limit);
}

TEST(Checks, AMissingPulseEnergyIsUndecidedOnlyWhereItDecides) {
  Design d = full();
  of(d.parts["clamp"], "pulse_energy") = kNotGiven;
  EXPECT_TRUE(std::isfinite(at_nominal(d, row_of("clamp_energy"))[0].limit));
  little_capacitance(d = full());
  d.parts["clamp"] = full().parts["clamp"];
  of(d.parts["clamp"], "pulse_energy") = kNotGiven;
  of(d.parts["clamp"], "vz") = 5.5;
  of(d.parts["clamp"], "power_max") = 0.01;
  EXPECT_FALSE(std::isfinite(at_nominal(d, row_of("clamp_energy"))[0].limit));
}

// A pattern that shorts a leg is shown whatever the rules; it fails only where they ask for it.
TEST(Checks, AShortInAPatternTheProgramNeverWritesIsShown) {
  Design d = full();
  const CheckRow& row = row_of("shoot_through_fault");
  for (const Measured& m : at_nominal(d, row)) {
    EXPECT_EQ(m.facts.at("patterns_1"), 4) << "two pins a leg";
    EXPECT_EQ(m.facts.at("patterns_that_conduct_through_1"), 1) << "both pins high";
    // V/(R_source + 2 R_on): 5 V over 0.15 ohm and two switches of a few tens of milliohm.
    EXPECT_NEAR(m.facts.at("worst_of_all_patterns_A"), 5.0 / (0.15 + 2 * 0.03), 4.0);
    EXPECT_LT(m.value, 0.01);
  }
  d.brief.rules.wrong_pins = "survive";
  for (const Measured& m : at_nominal(d, row)) EXPECT_GT(m.value, m.limit) << m.subject;
}

TEST(Heat, PulseImpedanceOfASmallPackage) {
  // 10, 25, 65, 130 of 350 K/W at 1, 10, 100 ms and 1 s: from memory. sqrt(t) below.
  EXPECT_NEAR(350 * physics::pulse_share(1e-3), 10, 1);
  EXPECT_NEAR(350 * physics::pulse_share(1e-2), 25, 2.5);
  EXPECT_NEAR(350 * physics::pulse_share(0.1), 65, 13);
  EXPECT_NEAR(350 * physics::pulse_share(1.0), 130, 13);
  EXPECT_NEAR(physics::pulse_share(1e4), 1.0, 1e-6);
  EXPECT_NEAR(physics::pulse_share(1e-5) / physics::pulse_share(1e-3), 0.1, 0.03);
}

TEST(Heat, ARippleFedWithAConstantIsTheStepResponse) {
  physics::ThermalRipple r;
  const double h = 1e-4;
  std::array<double, physics::kPackage.size()> decay{};
  for (std::size_t i = 0; i < decay.size(); ++i)
    decay[i] = std::exp(-h / physics::kPackage[i].time_s);
  for (int k = 0; k < 500; ++k) r.step(2.0, decay);
  EXPECT_NEAR(r.now_W, 2.0 * physics::pulse_share(500 * h), 1e-12);
}

}  // namespace
}  // namespace pb
