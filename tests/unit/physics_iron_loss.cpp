// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A resistance across inductance and EMF: what a winding with it is at the leads, against what the
// network R + (L || R_m) does, worked out by hand.
#include <gtest/gtest.h>

#include <cmath>

#include "physics/assembly.h"
#include "physics/run.h"
#include "tests/slow/small_design.h"

namespace pb::physics {
namespace {

Design with_iron(double iron_ohm) {
  Design d = test::small_design(test::shipped().front());
  d.brief.motor.winding_resistance_ohm = 10;
  d.brief.motor.winding_inductance_H = 8e-3;
  d.brief.motor.iron_loss_resistance_ohm = iron_ohm;
  return d;
}

struct Held {
  Circuit c;
  explicit Held(const Design& d) {
    const auto spreads = spreads_of(d);
    const Plan plan =
        plan_hold(d, standing_table(d, flows_of(d.settings.sequence).front(), 0), 0.1);
    c = assemble(d, spreads, typical(spreads), {}, plan, {});
  }
  double across_S(const char* ref) const {
    double sum = 0;
    for (const auto& r : c.resistors)
      if (r.ref == ref) sum += r.conductance_S;
    return sum;
  }
};

// 10 ohm, 8 mH, 90 ohm. At rest 10 ohm; at once 100 ohm; short-circuited it decays with
// 8 mH/(10 || 90) = 0.8889 ms; turned with open leads it loses e^2/90.
TEST(IronLoss, IsTheNetworkAtTheLeads) {
  const Held with(with_iron(90)), without(with_iron(kNotGiven));
  const double k = without.c.rotor.motor_constant_Vs;
  EXPECT_EQ(without.across_S("winding_a"), 0);
  for (std::size_t w = 0; w < 2; ++w) {
    const WindingElement& e = with.c.windings[w];
    const double beside_S = with.across_S(w == 0 ? "winding_a" : "winding_b");
    EXPECT_NEAR(1 / (1 / e.resistance_ohm + beside_S), 10, 1e-9);
    EXPECT_NEAR(1 / beside_S, 100, 1e-9);
    EXPECT_NEAR(e.inductance_H / e.resistance_ohm, 0.8888889e-3, 1e-9);
    const double emf = with.c.rotor.motor_constant_Vs;  // at 1 rad/s, at its crest
    EXPECT_NEAR(emf * emf / (e.resistance_ohm + 1 / beside_S), k * k / 90, 1e-9 * k * k);
  }
}

TEST(IronLoss, AMoveIsWarmerAndItsBooksClose) {
  const Design with = with_iron(300), without = with_iron(kNotGiven);
  const auto loss_W = [](const Design& d) {
    const auto spreads = spreads_of(d);
    RunRequest r;
    r.plan = plan_move(d, drive_table(d, d.settings.sequence, 2e-6), 8);
    const RunFigures f = run(d, spreads, typical(spreads), {}, r);
    EXPECT_EQ(f.outcome, Outcome::reached_end);
    EXPECT_LT(std::abs(f.ledger.residual_J()), 1e-3 * f.ledger.throughput_J);
    return f.winding_loss_W;
  };
  EXPECT_GT(loss_W(with), loss_W(without));
}

}  // namespace
}  // namespace pb::physics
