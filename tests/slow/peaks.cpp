// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Peaks are read where steps end. What a proof reads must be what far smaller steps show, to what
// checks allow.
#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "judgement/checks.h"
#include "judgement/run_requests.h"
#include "tests/slow/small_design.h"

namespace pb::test {
namespace {

class Peaks : public testing::TestWithParam<std::size_t> {};

physics::RunFigures moved(const Design& d, double tolerance) {
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  return physics::run(d, c.spreads, physics::typical(c.spreads), {},
                      move_request(c, d, {.tolerance = tolerance}), {});
}

TEST_P(Peaks, AreThoseOfSmallSteps) {
  const Design d = small_design(shipped()[GetParam()]);
  const physics::RunFigures fine = moved(d, 0.02);
  if (fine.outcome != physics::Outcome::reached_end) GTEST_SKIP() << fine.trouble;
  for (const bool sharp : {false, true}) {
    const physics::RunFigures f = moved(d, sharp ? 0.1 : 1.0);
    const auto expect = [&](double value, double expected, Accuracy good_to,
                            const std::string& what) {
      const double share = sharp ? good_to.sharp : good_to.usual;
      EXPECT_NEAR(value, expected, share * expected)
          << d.wiring.id << ", " << what << (sharp ? ", at a tenth of the tolerances" : "");
    };
    expect(f.rail_max_V, fine.rail_max_V, kOfPeaks, "rail, highest");
    expect(f.rail_min_V, fine.rail_min_V, kOfPeaks, "rail, lowest");
    expect(f.supply_peak_A, fine.supply_peak_A, kOfPeaks, "supply");
    expect(f.pin_total_A, fine.pin_total_A, kOfPeaks, "pins");
    for (const auto& [ref, part] : fine.parts) {
      if (!fine.switches.contains(ref)) continue;
      expect(f.parts.at(ref).voltage_V.value, part.voltage_V.value, kOfPeaks, ref + " voltage");
    }
    constexpr double kCounts_A = 0.1;  // a tenth of what the smallest switch stands
    for (const auto& [output, cross] : fine.leg_cross_A)
      if (cross.value > kCounts_A)
        expect(f.leg_cross_A.at(output).value, cross.value, kOfEdges,
               "through the leg of " + output);
  }
}

INSTANTIATE_TEST_SUITE_P(Shipped, Peaks, testing::Range(std::size_t{0}, shipped().size()));

}  // namespace
}  // namespace pb::test
