// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a run records is what it sums up.
#include "physics/run.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "judgement/evidence.h"
#include "physics/plan.h"
#include "physics/run_units.h"
#include "tests/unit/judgement_samples.h"

namespace pb::physics {
namespace {

TEST(Run, RecordedLossesAddUpToTheMeanOfTheWindow) {
  const Design d = judgement_samples::full();
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  EvidenceWanted wanted;
  wanted.waveforms = true, wanted.windows = false;
  const RunFigures f = gather(c, typical(c.spreads), wanted, {}).move.figures;
  const Waveforms& w = f.waves;
  ASSERT_EQ(w.losses_W.size(), w.rows.size());
  ASSERT_GE(w.loss_refs.size(), 8u);  // the switches of two bridges
  for (std::size_t part = 0; part < w.loss_refs.size(); ++part) {
    double energy_J = 0;
    for (std::size_t k = 1; k < w.rows.size(); ++k)
      if (w.rows[k - 1][0] >= f.window_from_s && w.rows[k][0] <= f.window_to_s)
        energy_J += w.losses_W[k][part] * (w.rows[k][0] - w.rows[k - 1][0]);
    const double mean_W = f.parts.at(w.loss_refs[part]).loss_W;
    EXPECT_NEAR(energy_J / (f.window_to_s - f.window_from_s), mean_W, 1e-6 * mean_W + 1e-9)
        << w.loss_refs[part];
  }
}

/// The supply's current enters the node equations 5 % too great while its power does not.
void falsify(Circuit& c) {
  const auto supply = std::ranges::find(c.resistors, "supply", &ResistorElement::ref);
  ASSERT_NE(supply, c.resistors.end());
  c.scaled_resistor = static_cast<int>(supply - c.resistors.begin());
  c.scale = 1.05;
}

// No run whose energies do not add up reaches its end, whoever asked for it.
TEST(Run, IsNotBelievedWhereItsLedgerDoesNotClose) {
  const Design d = judgement_samples::sound({"supply.can_sink=yes"});
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  RunRequest request;
  request.plan = move_plan(c);
  const Point p = typical(c.spreads);
  const RunFigures sound = run(d, c.spreads, p, {}, request);
  EXPECT_EQ(sound.outcome, Outcome::reached_end) << sound.trouble;
  EXPECT_LE(energy_residual(sound.ledger), kLedgerShare);
  request.alter = falsify;
  const std::vector<Point> eight(8, p);
  const std::vector<Temperatures> cold(8);
  std::vector<RunFigures> all = run_units(d, c.spreads, eight, cold, request, {});
  all.push_back(run(d, c.spreads, p, {}, request));
  for (const RunFigures& f : all) {
    EXPECT_EQ(f.outcome, Outcome::unbalanced);
    EXPECT_NE(f.trouble.find("energy ledger"), std::string::npos) << f.trouble;
  }
}

}  // namespace
}  // namespace pb::physics
