// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// End stop and play: the law by itself, bodies that meet, a motor that runs into a stop. Expected
// numbers are mechanics: energy, momentum, swings on a spring.
#include "physics/devices/contact.h"

#include <gtest/gtest.h>

#include <cmath>

#include "judgement/evidence.h"
#include "tests/rigs/batch.h"
#include "tests/rigs/contact.h"
#include "tests/unit/judgement_samples.h"

namespace pb::rigs {
namespace {

TEST(Contact, NeverPullsAndBeginsWithoutAJump) {
  const Contact c = contact_of(300.0, 0.5);
  for (const double w : {-10.0, -0.05, 0.0, 0.05, 10.0}) {
    EXPECT_EQ(contact_torque(c, -1e-3, w).torque_Nm, 0.0);
    EXPECT_EQ(contact_torque(c, 0.0, w).torque_Nm, 0.0);
    EXPECT_GT(contact_torque(c, 1e-3, w).torque_Nm, 0.0);
    EXPECT_GE(contact_torque(c, 1e-3, w).lost_W, 0.0);
  }
  EXPECT_NEAR(contact_torque(c, 1e-3, 10.0).torque_Nm, 0.3, 1e-12);          // K d
  EXPECT_NEAR(contact_torque(c, 1e-3, -10.0).torque_Nm, 0.25 * 0.3, 1e-12);  // e^2 K d
}

TEST(Contact, SlopesAreThoseOfTheTorque) {
  const Contact c = contact_of(300.0, 0.3);
  constexpr double kStep = 1e-6;
  for (const double d : {1e-4, 2e-3})
    for (const double w : {-0.2, -0.01, 0.03, 0.5}) {
      const auto at = [&](double depth, double speed) {
        return contact_torque(c, depth, speed).torque_Nm;
      };
      const auto t = contact_torque(c, d, w);
      EXPECT_NEAR(t.by_depth_Nm_rad, (at(d + kStep, w) - at(d - kStep, w)) / (2 * kStep), 1e-4);
      EXPECT_NEAR(t.by_speed_Nms, (at(d, w + kStep) - at(d, w - kStep)) / (2 * kStep), 1e-6);
    }
}

// A body on a spring K: depth v sqrt(J/K), a quarter of a swing on K in and one on e^2 K out.
TEST(Contact, ReboundIsThatOfASpring) {
  for (const double e : {0.2, 0.5, 0.9, 1.0})
    for (const double v : {5.0, 40.0}) {
      const double J = 2e-6, K = 800.0;
      const Rebound r = rebound(J, K, e, v);
      // The friction of the contact turns over 0.05 rad/s, not at once.
      EXPECT_NEAR(r.speed_rad_s, e * v, 2e-3 * v) << e << ' ' << v;
      EXPECT_NEAR(r.depth_rad, v * std::sqrt(J / K), 3e-3 * v * std::sqrt(J / K)) << e << ' ' << v;
      EXPECT_NEAR(r.lost_J, 0.5 * J * v * v * (1 - e * e), 3e-3 * 0.5 * J * v * v);
      const double quarter_s = 0.5 * kPi * std::sqrt(J / K);
      // Read off between the ends of steps.
      EXPECT_NEAR(r.lasts_s, quarter_s * (1 + 1 / e), 0.05 * quarter_s * (1 + 1 / e));
    }
}

TEST(Contact, ReboundHoldsAtTheUsualTolerances) {
  const Rebound r = rebound(2e-6, 800.0, 0.5, 20.0, {}, 2e-3);
  EXPECT_NEAR(r.speed_rad_s, 10.0, 0.1);
}

// m1 v1 + m2 v2 as before; v2 - v1 = e v.
TEST(Contact, CollisionKeepsMomentum) {
  const double v = 8.0;
  for (const double e : {0.3, 0.8})
    for (const double m2 : {0.5e-6, 2e-6, 20e-6}) {
      const double m1 = 2e-6;
      const Collision c = collision(m1, m2, e, v);
      EXPECT_NEAR(m1 * c.rotor_rad_s + m2 * c.load_rad_s, m1 * v, 1e-6 * m1 * v);
      EXPECT_NEAR(c.load_rad_s, m1 * (1 + e) * v / (m1 + m2), 6e-3 * v) << e << ' ' << m2;
      EXPECT_NEAR(c.rotor_rad_s, (m1 - e * m2) * v / (m1 + m2), 6e-3 * v) << e << ' ' << m2;
      EXPECT_NEAR(c.lost_J, 0.5 * m1 * m2 / (m1 + m2) * v * v * (1 - e * e),
                  6e-3 * 0.5 * m1 * v * v);
      EXPECT_NEAR(c.free_s, 0.02 / v, 1e-4 / v);
    }
}

// In the gap either body knows nothing of the other: a load under gravity falls by T t^2/(2 J).
TEST(Contact, FreeFlightInTheGap) {
  Circuit c = coasting(2e-6);
  c.loose_load = {contact_of(500.0, 0.5), 0.2, 1e-6, 0, 0, 1e-4};
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {0, 0, 3.0, 0, 0, 0});
  ASSERT_EQ(t.run_to(0.02), Outcome::reached_end);
  EXPECT_NEAR(t.state()[5], -0.5 * 100.0 * 0.02 * 0.02, 1e-9);
  EXPECT_NEAR(t.state()[3], 0.06, 1e-9);
}

// Standing against a stop: current V/R, and the stop bears what the motor pulls, K I sin(lag) of
// one winding.
TEST(Contact, StandsAgainstAStop) {
  Circuit c = grounded();
  const int source = driven(c, 12.0);
  c.windings = {{0, 0, 10, 8e-3}, {source, 0, 10, 8e-3}};
  c.rotor = {50, 0.25, 8e-6, 1e-3, 0, 0.01, 0, false};  // pulls to pi/2 over 50
  constexpr double kStop = 0.01, kStiff = 1500.0;
  c.end_stop = {contact_of(kStiff, 0.5), kStop};
  System s(c);
  Transient t(s, {});
  t.start(0.0);
  double most_A = 0;
  t.on_step = [&](double, const std::vector<double>& x) {
    most_A = std::max({most_A, std::abs(x[0]), std::abs(x[1])});
  };
  ASSERT_EQ(t.run_to(1.0), Outcome::reached_end);
  EXPECT_NEAR(t.state()[1], 1.2, 1e-3);
  EXPECT_LT(most_A, 1.5);
  EXPECT_NEAR(t.state()[2], 0, 0.01);
  const double depth = t.state()[3] - kStop, pull = 0.25 * 1.2 * std::cos(50 * t.state()[3]);
  // Friction of the stop and of the rotor may hold it anywhere between.
  EXPECT_NEAR(depth * contact_of(kStiff, 0.5).stiffness_Nm_rad, pull, 0.05 * pull);
  s.read(t.state());
  EXPECT_NEAR(s.stop_torque_Nm(), pull, 0.05 * pull);
  EXPECT_NEAR(t.ledger().residual_J(), 0, 1e-5 * t.ledger().throughput_J);
}

// Units that differ in speed, masses and stiffness, each meeting its flank and its stop by itself.
TEST(Contact, ABatchIsAsOneByOne) {
  expect_batch_as_one_by_one(
      [](int k) {
        Circuit c = coasting(2e-6 * (1 + 0.1 * k));
        c.loose_load = {contact_of(500.0 + 100 * k, 0.5), 0.04, 1e-6 * (1 + 0.2 * k), 0, 1e-4, 0};
        c.end_stop = {contact_of(800.0, 0.7), 0.03 + 1e-3 * k};
        return c;
      },
      [](int k) { return std::vector<double>{0, 0, 8.0 - 0.5 * k, 0, 0, 0}; },
      {2e-3, 4e-3, 8e-3, 15e-3}, 5e-3);
}

physics::RunFigures moved(const std::vector<std::string>& sets) {
  const Design d = judgement_samples::sound(sets);
  EvidenceWanted wanted;
  wanted.windows = false;
  return judgement_samples::Studied(d, wanted).e.move.figures;
}

TEST(ContactRun, AMoveIntoAStopLosesSteps) {
  const RunFigures free = moved({});
  ASSERT_EQ(free.steps_made, free.steps_commanded);
  EXPECT_EQ(free.end_stop_Nm.value, 0);
  const Design d = judgement_samples::sound({});
  const double step_rad = 2 * kPi / d.brief.motor.steps_per_turn / d.brief.load.gear_ratio;
  const int left_out =
      static_cast<int>(d.brief.motion.move_steps) - free.steps_commanded;  // of the brief's move
  const double stop_rad = (left_out + 3.5) * step_rad;
  const RunFigures f = moved({"load.end_stop=" + std::to_string(stop_rad) + " rad"});
  EXPECT_LT(f.steps_made, free.steps_commanded - 3);
  EXPECT_LT(f.output_end_rad, 3.6 * step_rad);
  EXPECT_GT(f.end_stop_Nm.value, 0);
  EXPECT_LT(f.winding_a.peak_A, 1.3 * free.winding_a.peak_A);
  EXPECT_LT(std::abs(f.ledger.residual_J()), 1e-3 * f.ledger.throughput_J);
}

// The load of a gear with play stops within it of where the rotor does.
TEST(ContactRun, ALoadStaysWithinItsPlay) {
  const RunFigures rigid = moved({"load.inertia=20 g cm2"}),
                   loose = moved({"load.inertia=20 g cm2", "load.backlash=1 deg"});
  EXPECT_EQ(loose.steps_made, loose.steps_commanded);
  const Design d = judgement_samples::sound({});
  const double n = d.brief.load.gear_ratio;
  EXPECT_NE(loose.theta_end_rad / n, loose.output_end_rad);
  EXPECT_NEAR((loose.theta_end_rad - loose.theta0_rad) / n, loose.output_end_rad,
              0.5 * 1.02 * kPi / 180);
  EXPECT_NEAR((rigid.theta_end_rad - rigid.theta0_rad) / n, rigid.output_end_rad, 1e-12);
  EXPECT_LT(std::abs(loose.ledger.residual_J()), 1e-3 * loose.ledger.throughput_J);
}

}  // namespace
}  // namespace pb::rigs
