// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where a unit's heat is sought from, of made-up effects worked by hand.
#include "judgement/unit_heat.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

constexpr double kAmbient_K = 300;

/// Two switches, each with a gate resistor of its own.
Design two_switches() {
  Design d;
  d.wiring.places = {{.ref = "Q1", .role = "switch", .nodes = {"a", "g1", "gnd"}},
                     {.ref = "Q2", .role = "switch", .nodes = {"b", "g2", "gnd"}},
                     {.ref = "R1", .role = "gate", .nodes = {"g1", "gnd"}},
                     {.ref = "R2", .role = "gate", .nodes = {"g2", "gnd"}}};
  return d;
}

Case case_with(const Design& d) {
  return {.design = d,
          .spreads = {{"ambient", 280, kAmbient_K, 320, Grade::modelled, ""},
                      {"supply.voltage", 11, 12, 13, Grade::modelled, ""},
                      {"gate.resistance", 100, 100, 150, Grade::modelled, "gate"}},
          .hold_flow = ""};
}

/// Windings and board over ambient, both junctions over the board.
physics::Temperatures heat(double winding, double board, double first, double second,
                           double ambient_K = kAmbient_K) {
  physics::Temperatures t;
  t.winding_K = ambient_K + winding, t.board_K = ambient_K + board;
  t.junction_K = {{"Q1", t.board_K + first}, {"Q2", t.board_K + second}};
  return t;
}
HeatGuess twice(const physics::Temperatures& t) { return {t, t}; }

HeatByFigure effects(const Case& c) {
  const physics::Point typ = physics::typical(c.spreads);
  physics::Point low = typ, high = typ, slow = typ;
  low.value[1] = 11, high.value[1] = 13, slow.value[2] = 150;
  return {c,
          twice(heat(50, 10, 20, 20)),
          {{1, low, twice(heat(50 * 0.8, 10, 20, 20))},
           {1, high, twice(heat(50 * 1.21, 10, 20, 20))},
           {2, slow, twice(heat(50, 12, 30, 30))}}};
}

TEST(UnitHeat, FollowsAParabolaThroughTheEnds) {
  const Design d = two_switches();
  const Case c = case_with(d);
  physics::Point p = physics::typical(c.spreads);
  const HeatByFigure heat = effects(c);
  EXPECT_DOUBLE_EQ(heat.at(p).move.winding_K, kAmbient_K + 50);
  for (const auto& [volt, share] :
       std::map<double, double>{{11, 0.8}, {12.5, 1 + 0.205 * 0.5 + 0.005 * 0.25}, {13, 1.21}}) {
    p.value[1] = volt;
    EXPECT_NEAR(heat.at(p).move.winding_K, kAmbient_K + 50 * share, 1e-9);
    EXPECT_NEAR(heat.at(p).hold.winding_K, kAmbient_K + 50 * share, 1e-9);
    EXPECT_NEAR(heat.at(p).move.board_K, kAmbient_K + 10, 1e-9);
  }
  p.value[0] = 320;  // rises stay
  EXPECT_NEAR(heat.at(p).move.winding_K, 320 + 50 * 1.21, 1e-9);
}

TEST(UnitHeat, APartHeatsByWhatHangsOnIt) {
  const Design d = two_switches();
  const Case c = case_with(d);
  physics::Point p = physics::typical(c.spreads);
  p.own["R1.resistance"] = 150;
  const HeatGuess g = effects(c).at(p);
  // The board by the mean of both resistors; each junction by its own.
  EXPECT_NEAR(g.move.board_K, kAmbient_K + 11, 1e-9);
  EXPECT_NEAR(g.move.junction_K.at("Q1"), g.move.board_K + 30, 1e-9);
  EXPECT_NEAR(g.move.junction_K.at("Q2"), g.move.board_K + 20, 1e-9);
}

TEST(UnitHeat, WhatWasStoppedTellsNothing) {
  const Design d = two_switches();
  const Case c = case_with(d);
  physics::Point p = physics::typical(c.spreads);
  p.value[1] = 13;
  const HeatByFigure heat_of(c, twice(heat(50, 10, 20, 20)), {{1, p, {}}});
  EXPECT_DOUBLE_EQ(heat_of.at(p).move.winding_K, kAmbient_K + 50);
}

}  // namespace
}  // namespace pb
