// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The rules for Newton at a junction, on one transistor and one diode whose answers are plain: from
// below a step is cut, from above its size is not believed.
#include "physics/newton.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb::physics {
namespace {

Circuit one_transistor(double sign) {
  Circuit c;
  c.nodes.push_back({"gnd", true, {{0.0}, {0.0}}});
  const int collector = c.add_node("collector"), base = c.add_node("base");
  Bipolar q;
  q.sign = sign;
  c.bipolars.push_back({"q", collector, base, 0, q});
  for (int n : {collector, base}) c.capacitors.push_back({"", n, 0, 1e-12});
  return c;
}

TEST(Newton, ALeapUpAJunctionIsCut) {
  for (double sign : {1.0, -1.0}) {
    const System s(one_transistor(sign));
    // From 0.5 V by 5 V: an exponential asks e^190 times the current. 5 V/V_t makes ln(1 + 193) =
    // 5.3 thermal voltages; up to the critical voltage 0.72 V the full way is taken.
    const double share = newton_share(s, {sign * 5.0, sign * 0.5}, {0.0, sign * 5.0});
    EXPECT_GT(share * 5.0, 0.1);
    EXPECT_LT(share * 5.0, 0.3);
    EXPECT_EQ(newton_share(s, {sign * 5.0, sign * 0.5}, {0.0, sign * 0.03}), 1.0);
    EXPECT_EQ(newton_share(s, {sign * 5.0, sign * 0.9}, {0.0, sign * -0.3}), 1.0);
  }
}

// Far above its operating point f = I_s e^(v/V_t) - I: Newton's step is -f/f' = -V_t however far it
// still is.
TEST(Newton, OnTheWayDownAJunctionNoStepIsBelieved) {
  for (double sign : {1.0, -1.0}) {
    const System s(one_transistor(sign));
    const double Vt = s.circuit().bipolars[0].transistor.Vt_V;
    EXPECT_TRUE(newton_is_under_way(s, {sign * 5.0, sign * 1.0}, {0.0, sign * -Vt}));
    EXPECT_FALSE(newton_is_under_way(s, {sign * 5.0, sign * 1.0}, {0.0, sign * -0.1 * Vt}));
    EXPECT_FALSE(newton_is_under_way(s, {sign * 5.0, sign * 1.0}, {0.0, sign * Vt}));
    // Next to nothing flows: a large step changes nothing.
    EXPECT_FALSE(newton_is_under_way(s, {sign * 5.0, sign * 0.2}, {0.0, sign * -1.0}));
    // The junction to the collector counts as well.
    EXPECT_TRUE(newton_is_under_way(s, {sign * -0.8, sign * 0.0}, {sign * Vt, 0.0}));
  }
}

// A thermal voltage of 1 mV: half of that is a factor of e^0.5 in current, and no tolerance of a
// voltage sees it.
TEST(Newton, ADiodeIsFollowedUntilItsCurrentStands) {
  Circuit c;
  c.nodes.push_back({"gnd", true, {{0.0}, {0.0}}});
  const int anode = c.add_node("anode");
  c.diodes.push_back({"supply", anode, 0, prepared({1e-6, 1e-3, 0.1, 0}), 0, {}});
  c.capacitors.push_back({"", anode, 0, 1e-12});
  System s(c);
  const auto moves = [&](double from_V, double by_V) {
    s.evaluate({from_V});
    return newton_is_under_way(s, {from_V + by_V}, {by_V});
  };
  const double knee_V = 1e-3 * std::log(1e-2 / 1e-6);  // n V_t/R flows there
  for (const double sign : {1.0, -1.0}) {
    EXPECT_TRUE(moves(knee_V, sign * 0.6e-3));
    EXPECT_FALSE(moves(knee_V, sign * 0.4e-3));
  }
  EXPECT_FALSE(moves(-0.5, -0.1));
  EXPECT_TRUE(moves(-0.5, 0.5 + knee_V));
}

}  // namespace
}  // namespace pb::physics
