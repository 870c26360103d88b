// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Whole drivers that measure their current, by every edge: what is compared with what against the
// divider and the sense resistor by hand; ripple, peak and mean of a held winding against the
// exponentials of a series R and L; the ledger.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "physics/drive_table.h"
#include "physics/run.h"
#include "physics/sense_path.h"
#include "physics/watched_run.h"
#include "tests/unit/delivery_samples.h"

namespace pb::physics {
namespace {

bool by_chip(const Template& t) { return t.measures.front().reached.empty(); }

const std::vector<Part>& rows() {
  static const Catalogue catalogue = [] {
    const std::string file = (test::kRoot / "parts/starter.csv").string();
    return *read_catalogue(file, *load_text(file));
  }();
  return catalogue.parts;
}

/// A motor of 4.6 ohm and 6 mH for 1 A, on a stiff 24 V.
Design measured(bool chip, const std::string& decay, const std::string& sequence = "two-phase") {
  for (const Template& t : test::all_templates()) {
    if (t.measures.empty() || by_chip(t) != chip) continue;
    Design d = test::design_of(t, false);
    EXPECT_TRUE(supports(t, sequence));
    EXPECT_TRUE(supports_decay(t, sequence, decay)) << t.id << ' ' << decay;
    Brief& b = d.brief;
    b.regulation.kind = "current";
    b.regulation.current_A = 1.0;
    b.controller.timer_tick_s = 1e-7;
    b.supply.resistance_ohm = 1e-3;
    b.supply.can_sink = "yes";
    b.supply.voltage_V = 24;
    b.motor.winding_resistance_ohm = 4.6;
    b.motor.winding_inductance_H = 6e-3;
    b.motor.steps_per_turn = 200;
    b.motor.back_emf_constant_Vs = 0.18;
    b.motor.rotor_inertia_kgm2 = 4e-6;
    b.motor.viscous_friction_Nms = 5e-4;
    b.motion.rate_steps_s = 300;
    b.motion.hold = "on";
    d.settings.sequence = sequence;
    d.settings.decay = decay;
    // Switches of 65 and 85 mohm behind gates that arrive within a microsecond.
    for (const Part& p : rows())
      for (const auto& [role, part] : std::map(d.parts))
        if (p.part_class == part.part_class && p.number.find("FET-40V-") != std::string::npos)
          d.parts[role] = p;
    for (auto& [role, ohm] : d.settings.value) {
      if (role == "sense") ohm = 0.22;
      if (role == "gate_pull_up" || role == "gate_divider") ohm = 680;
      if (role == "base_resistor") ohm = 2200;
    }
    return d;
  }
  ADD_FAILURE() << "no template measures";
  return {};
}

double value(const Design& d, const std::string& role) { return d.settings.value.at(role); }

/// The first part of the class in the design.
const Part& of_class(const Design& d, std::string_view name) {
  for (const auto& [role, part] : d.parts)
    if (part.part_class == name) return part;
  throw std::runtime_error("no such part");
}

struct Swing {
  double high_A = -1e300, low_A = 1e300, mean_A = 0;
  RunFigures figures;
};

/// Winding a over a hold of 4 ms; its last tenth.
Swing held(const Design& d, double dead_time_s) {
  RunRequest r;
  r.plan = plan_hold(d, holding_table(d, "++", dead_time_s), 4e-3);
  EXPECT_TRUE(r.plan.measured);
  EXPECT_FALSE(r.plan.stands_still());
  const MeanSpan span = means_of(r.plan);
  const auto spreads = spreads_of(d);
  Swing out;
  double before_s = -1, before_A = 0, charge = 0;
  out.figures = watched_run(d, spreads, typical(spreads), {}, r,
                            [&](const System& s, double t, const std::vector<double>& x) {
                              if (t < span.from_s) return;
                              const double i = x[static_cast<std::size_t>(s.winding_unknown(0))];
                              if (before_s >= 0) charge += 0.5 * (i + before_A) * (t - before_s);
                              before_s = t, before_A = i;
                              out.high_A = std::max(out.high_A, i);
                              out.low_A = std::min(out.low_A, i);
                            });
  EXPECT_EQ(out.figures.outcome, Outcome::reached_end) << out.figures.trouble;
  const Ledger& l = out.figures.ledger;
  EXPECT_LT(std::abs(l.residual_J()), 1e-3 * l.throughput_J + 1e-6);
  out.mean_A = charge / (span.to_s - span.from_s);
  return out;
}

TEST(PhysicsMeasured, ReferenceIsWhatTheDividerAndTheSenseResistorAsk) {
  for (const bool chip : {true, false}) {
    const Design d = measured(chip, "slow");
    const double top = value(d, "reference_top") + d.brief.controller.pin_resistance_ohm,
                 bottom = value(d, "reference_bottom"), gain = bottom / (top + bottom);
    const double ratio = chip ? figure(of_class(d, "dual-chopper-chip"), "reference_ratio") : 1.0;
    for (int w : {0, 1}) {
      EXPECT_NEAR(sense_ohm(d, w), 0.22, 1e-9) << chip;
      EXPECT_NEAR(reference_gain(d, w), gain, 1e-9) << chip;
      EXPECT_NEAR(reference_share(d, w),
                  ratio * 0.22 * 1.0 / (gain * d.brief.controller.logic_voltage_V), 1e-9);
    }
  }
}

// The chip's outputs are resistances in all states, so driven and decaying the current is an
// exponential: peak I + (V - I R_1)/L t_delay, ripple from e^(-t_off/tau_2).
TEST(PhysicsMeasured, ChipHoldsPeakAndRipple) {
  const Design d = measured(true, "slow");
  const Part& chip = of_class(d, "dual-chopper-chip");
  const double on_ohm = figure(chip, "on_resistance_typ"), l = 6e-3,
               r1 = 4.6 + on_ohm + 0.22, r2 = 4.6 + on_ohm, end = 24 / r1;
  const double high = end + (1.0 - end) * std::exp(-figure(chip, "delay_typ") * r1 / l),
               low = high * std::exp(-figure(chip, "off_time") * r2 / l);
  const Swing s = held(d, 0);
  // Edges of 100 ns and the tolerance of a run: a thousandth of the peak.
  EXPECT_NEAR(s.high_A, high, 1.5e-3);
  EXPECT_NEAR(s.high_A - s.low_A, high - low, 0.04 * (high - low));
  EXPECT_NEAR(s.mean_A, 0.5 * (high + low), 2e-3);
}

// Discrete switches are quicker than 1 % of the off-time, and drop millivolts.
TEST(PhysicsMeasured, ComparatorAndTimersHoldPeakAndRipple) {
  for (const char* timing : {"off-time", "frequency"}) {
    Design d = measured(false, "slow");
    d.brief.regulation.timing = timing;
    d.brief.regulation.off_time_s = 40e-6;
    const Part& c = of_class(d, "comparator");
    const double r1 = 4.6 + 0.22, l = 6e-3, end = 24 / r1;
    const double late_s = figure(c, "delay_typ") + d.brief.regulation.reaction_s;
    const double high = end + (1.0 - end) * std::exp(-late_s * r1 / l);
    const Swing s = held(d, 2e-6);
    // A P gate behind 680 ohm and 0.5 nF takes another 1 to 3 us (24 V, all of its charge).
    EXPECT_GT(s.high_A, high + 1e-6 * (24 - r1) / l) << timing;
    EXPECT_LT(s.high_A, high + 3e-6 * (24 - r1) / l) << timing;
    if (std::string_view(timing) == "off-time") {
      const double low = high * std::exp(-40e-6 * 4.6 / l);
      EXPECT_NEAR(s.high_A - s.low_A, high - low, 0.15 * (high - low));
    }
  }
}

TEST(PhysicsMeasured, OffsetAndToleranceMoveTheCurrent) {
  const Design d = measured(true, "slow");
  const auto spreads = spreads_of(d);
  const auto peak = [&](double offset_V, double ratio) {
    Point p = typical(spreads);
    for (std::size_t k = 0; k < spreads.size(); ++k) {
      if (spreads[k].name == "driver.offset") p.value[k] = offset_V;
      if (spreads[k].name == "driver.reference_ratio") p.value[k] *= ratio;
    }
    RunRequest r;
    r.plan = plan_hold(d, holding_table(d, "++", 0), 4e-3);
    return run(d, spreads, p, {}, r).winding_a.peak_A;
  };
  const double usual = peak(0, 1);
  EXPECT_NEAR(peak(4.4e-3, 1) - usual, 4.4e-3 / 0.22, 1.5e-3);
  EXPECT_NEAR(peak(0, 1.05) / usual, 1 / 1.05, 3e-3);
}

TEST(PhysicsMeasured, EveryDecayRegulatesAndItsLedgerCloses) {
  for (const bool chip : {true, false})
    for (const char* decay : {"slow", "fast", "mixed", "diode"}) {
      if (chip && std::string_view(decay) == "diode") continue;
      SCOPED_TRACE(std::string(chip ? "chip " : "discrete ") + decay);
      const Swing s = held(measured(chip, decay), 2e-6);
      EXPECT_NEAR(s.high_A, 1.0, 0.015);
      EXPECT_GT(s.low_A, 0.75);
      EXPECT_LT(s.low_A, 0.995);
    }
}

// At 300 steps/s the current is turned round in a fraction of a step and then held; at rest it is
// half.
TEST(PhysicsMeasured, MovesWithItsCurrentAndHoldsWithLess) {
  {
    Design d = measured(true, "mixed");
    d.brief.motion.hold = "reduced";
    d.brief.regulation.hold_share = 0.5;
    RunRequest r;
    r.plan = plan_move(d, drive_table(d, "two-phase", 2e-6), 4);
    ASSERT_FALSE(r.plan.references.empty());
    const auto spreads = spreads_of(d);
    const RunFigures f = run(d, spreads, typical(spreads), {}, r);
    ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    EXPECT_EQ(f.steps_made, 4);
    EXPECT_NEAR(f.winding_a.peak_A, 1.0, 0.02);
    EXPECT_GT(f.winding_a.rms_A, 0.8);
    EXPECT_LT(f.winding_a.rms_A, 1.0);
    EXPECT_LT(std::abs(f.ledger.residual_J()), 1e-3 * f.ledger.throughput_J + 1e-6);
    const Swing held_less = held(d, 2e-6);
    EXPECT_NEAR(held_less.high_A, 0.5, 0.02);
  }
}

TEST(PhysicsMeasured, OnlyWhatMeasuresIsOfferedForIt) {
  Brief b = test::design_of(test::all_templates().front(), false).brief;
  int measuring = 0;
  for (const Template& t : test::all_templates()) {
    for (const char* kind : {"none", "duty", "current"}) {
      b.regulation.kind = kind;
      EXPECT_EQ(supports_regulation(t, b), t.measures.empty() != measures_current(b)) << t.id;
    }
    measuring += !t.measures.empty();
  }
  EXPECT_GE(measuring, 2);
}

}  // namespace
}  // namespace pb::physics
