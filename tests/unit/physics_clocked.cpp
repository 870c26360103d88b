// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A pin that a timer toggles: the rail it pumps up against the balance of charge of a period, in
// reset it stands still, and the drive code never writes it.
#include <algorithm>

#include <gtest/gtest.h>

#include "physics/watched_run.h"
#include "tests/unit/delivery_samples.h"

namespace pb::physics {
namespace {

constexpr double kFlying_F = 100e-9, kReservoir_F = 1e-6;

struct Pumped {
  Design design;
  std::string gate_rail, flying, reservoir;
};

/// Every shipped wiring whose clocked pin pumps a rail through two diodes.
std::vector<Pumped> pumped() {
  std::vector<Pumped> out;
  for (const Template& t : test::all_templates()) {
    if (clock_of(t) == 0) continue;
    Pumped p{test::design_of(t, false), {}, {}, {}};
    p.design.settings.sequence = "two-phase";
    p.design.settings.stop = "coast";
    for (const Place& place : t.places) {
      const std::string& c = find_role(t, place.role)->part_class;
      if (c == "diode" && place.nodes[1] != kRail && place.nodes[0] != kRail &&
          place.nodes[0] != kGround && p.design.parts.contains(place.role))
        p.gate_rail = place.nodes[1];
    }
    for (const Place& place : t.places) {
      if (find_role(t, place.role)->part_class != "ceramic") continue;
      const bool on_gates = std::ranges::count(place.nodes, p.gate_rail) > 0,
                 grounded = std::ranges::count(place.nodes, kGround) > 0;
      if (!grounded) (on_gates ? p.reservoir : p.flying) = place.ref;
    }
    for (Role& role : p.design.wiring.roles)
      if (!role.values.empty()) p.design.settings.value[role.name] = role.values.back();
    out.push_back(std::move(p));
  }
  return out;
}

void set_clock(Design& d, double clock_Hz) { d.wiring.pins.back().clock_Hz = clock_Hz; }

struct Seen {
  double mean_V = 0, least_V = 1e9, most_V = -1e9;  // of the gate rail, over the last tenth
  double load_A = 0;                                // its mean current into the pull-ups
  RunFigures figures;
};

Seen stand_and_see(const Pumped& p, const PowerUp& power) {
  const Design& d = p.design;
  const auto spreads = spreads_of(d);
  RunRequest r;
  r.plan = plan_hold(d, standing_table(d, "++", 50e-6), 0.05);
  r.power = power;
  r.alter = [&](Circuit& c) {  // capacitors that do not fall with their voltage
    for (const auto& e : c.ceramics)
      if (e.ref == p.flying || e.ref == p.reservoir)
        c.capacitors.push_back({e.ref, e.a, e.b, e.ref == p.flying ? kFlying_F : kReservoir_F});
    std::erase_if(c.ceramics,
                  [&](const auto& e) { return e.ref == p.flying || e.ref == p.reservoir; });
  };
  Seen out;
  const double from_s = 0.9 * r.plan.end_s;
  double before_s = from_s;
  const Watch watch = [&](const System& s, double t, const std::vector<double>& x) {
    if (t <= from_s) return;
    const Circuit& c = s.circuit();
    const int rail = c.find_node(p.gate_rail);
    const double v = s.node_voltage(x, rail), h = t - before_s;
    before_s = t;
    out.least_V = std::min(out.least_V, v), out.most_V = std::max(out.most_V, v);
    out.mean_V += v * h / (r.plan.end_s - from_s);
    for (const ResistorElement& e : c.resistors) {
      const Place* place = find_place(d.wiring, e.ref);
      if (!place || find_role(d.wiring, place->role)->part_class != "resistor") continue;
      if (e.a != rail && e.b != rail) continue;
      const int gate = e.a == rail ? e.b : e.a;
      out.load_A += (v - s.node_voltage(x, gate)) * e.conductance_S * h / (r.plan.end_s - from_s);
    }
  };
  out.figures = watched_run(d, spreads, typical(spreads), {}, r, watch);
  EXPECT_EQ(out.figures.outcome, Outcome::reached_end) << out.figures.trouble;
  return out;
}

TEST(PhysicsClocked, PumpedRailIsTheBalanceOfChargeOfAPeriod) {
  // Each period moves C dV up and I/f away: V = V_rail + V_logic - 2 V_F - I/(f C). Textbook. A
  // silicon diode's V_F at the last milliamperes of a period is 0.4 to 0.65 V.
  int seen = 0;
  for (Pumped& p : pumped()) {
    ++seen;
    const double logic_V = p.design.brief.controller.logic_voltage_V,
                 supply_V = p.design.brief.supply.voltage_V;
    set_clock(p.design, 1e3);
    const Seen slow = stand_and_see(p, {});
    set_clock(p.design, 2e3);
    const Seen fast = stand_and_see(p, {});
    for (const auto& [s, clock_Hz] : {std::pair(&slow, 1e3), {&fast, 2e3}}) {
      const double ideal_V = supply_V + logic_V - s->load_A / (clock_Hz * kFlying_F);
      EXPECT_GT(s->load_A, 1e-4);
      EXPECT_LT(s->mean_V, ideal_V - 2 * 0.3) << clock_Hz;
      EXPECT_GT(s->mean_V, ideal_V - 2 * 0.65) << clock_Hz;
    }
    // V_F, but for a little, is the same in both.
    const double droops_V = slow.load_A / (1e3 * kFlying_F) - fast.load_A / (2e3 * kFlying_F);
    EXPECT_NEAR(fast.mean_V - slow.mean_V, droops_V, 0.15 * droops_V);
    // Between two strokes the reservoir alone feeds the gates.
    EXPECT_NEAR(slow.most_V - slow.least_V, slow.load_A / (1e3 * kReservoir_F),
                0.5 * slow.load_A / (1e3 * kReservoir_F));
  }
  EXPECT_GT(seen, 0);
}

TEST(PhysicsClocked, StandsStillInReset) {
  for (const Pumped& p : pumped()) {
    PowerUp reset;
    reset.in_reset = true;
    const Seen s = stand_and_see(p, reset);
    EXPECT_LT(s.most_V - s.least_V, 1e-3);
    EXPECT_LT(s.most_V, p.design.brief.supply.voltage_V);
  }
}

TEST(PhysicsClocked, HighSidesHaveTheirDriveUnlessTheClockIsTooSlow) {
  for (Pumped& p : pumped()) {
    const auto least_drive_V = [&] {
      const RunFigures f = stand_and_see(p, {}).figures;
      double least = 1e9;
      for (const Leg& l : p.design.wiring.legs)
        for (const std::string& ref : l.high)
          if (f.switches.at(ref).on_states > 0)
            least = std::min(least, f.switches.at(ref).on_control_V);
      return least;
    };
    set_clock(p.design, 8e3);
    const double sound = least_drive_V();
    set_clock(p.design, 200);
    const double weak = least_drive_V();
    EXPECT_GT(sound, p.design.brief.controller.logic_voltage_V - 2.0);
    EXPECT_LT(weak, sound - 1.0);
  }
}

TEST(PhysicsClocked, DriveCodeLeavesThePinAlone) {
  for (const Pumped& p : pumped()) {
    const int clocked = static_cast<int>(p.design.wiring.pins.size()) - 1;
    const Plan plan = plan_move(p.design, drive_table(p.design, "two-phase", 50e-6), 4);
    EXPECT_TRUE(
        std::ranges::none_of(plan.writes, [&](const PinWrite& w) { return w.pin >= clocked; }));
    EXPECT_FALSE(plan.stands_still());
    // The move waits for the rail: twenty periods at the least.
    EXPECT_GE(plan.settle_s, 20 / plan.clock_Hz);
  }
}

}  // namespace
}  // namespace pb::physics
