// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a run records is what it sums up; velocity ripple against its closed form.
#include "physics/run.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "judgement/evidence.h"
#include "judgement/run_requests.h"
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

/// The supply's current enters the node equations half as great again while its power does not.
void falsify(Circuit& c) {
  const auto supply = std::ranges::find(c.resistors, "supply", &ResistorElement::ref);
  ASSERT_NE(supply, c.resistors.end());
  c.scaled_resistor = static_cast<int>(supply - c.resistors.begin());
  c.scale = 1.5;
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

/// A move with the rotor as `alter` leaves it.
RunFigures moved(const Design& d, int steps, const std::function<void(Circuit&)>& alter) {
  Case c = case_of(d);
  c.steps = steps, c.dead_time_s = dead_time_of(c);
  RunRequest r;
  r.plan = move_plan(c);
  r.alter = alter;
  return run(d, c.spreads, typical(c.spreads), {}, r);
}

// A rotor that no winding holds, turned by a constant torque against viscous friction:
// J dw/dt = T_d sin(4 N th) - B (w - w_0) swings by 2 T_d/sqrt((4 N w J)^2 + B^2) about w_0 as long
// as that is little.
TEST(Run, VelocityRippleOfADetentAtSpeedIsItsClosedForm) {
  Design d = judgement_samples::sound();
  d.brief.motion.rate_steps_s = 600;
  for (const double detent_Nm : {0.25e-3, 1e-3}) {
    constexpr double kSpeed_rad_s = 20, kViscous_Nms = 2e-4, kInertia_kgm2 = 1e-6;
    const RunFigures f = moved(d, 60, [&](Circuit& c) {
      c.rotor.motor_constant_Vs = 0, c.rotor.friction_Nm = 0, c.rotor.detent_Nm = detent_Nm;
      c.rotor.inertia_kgm2 = kInertia_kgm2, c.rotor.viscous_Nms = kViscous_Nms;
      c.rotor.gravity_Nm = -kSpeed_rad_s * kViscous_Nms;
    });
    ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
    const double teeth = d.brief.motor.steps_per_turn / 4.0;
    const double swing_rad_s =
        2.0 * detent_Nm / std::hypot(4.0 * teeth * kSpeed_rad_s * kInertia_kgm2, kViscous_Nms);
    // The run's tolerance damps so fast a swing a little, and what is lost slows the mean.
    EXPECT_NEAR(f.speed_mean_rad_s, kSpeed_rad_s, 2e-3 * kSpeed_rad_s) << detent_Nm;
    EXPECT_NEAR(speed_ripple(f), swing_rad_s / kSpeed_rad_s, 0.02 * swing_rad_s / kSpeed_rad_s)
        << detent_Nm;
  }
}

TEST(Run, MeanSpeedIsTheRateAskedAndAStandHasNoRipple) {
  const Design d = judgement_samples::sound();
  const RunFigures f = moved(d, 48, {});
  ASSERT_EQ(f.steps_made, f.steps_commanded);
  const double asked_rad_s = 2.0 * kPi * d.brief.motion.rate_steps_s / d.brief.motor.steps_per_turn;
  EXPECT_NEAR(f.speed_mean_rad_s, asked_rad_s, 0.02 * asked_rad_s);
  EXPECT_GT(speed_ripple(f), 0.0);
  EXPECT_LT(f.speed_min_rad_s, f.speed_mean_rad_s);
  EXPECT_GT(f.speed_max_rad_s, f.speed_mean_rad_s);
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  const RunRequest hold = holding_request(c, 1.0);
  EXPECT_FALSE(given(speed_ripple(run(d, c.spreads, typical(c.spreads), {}, hold))));
}

}  // namespace
}  // namespace pb::physics
