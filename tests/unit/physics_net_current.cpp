// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Currents of nets against what must hold of any circuit, and against the run's own figures.
#include "physics/net_current.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "judgement/evidence.h"
#include "tests/unit/judgement_samples.h"

namespace pb::physics {
namespace {

using judgement_samples::sound;

struct Probed {
  RunFigures figures;
  std::vector<NetFlow> nets;
};

Probed moving(const Design& d) {
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  c.steps = 24;
  RunRequest r;
  r.plan = move_plan(c);
  NetCurrents probe(d, means_of(r.plan));
  const Watch watch = [&](const System& s, double t, const std::vector<double>& x) {
    probe.step(s, t, x);
  };
  Probed out;
  out.figures = watched_run(d, c.spreads, typical(c.spreads), {}, r, watch);
  out.nets = probe.flows();
  return out;
}

const NetFlow& net(const Probed& p, const std::string& name) {
  const auto at =
      std::find_if(p.nets.begin(), p.nets.end(), [&](const NetFlow& n) { return n.net == name; });
  EXPECT_NE(at, p.nets.end()) << name;
  return at == p.nets.end() ? p.nets.front() : *at;
}

const Flow& end(const Probed& p, const std::string& name, const std::string& ref) {
  const NetFlow& n = net(p, name);
  const auto at =
      std::find_if(n.ends.begin(), n.ends.end(), [&](const NetEndFlow& e) { return e.ref == ref; });
  EXPECT_NE(at, n.ends.end()) << name << " " << ref;
  return at == n.ends.end() ? n.ends.front().flow : at->flow;
}

TEST(NetCurrent, NothingIsLostInANet) {
  const Probed p = moving(sound());
  ASSERT_EQ(p.figures.outcome, Outcome::reached_end);
  ASSERT_GE(p.nets.size(), 6u);
  for (const NetFlow& n : p.nets) {
    double sum_A = 0, greatest_A = 0;
    for (const NetEndFlow& e : n.ends) {
      sum_A += e.flow.mean_A, greatest_A = std::max(greatest_A, e.flow.rms_A);
      EXPECT_LE(e.flow.rms_A, n.through.rms_A * (1 + 1e-6) + 1e-6) << n.net << " " << e.ref;
      EXPECT_LE(std::abs(e.flow.mean_A), e.flow.rms_A * (1 + 1e-9) + 1e-12);
    }
    // Kirchhoff's first law, in the mean; nets of a gate carry microamperes.
    EXPECT_NEAR(sum_A, 0.0, 2e-3 * greatest_A + 2e-6) << n.net;
  }
}

TEST(NetCurrent, AgreesWithTheRunsOwnFigures) {
  const Design d = sound();
  const Probed p = moving(d);
  const auto& lead = d.wiring.winding_a[0];
  EXPECT_NEAR(end(p, lead, "motor").rms_A, p.figures.winding_a.rms_A,
              2e-3 * p.figures.winding_a.rms_A);
  EXPECT_NEAR(end(p, lead, "motor").peak_A, p.figures.winding_a.peak_A,
              1e-6 + 1e-3 * p.figures.winding_a.peak_A);
  EXPECT_NEAR(-end(p, kRail, "supply").mean_A, p.figures.supply_mean_A,
              2e-3 * p.figures.supply_mean_A);
  EXPECT_NEAR(end(p, kGround, "supply").mean_A, p.figures.supply_mean_A,
              2e-3 * p.figures.supply_mean_A);
  EXPECT_GE(net(p, kRail).apart_V, p.figures.rail_max_V * (1 - 1e-9));
}

TEST(NetCurrent, OfAHeldStateIsOhmsLaw) {
  const Design d = sound();
  const Case c = case_of(d);
  RunRequest r = standing_request(c, {}, 0.02, 1.0);
  NetCurrents probe(d, {});
  const Watch watch = [&](const System& s, double t, const std::vector<double>& x) {
    probe.step(s, t, x);
  };
  const RunFigures f = watched_stand(d, c.spreads, typical(c.spreads), {}, r, watch);
  Probed p{f, probe.flows()};
  // V = I (R_supply + R_on + R_on + R_winding) of each winding, both in parallel behind the supply.
  const auto& m = d.brief.motor;
  const double lead_A = end(p, d.wiring.winding_a[0], "motor").rms_A;
  const double ideal_A = d.brief.supply.voltage_V / m.winding_resistance_ohm;
  EXPECT_LT(lead_A, ideal_A);
  EXPECT_NEAR(lead_A, f.winding_a.peak_A, 1e-9);
  EXPECT_NEAR(net(p, kGround).through.rms_A, f.supply_mean_A, 0.02 * f.supply_mean_A);
  for (const NetFlow& n : p.nets) {
    double sum_A = 0;
    for (const NetEndFlow& e : n.ends) sum_A += e.flow.mean_A;
    EXPECT_NEAR(sum_A, 0.0, 1e-6) << n.net;
  }
}

}  // namespace
}  // namespace pb::physics
