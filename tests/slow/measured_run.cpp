// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Drivers that measure their currents, by every edge: each decay regulates, a move and a hold with
// less current do as they are asked, and the ledgers close.
#include "tests/rigs/measured_drive.h"

#include "files/toml_design.h"
#include "judgement/proof.h"

namespace pb::rigs {
namespace {

TEST(MeasuredRun, EveryDecayRegulatesAndItsLedgerCloses) {
  for (const bool chip : {true, false})
    for (const char* decay : {"slow", "fast", "mixed", "diode"}) {
      if (chip && std::string_view(decay) == "diode") continue;
      SCOPED_TRACE(std::string(chip ? "chip " : "discrete ") + decay);
      const Swing s = held(measured(chip, decay), 2e-6);
      EXPECT_NEAR(s.high_A, 1.0, 0.015);
      EXPECT_GT(s.low_A, 0.75);
      EXPECT_LT(s.low_A, 0.998);  // a shifter's stored charge holds its switch on for a while
    }
}

// At 300 steps/s the current is turned round in a fraction of a step and then held; at rest it is
// half.
TEST(LongMeasuredRun, MovesWithItsCurrentAndHoldsWithLess) {
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

// The shipped example, proven whole: it passes, and its windings carry what the brief regulates,
// but for what the rotor's back-EMF adds in slow decay.
TEST(MeasuredRun, ExamplePassesItsCheck) {
  const std::string file = (test::kRoot / "examples/carriage-feed/measured.toml").string();
  const Design d =
      read_design(file, load_text(file).value(), (test::kRoot / "templates").string()).value();
  const Proof proof = prove(d, {});
  EXPECT_TRUE(proof.verdict.undecided.empty()) << proof.verdict.undecided.front();
  EXPECT_TRUE(proof.verdict.passes);
  EXPECT_GT(proof.verdict.checks.size(), 20U);
  EXPECT_LT(proof.verdict.energy_residual, 1e-3);
  const double regulated_A = regulated_current(d.brief);
  EXPECT_GT(proof.nominal.winding_a.peak_A, 0.98 * regulated_A);
  EXPECT_NEAR(proof.nominal.winding_a.rms_A, regulated_A, 0.2 * regulated_A);
  for (const Check& c : proof.verdict.checks) {
    EXPECT_TRUE(std::isfinite(c.value)) << c.id;
    EXPECT_TRUE(c.passes) << c.id << ' ' << c.subject << ' ' << c.value << " against " << c.limit;
  }
}

}  // namespace
}  // namespace pb::rigs
