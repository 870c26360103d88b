// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The computed dead time waits for what a saturated level shifter stores.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/unit/judgement_samples.h"

namespace pb::physics {
namespace {

using judgement_samples::of;

double dead_time_with(Design d, double storage_s) {
  of(d.parts.at("shifter"), "storage_time") = storage_s;
  return dead_time_of(case_of(d));
}

TEST(DeadTime, CoversTheStorageOfASaturatedShifter) {
  const std::string file = (test::kRoot / "examples/carriage-feed/quick-gates.toml").string();
  const Design d = app::read_design_input({file, {}}).value().design;
  const auto ohm = [&](const char* role) { return d.settings.value.at(role); };
  // From the data sheet's tenth in and out to the shifter's own currents: of both times only the
  // logarithm differs.
  constexpr double kJunction_V = 0.7, kShort_s = 0.2e-6, kLong_s = 4e-6;
  // The emitter stands on the other pin, which its current lifts: I_E is I_C + I_BF, then I_C -
  // I_BR.
  const double gain = figure(d.parts.at("shifter"), "hfe_typ"),
               pin_ohm = d.brief.controller.pin_resistance_ohm,
               loop_ohm = ohm("base_resistor") + 2.0 * pin_ohm,
               collector_A =
                   d.brief.supply.voltage_V / (ohm("gate_pull_up") + ohm("gate_divider") + pin_ohm),
               back_V = kJunction_V + pin_ohm * collector_A,
               into_A = (d.brief.controller.logic_voltage_V - back_V) / loop_ohm,
               out_A = back_V / loop_ohm;
  const double longer = std::log((into_A + out_A) / (collector_A / gain + out_A)) /
                        std::log(0.2 / (1.0 / gain + 0.1));
  const double expected_s = 1.25 * longer * (kLong_s - kShort_s),
               found_s = dead_time_with(d, kLong_s) - dead_time_with(d, kShort_s);
  EXPECT_NEAR(found_s, expected_s, 0.1 * expected_s + 2.0 * d.brief.controller.timer_tick_s);
}

}  // namespace
}  // namespace pb::physics
