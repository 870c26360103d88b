// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The engine at its default options against another integrator (SUNDIALS IDA at a thousandth of
// those tolerances) that shares no code with it: whole runs of a motor by two bridges, with and
// without changes of regime. And its energy ledger, which must close, and must not close when a
// current is falsified.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/rigs/against_ida.h"

namespace pb::scenes {
namespace {

constexpr double kSample_s = 1e-4;

double allowed_J(const physics::Ledger& l) { return 1e-3 * l.throughput_J + 1e-6; }

class EngineAgainstIda : public testing::TestWithParam<ref::Scene (*)()> {};

TEST_P(EngineAgainstIda, WholeRunAtDefaultOptions) {
  const ref::Scene scene = GetParam()();
  const ref::SceneRun reference = ref::run_scene(scene, 1e-7, true, kSample_s, {});
  ASSERT_EQ(reference.status, 0);
  const Samples x = run(scene, {}, kSample_s);
  ASSERT_EQ(x.outcome, physics::Outcome::reached_end);
  const Errors e = errors_of(x, reference, scene);
  RecordProperty("current_error", std::to_string(e.current));
  RecordProperty("rotor_error_steps", std::to_string(e.rotor));
  EXPECT_LT(e.current, 1e-3);
  EXPECT_LT(e.rotor, 1e-2);
  EXPECT_LT(std::abs(x.ledger.residual_J()), allowed_J(x.ledger));
  EXPECT_GT(x.ledger.loss_J, 0.5 * x.ledger.throughput_J);  // most of it heats the windings
}

TEST_P(EngineAgainstIda, TighterTolerancesComeCloser) {
  const ref::Scene scene = GetParam()();
  const ref::SceneRun reference = ref::run_scene(scene, 1e-7, true, kSample_s, {});
  ASSERT_EQ(reference.status, 0);
  physics::TransientOptions o;
  o.rtol *= 0.03, o.atol_A *= 0.03, o.atol_V *= 0.03, o.atol_rad *= 0.03;
  const Samples x = run(scene, o, kSample_s);
  ASSERT_EQ(x.outcome, physics::Outcome::reached_end);
  const Errors e = errors_of(x, reference, scene);
  EXPECT_LT(e.current, 1.5e-4);
  EXPECT_LT(e.rotor, 1e-3);
}

INSTANTIATE_TEST_SUITE_P(Scenes, EngineAgainstIda,
                         testing::Values(&ref::case_1, &ref::case_1_small_bulk, &ref::case_1_coast),
                         [](const auto& p) {
                           return p.index == 0   ? std::string("Case1")
                                  : p.index == 1 ? std::string("SmallBulk")
                                                 : std::string("Coast");
                         });

// Currents good to a thousandth do not make losses good: what switches lose is lost in the edges.
TEST(EngineChopped, CurrentsAndSwitchLosses) {
  const ref::Scene scene = chopped();
  const ref::SceneRun reference = ref::run_scene(scene, 1e-6, true, kSample_s, {});
  ASSERT_EQ(reference.status, 0);
  const Samples x = run(scene, {}, kSample_s);
  ASSERT_EQ(x.outcome, physics::Outcome::reached_end);
  const Errors e = errors_of(x, reference, scene);
  const double losses_J = channels_J(reference);
  RecordProperty("current_error", std::to_string(e.current));
  RecordProperty("switch_loss_error", std::to_string(x.switch_loss_J / losses_J - 1.0));
  EXPECT_LT(e.current, 1e-3);
  EXPECT_LT(e.rotor, 1e-2);
  EXPECT_GT(losses_J, 1e-3);
  EXPECT_NEAR(x.switch_loss_J, losses_J, 0.02 * losses_J);
  EXPECT_LT(std::abs(x.ledger.residual_J()), allowed_J(x.ledger));
  // The pulses do take part: without them the windings would carry more.
  ref::Scene plain = scene;
  plain.pwm_Hz = 0;
  const Samples full = run(plain, {}, kSample_s);
  EXPECT_LT(x.ledger.source_J, 0.8 * full.ledger.source_J);
}

/// The winding's resistance put in front of it, so that a resistor element dissipates what matters.
void resistance_outside(physics::Circuit& c) {
  const int between = c.add_node("between");
  c.resistors.push_back({"outside", c.windings[0].a, between, 1.0 / c.windings[0].resistance_ohm});
  c.windings[0].a = between;
  c.windings[0].resistance_ohm = 0.0;
}

TEST(EngineLedger, NoticesAFalsifiedCurrent) {
  const ref::Scene scene = ref::case_1();
  const Samples honest = run(scene, {}, kSample_s, resistance_outside);
  ASSERT_EQ(honest.outcome, physics::Outcome::reached_end);
  EXPECT_LT(std::abs(honest.ledger.residual_J()), allowed_J(honest.ledger));
  const Samples falsified = run(scene, {}, kSample_s, [](physics::Circuit& c) {
    resistance_outside(c);
    c.scaled_resistor = static_cast<int>(c.resistors.size()) - 1;
    c.scale = 1.01;
  });
  ASSERT_EQ(falsified.outcome, physics::Outcome::reached_end);
  EXPECT_GT(std::abs(falsified.ledger.residual_J()), allowed_J(falsified.ledger));
}

TEST(EngineLedger, DoesNotDependOnWhereTheWindingsResistanceIs) {
  const ref::Scene scene = ref::case_1();
  const Samples inside = run(scene, {}, kSample_s),
                outside = run(scene, {}, kSample_s, resistance_outside);
  EXPECT_NEAR(inside.ledger.loss_J, outside.ledger.loss_J, 1e-3 * inside.ledger.loss_J);
  EXPECT_NEAR(inside.ledger.source_J, outside.ledger.source_J, 1e-3 * inside.ledger.source_J);
}

}  // namespace
}  // namespace pb::scenes
