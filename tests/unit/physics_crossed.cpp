// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// High sides that hang on each other's output turn off through the winding. With the motor
// unplugged nothing does that but a pull-up at each gate: with it the resting state has no high
// side on, without it a crossed pair keeps what it was told last.
#include <algorithm>

#include <gtest/gtest.h>

#include "judgement/fault_inject.h"
#include "physics/run.h"
#include "tests/unit/delivery_samples.h"

namespace pb::physics {
namespace {

const Place* between(const Design& d, const std::string& a, const std::string& b) {
  for (const Place& p : d.wiring.places)
    if (find_role(d.wiring, p.role)->part_class == "resistor" &&
        std::ranges::is_permutation(p.nodes, std::vector{a, b}))
      return &p;
  return nullptr;
}

struct Crossed {
  Design design;
  std::vector<std::string> high, pull_up;  // refs
};

/// Every shipped wiring whose P high sides at the rail have their gates at the winding's other end.
std::vector<Crossed> crossed() {
  std::vector<Crossed> out;
  for (const Template& t : test::all_templates()) {
    Crossed c{test::design_of(t, false), {}, {}};
    for (const auto* w : {&t.winding_a, &t.winding_b})
      for (const Place& p : t.places)
        for (std::size_t end : {0u, 1u}) {
          const bool p_high = find_role(t, p.role)->part_class == "p-mosfet" &&
                              p.nodes[0] == (*w)[end] && p.nodes[2] == kRail;
          if (!p_high || !between(c.design, p.nodes[1], (*w)[1 - end])) continue;
          const Place* up = between(c.design, kRail, p.nodes[1]);
          c.high.push_back(p.ref);
          c.pull_up.push_back(up ? up->ref : "");
        }
    c.design.settings.sequence = "two-phase";
    c.design.settings.stop = "coast";
    c.design.brief.motion.hold = "off";
    if (!c.high.empty()) out.push_back(std::move(c));
  }
  return out;
}

/// Greatest source-gate voltage of a high side when the motor has been let go for a while.
double left_on_V(const Crossed& c, bool unplugged, bool pulled_up) {
  const auto spreads = spreads_of(c.design);
  RunRequest r;
  r.record = true;
  r.plan = plan_move(c.design, drive_table(c.design, "two-phase", 50e-6), 4);
  r.alter = [&](Circuit& circuit) {
    for (std::size_t w : {0u, 1u})
      if (unplugged) inject::open_winding(circuit, w);
    for (const std::string& ref : c.pull_up)
      if (!pulled_up) inject::open_part(circuit, ref);
  };
  const RunFigures f = run(c.design, spreads, typical(spreads), {}, r);
  EXPECT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
  constexpr std::size_t kRail = 3, kFirstNode = 8;  // columns of a row
  double most = 0;
  for (const std::string& ref : c.high) {
    const std::string& gate = find_place(c.design.wiring, ref)->nodes[1];
    const auto at = std::ranges::find(f.waves.names, gate);
    EXPECT_NE(at, f.waves.names.end()) << gate;
    const auto column = kFirstNode + static_cast<std::size_t>(at - f.waves.names.begin());
    const auto& last = f.waves.rows.back();
    most = std::max(most, last[kRail] - last[column]);
  }
  return most;
}

TEST(Crossed, PullUpsTurnHighSidesOffWithoutAMotor) {
  const std::vector<Crossed> all = crossed();
  ASSERT_FALSE(all.empty());
  for (const Crossed& c : all) {
    const Part& p = c.design.parts.at(find_place(c.design.wiring, c.high.front())->role);
    const double least_V = figure(p, "threshold_min"), supply_V = c.design.brief.supply.voltage_V;
    EXPECT_LT(left_on_V(c, false, true), least_V) << c.design.wiring.title;
    EXPECT_LT(left_on_V(c, true, true), least_V) << c.design.wiring.title;
    EXPECT_LT(left_on_V(c, false, false), least_V) << "through the winding";
    EXPECT_GT(left_on_V(c, true, false), 0.9 * supply_V) << "nothing else does it";
  }
}

}  // namespace
}  // namespace pb::physics
