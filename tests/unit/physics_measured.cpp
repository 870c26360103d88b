// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Whole drivers that measure their current, by every edge: what is compared with what against the
// divider and the sense resistor by hand; ripple, peak and mean of a held winding against the
// exponentials of a series R and L; the ledger.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "physics/sense_path.h"
#include "tests/rigs/measured_drive.h"

namespace pb::physics {
namespace {

using namespace rigs;

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
  const double on_ohm = figure(chip, "on_resistance_typ"), l = 6e-3, r1 = 4.6 + on_ohm + 0.22,
               r2 = 4.6 + on_ohm, end = 24 / r1;
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
    // A P gate behind 680 ohm and 0.5 nF takes another 1 to 3 us (24 V, all of its charge), once
    // its shifter has let go of what it stores, which takes less than a microsecond.
    EXPECT_GT(s.high_A, high + 1e-6 * (24 - r1) / l) << timing;
    EXPECT_LT(s.high_A, high + 4e-6 * (24 - r1) / l) << timing;
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

TEST(PhysicsMeasured, OnlyWhatMeasuresIsOfferedForIt) {
  Brief b = test::design_of(test::all_templates().front(), false).brief;
  int measuring = 0;
  for (const Template& t : test::all_templates()) {
    for (const char* kind : {"none", "duty", "current"}) {
      b.regulation.kind = kind;
      const bool chops = b.regulation.kind != "none";  // no pin is clocked beside it
      EXPECT_EQ(supports_regulation(t, b),
                t.measures.empty() != measures_current(b) && !(chops && clock_of(t) > 0))
          << t.id;
    }
    measuring += !t.measures.empty();
  }
  EXPECT_GE(measuring, 2);
}

}  // namespace
}  // namespace pb::physics
