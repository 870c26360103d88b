// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a rest between moves does to what a verdict is read from: temperatures against the same
// losses stepped through move after move, from cold.
#include <gtest/gtest.h>

#include "judgement/evidence.h"
#include "physics/duty_heat.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

using judgement_samples::sound;
using judgement_samples::Studied;

constexpr const char* kHolds = "motion.hold=on";
constexpr const char* kLetsGo = "motion.hold=off";

Studied studied(const char* hold, const char* rest, std::vector<std::string> sets = {}) {
  EvidenceWanted w;
  w.windows = false;
  sets.insert(sets.end(), {"motion.move=200 step", std::string("motion.rest=") + rest, hold});
  return Studied(sound(sets), w);
}

double ambient_K(const Studied& s) {
  return value_of(s.c.spreads, physics::typical(s.c.spreads), "ambient");
}

/// One after the other, over and over.
struct Spell {
  double lasts_s, W;
};

/// A chain of stages fed with these spells from cold until they repeat: the most that it holds
/// where one ends. [W]
double stepped_W(const std::vector<physics::ThermalStage>& stages,
                 const std::vector<Spell>& spells) {
  double whole_s = 0, slowest_s = 0, most = 0;
  for (const Spell& s : spells) whole_s += s.lasts_s;
  for (const physics::ThermalStage& s : stages) slowest_s = std::max(slowest_s, s.time_s);
  std::vector<double> at(stages.size(), 0.0);
  for (double n = 0; n < 20 * slowest_s / whole_s + 2; ++n) {
    most = 0;
    for (const Spell& s : spells) {
      double sum = 0;
      for (std::size_t k = 0; k < at.size(); ++k) {
        at[k] = s.W + (at[k] - s.W) * std::exp(-s.lasts_s / stages[k].time_s);
        sum += stages[k].share * at[k];
      }
      most = std::max(most, sum);
    }
  }
  return most;
}

const std::vector<physics::ThermalStage> kPackage(physics::kPackage.begin(),
                                                  physics::kPackage.end()),
    kBoard = {{1.0, 163}}, kMotor = {{0.25, 30}, {0.75, 600}};  // docs/models.md

/// IEC 60028.
double copper(double T_K) { return 1 + 0.00393 * (T_K - 293.15); }

/// Of every switch, board and windings, within what a heated run leaves unsettled: 200 steps at the
/// brief's rate, held for 0.1 s if it is let go, the rest of 5 s.
void expect_stepped(const Studied& s) {
  const physics::RunFigures &f = s.e.move.figures, &hold = s.e.hold.figures;
  ASSERT_TRUE(s.e.move.consistent);
  const double move_s = 200 / s.d.brief.motion.rate_steps_s;
  const bool lets_go = s.d.brief.motion.hold == "off";
  const double more =
      copper(hold.temperatures.winding_K) / copper(f.temperatures.winding_K);  // V/R
  const auto spells = [&](double move_W, double hold_W) {
    if (!lets_go) return std::vector<Spell>{{move_s, move_W}, {5, hold_W}};
    return std::vector<Spell>{{move_s, move_W}, {0.1, hold_W}, {4.9, 0}};
  };
  const auto loss_W = [](const physics::RunFigures& run, const std::string& ref) {
    return run.parts.at(ref).loss_W;
  };
  const double board_K = physics::board_K_W(s.d.brief.build.board_area_m2) *
                         stepped_W(kBoard, spells(physics::board_loss_W(s.d, f),
                                                  physics::board_loss_W(s.d, hold) * more * more));
  int seen = 0;
  for (const auto& [ref, T_K] : f.temperatures.junction_K) {
    const Place& p = *find_place(s.d.wiring, ref);
    const double rise_K =
        physics::without_board_K_W(figure(s.d.parts.at(p.role), "rth_ja")) *
        stepped_W(kPackage, spells(loss_W(f, ref), loss_W(hold, ref) * more * more));
    EXPECT_NEAR(T_K, ambient_K(s) + board_K + rise_K, 0.3) << ref;
    ++seen;
  }
  EXPECT_GE(seen, 8);
  const double windings_W = stepped_W(kMotor, spells(f.winding_loss_W, hold.winding_loss_W * more));
  EXPECT_NEAR(f.temperatures.winding_K,
              ambient_K(s) + s.d.brief.motor.thermal_resistance_K_W * windings_W, 0.3);
}

TEST(Rests, AMotorLetGoCoolsInBetween) {
  const Studied s = studied(kLetsGo, "5 s"), never = studied(kLetsGo, "0 s");
  expect_stepped(s);
  const physics::RunFigures &f = s.e.move.figures, &g = never.e.move.figures;
  EXPECT_LT(f.temperatures.winding_K, g.temperatures.winding_K - 5);
  // Colder copper takes more current.
  EXPECT_GT(f.winding_a.rms_A, 1.01 * g.winding_a.rms_A);
  EXPECT_EQ(s.e.hold.figures.temperatures.winding_K, never.e.hold.figures.temperatures.winding_K);
}

TEST(Rests, AHeldMotorIsHeatedByItsHold) {
  const Studied s = studied(kHolds, "5 s"), never = studied(kHolds, "0 s");
  expect_stepped(s);
  // Holding loses more than moving: the rests heat.
  EXPECT_GT(s.e.hold.figures.winding_loss_W, s.e.move.figures.winding_loss_W);
  EXPECT_GT(s.e.move.figures.temperatures.winding_K, never.e.move.figures.temperatures.winding_K);
}

TEST(Rests, AShortRestIsAHold) {  // a motor is held for 0.1 s before it is let go
  const Studied let_go = studied(kLetsGo, "0.05 s"), held = studied(kHolds, "0.05 s");
  EXPECT_NEAR(let_go.e.move.figures.temperatures.winding_K,
              held.e.move.figures.temperatures.winding_K, 0.3);
}

TEST(Rests, UnitsInLockstepRestAlike) {
  for (const char* hold : {kLetsGo, kHolds}) {
    const Studied s = studied(hold, "5 s");
    const physics::Point typ = physics::typical(s.c.spreads);
    const std::vector<physics::Point> points(physics::kLanes, typ);
    const std::vector<HeatGuess> guesses(
        points.size(), {s.e.move.figures.temperatures, s.e.hold.figures.temperatures});
    for (const Evidence& e : gather_units(s.c, points, guesses, {})) {
      EXPECT_NEAR(e.move.figures.temperatures.winding_K, s.e.move.figures.temperatures.winding_K,
                  0.3);
      for (const auto& [ref, T_K] : s.e.move.figures.temperatures.junction_K)
        EXPECT_NEAR(e.move.figures.temperatures.junction_K.at(ref), T_K, 0.3) << ref;
      for (const auto& [ref, part] : s.e.move.figures.parts)
        EXPECT_NEAR(e.move.figures.parts.at(ref).surge_K, part.surge_K, 0.02 * part.surge_K + 0.1)
            << ref;
    }
  }
}

// What a junction swings about within the move is the move's own loss, whatever it rests between.
TEST(Rests, SwingsAreThoseOfTheMove) {
  const std::vector<std::string> strong = {"motor.winding_resistance=4 ohm",
                                           "motor.winding_inductance=2 mH",
                                           "motor.thermal_resistance=1 K/W"};
  const Studied s = studied(kLetsGo, "5 s", strong), never = studied(kLetsGo, "0 s", strong);
  int seen = 0;
  for (const auto& [ref, part] : s.e.move.figures.parts) {
    if (part.surge_K < 0.5) continue;
    const physics::PartFigures& other = never.e.move.figures.parts.at(ref);
    const double swing = other.surge_K / other.loss_W;
    EXPECT_NEAR(part.surge_K / part.loss_W, swing, 0.1 * swing) << ref;
    ++seen;
  }
  EXPECT_GE(seen, 4);
}

}  // namespace
}  // namespace pb
