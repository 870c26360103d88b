// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a run records is what it sums up.
#include "physics/run.h"

#include <gtest/gtest.h>

#include "judgement/evidence.h"
#include "physics/plan.h"
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

}  // namespace
}  // namespace pb::physics
