// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Single faults against closed forms, and their classes against the fuse.
#include "judgement/faults.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "judgement/fault_inject.h"
#include "judgement/patterns.h"
#include "physics/extraction.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

using namespace judgement_samples;
using namespace physics;

/// A design and the standing state of each of its faults, cold and at typical values.
struct Standing {
  explicit Standing(Design design) : d(std::move(design)), c(case_of(d)), list(situations_of(c)) {}
  Standing(const Standing&) = delete;

  const Situation& of(const std::string& part, const std::string& fault) const {
    for (const Situation& s : list)
      if (s.part == part && s.fault == fault) return s;
    ADD_FAILURE() << "no " << part << " " << fault;
    return list.front();
  }
  RunFigures in(const std::function<void(Circuit&)>& inject, const std::string& flow) const {
    RunRequest r;
    r.plan = plan_hold(d, standing_table(d, flow, 0.0), 0.02);
    r.alter = inject;
    const RunFigures f = stand(d, c.spreads, typical(c.spreads), {}, r);
    EXPECT_EQ(f.outcome, Outcome::reached_end);
    return f;
  }
  double value(const std::string& name) const {
    return value_of(c.spreads, typical(c.spreads), name);
  }

  Design d;
  Case c;
  std::vector<Situation> list;
};

const Standing& sound_standing() {
  static const Standing s(sound());
  return s;
}

double supply_A(const RunFigures& f) { return std::abs(f.supply_mean_A); }

// Q1 over Q2: with Q1 on and Q2 short, V/(R_source + R_on + R_short) goes from rail to ground; the
// other winding draws its V/R beside it.
TEST(Faults, AShortLowSideDrawsWhatTheLoopsResistancesLetThrough) {
  const Standing& s = sound_standing();
  const double source = s.d.brief.supply.resistance_ohm, on = s.value("high_side.on_resistance");
  const double loop_A = s.value("supply.voltage") / (source + on + inject::kShort_ohm);
  const RunFigures f = s.in(s.of("Q2", "drain-source short").inject, "++");
  // On-resistance is given at 2.5 V of gate; this gate has more, so the channel has less.
  EXPECT_NEAR(supply_A(f), loop_A, 0.08 * loop_A);
  EXPECT_GT(supply_A(f), loop_A);
  // The short itself is ohmic: P = I^2 R in it, whatever the channel does.
  EXPECT_NEAR(f.parts.at("supply").loss_W, supply_A(f) * supply_A(f) * source,
              0.1 * f.parts.at("supply").loss_W);
}

TEST(Faults, AnOpenWindingHalvesTheSupplyCurrent) {
  const Standing& s = sound_standing();
  for (const char* winding : {"winding a", "winding b"}) {
    const RunFigures whole = s.in(nullptr, "++"), half = s.in(s.of(winding, "open").inject, "++");
    // Two equal windings; the source's resistance is shared no more: R_s/(R + R_s) more each.
    EXPECT_NEAR(supply_A(half) / supply_A(whole), 0.5, 0.01) << winding;
    EXPECT_LT(std::min(half.winding_a.rms_A, half.winding_b.rms_A), 1e-6);
  }
}

// Reversed, every leg is two body diodes in series across the source: V = 2 V_F(I/4) + R_s I, where
// V_F(i) = n V_t ln(1 + i/I_s) + R i is the inverse of the junction law. Solved by bisection.
TEST(Faults, AReversedSupplyConductsThroughTheBodyDiodes) {
  const Standing& s = sound_standing();
  const Part& part = s.d.parts.at("high_side");
  ASSERT_EQ(s.d.parts.at("low_side").part_class, part.part_class);
  const auto body = [&](const char* role) {
    return mosfet_model(s.d.parts.at(role), 1.0, s.value(std::string(role) + ".threshold"),
                        s.value(std::string(role) + ".on_resistance"), s.value("ambient"));
  };
  const auto drop_V = [](const MosfetModel& m, double i_A) {
    return m.body.nVt_V * std::log1p(i_A / m.body.saturation_A) +
           (m.body.series_ohm + m.series_ohm) * i_A;
  };
  const MosfetModel high = body("high_side"), low = body("low_side");
  double little = 0, much = 1e3;
  for (int k = 0; k < 100; ++k) {
    const double i = 0.5 * (little + much), leg = i / 4.0;
    const double v = drop_V(high, leg) + drop_V(low, leg) + s.d.brief.supply.resistance_ohm * i;
    (v < s.value("supply.voltage") ? little : much) = i;
  }
  RunRequest r = held_in_reset(s.c);
  r.alter = inject::reverse_supply;
  const RunFigures f = stand(s.d, s.c.spreads, typical(s.c.spreads), {}, r);
  ASSERT_EQ(f.outcome, Outcome::reached_end);
  EXPECT_LT(f.supply_mean_A, 0);
  // A channel whose gate is at ground and whose drain is a diode below it adds a little.
  EXPECT_GT(supply_A(f), 0.999 * little);
  EXPECT_LT(supply_A(f), 1.04 * little);
}

TEST(Faults, AStuckPinHoldsItsSwitchWhateverTheProgramWrites) {
  const Standing& s = sound_standing();
  const Pin& pin = s.d.wiring.pins.front();
  const RunFigures high = s.in(s.of("pin " + pin.name, "stuck high").inject, "-+"),
                   low = s.in(s.of("pin " + pin.name, "stuck low").inject, "++");
  // High: both switches of its leg are on in the state that wants the other one.
  EXPECT_GT(supply_A(high), 10 * supply_A(s.in(nullptr, "-+")));
  // Low: its winding gets nothing.
  EXPECT_LT(low.winding_a.rms_A, 0.01 * low.winding_b.rms_A);
}

TEST(Faults, CrossedLeadsPutEachCoilBetweenTheWindings) {
  const Standing& s = sound_standing();
  // In ++ both first ends are high and both second ends low: coils between equal ends carry
  // nothing. In -+ they lie between a high and a low one again.
  const auto& crossed = s.of("motor", "leads in order ABAB").inject;
  EXPECT_LT(s.in(crossed, "++").winding_a.rms_A, 1e-3);
  EXPECT_NEAR(s.in(crossed, "-+").winding_a.rms_A, s.in(nullptr, "-+").winding_a.rms_A, 1e-3);
}

// A rotor turned at w has a peak back-EMF of K w in each winding: rectified by the body diodes into
// the rail, less two drops.
TEST(Faults, ATurnedRotorChargesTheRail) {
  Design d = sound();
  d.brief.motor.back_emf_constant_Vs = 0.2;
  const Standing s(d);
  const Situation& hand = s.of("rotor", "turned by hand, no supply");
  RunRequest r = hand.moving.front();
  r.alter = hand.inject;
  const RunFigures f = run(s.d, s.c.spreads, typical(s.c.spreads), {}, r);
  const double peak_V = s.value("motor.constant") * 2 * 3.14159265 * kByHand_rev_s;
  EXPECT_LT(f.rail_max_V, peak_V);
  EXPECT_GT(f.rail_max_V, peak_V - 2 * 0.8);
}

const FaultCase& found(const FaultsResult& r, const std::string& part, const std::string& fault) {
  for (const FaultCase& f : r.cases)
    if (f.part == part && f.fault == fault) return f;
  ADD_FAILURE() << "no " << part << " " << fault;
  return r.cases.front();
}

using Names = std::vector<std::string>;

/// The cases of these parts only.
FaultsResult all_of(const Design& d, const Names& parts, const ParallelFor& parallel = threads(0)) {
  FaultsOptions o;
  o.parallel = parallel;
  o.wanted = [&](const Situation& s) {
    return std::find(parts.begin(), parts.end(), s.part) != parts.end();
  };
  const FaultsResult r = single_faults(d, o);
  EXPECT_EQ(r.undecided, "");
  for (const FaultCase& f : r.cases) EXPECT_EQ(f.undecided, "") << f.part << " " << f.fault;
  return r;
}

TEST(Faults, TheFuseChangesClasses) {
  const Design d = sound();
  const FaultsResult unfused = all_of(d, {"Q2"});
  const FaultCase& bare = found(unfused, "Q2", "drain-source short");
  EXPECT_EQ(bare.outcome, FaultClass::hazard);
  EXPECT_FALSE(given(bare.fuse_s));
  EXPECT_EQ(bare.contain, Containment::smaller_fuse);
  EXPECT_GT(bare.available_W, kLittlePower_W);

  // The fuse it asks for contains it; one three times as large does not.
  for (const auto& [times, outcome] :
       {std::pair{0.9, FaultClass::destroyed_contained}, std::pair{3.0, FaultClass::hazard}}) {
    Design fused = d;
    fused.brief.supply.current_limit_A = times * bare.contain_value;
    const FaultsResult r = all_of(fused, {"Q2"});
    const FaultCase& f = found(r, "Q2", "drain-source short");
    EXPECT_EQ(f.outcome, outcome) << times;
    EXPECT_EQ(f.fuse_s <= kInTime_s, outcome == FaultClass::destroyed_contained) << times;
  }
}

// A resettable fuse needs more than its rating's multiple of a time-lag one to open in time.
TEST(Faults, AResettableFuseOpensLater) {
  Design d = sound();
  d.brief.supply.protection = "resettable";
  const FaultsResult unfused = all_of(d, {"Q2"});
  const FaultCase& bare = found(unfused, "Q2", "drain-source short");
  ASSERT_EQ(bare.contain, Containment::smaller_fuse);
  for (const auto& [kind, times, outcome] :
       {std::tuple{"resettable", 0.9, FaultClass::destroyed_contained},
        std::tuple{"resettable", 1.3, FaultClass::hazard},
        std::tuple{"fuse", 1.3, FaultClass::destroyed_contained}}) {
    d.brief.supply.protection = kind;
    d.brief.supply.current_limit_A = times * bare.contain_value;
    const FaultsResult r = all_of(d, {"Q2"});
    EXPECT_EQ(found(r, "Q2", "drain-source short").outcome, outcome) << kind << " " << times;
  }
}

// A supply that acts on its limit gives a short no more than that, and so opens no fuse of its
// rating.
TEST(Faults, ALimitedSupplyGivesAShortItsLimit) {
  const Standing s(sound({"supply.current_limit=2 A", "supply.limit_behaviour=constant-current"}));
  const RunFigures f = s.in(s.of("Q2", "drain-source short").inject, "++");
  EXPECT_NEAR(supply_A(f), 2.0, 0.01);
  EXPECT_LT(f.rail_min_V, 0.5 * s.d.brief.supply.voltage_V);
}

// The stop of the brief, met half way at the latest.
TEST(Faults, TheStallRunsIntoTheStopOfTheBrief) {
  const Standing s(sound({"load.end_stop=100 deg"}));
  const Situation& stall = s.of("rotor", "held by an end stop");
  RunRequest r = stall.moving.front();
  r.alter = stall.inject;
  EXPECT_FALSE(r.plan.rotor_locked);
  Temperatures cold;
  cold.winding_K = s.value("ambient");
  const RunFigures f = run(s.d, s.c.spreads, typical(s.c.spreads), cold, r);
  EXPECT_EQ(f.outcome, Outcome::reached_end);
  EXPECT_GT(f.end_stop_Nm.value, 0.0);
  EXPECT_LT(f.steps_made, f.steps_commanded);
  const double half_rad = 0.5 * f.steps_commanded * 2 * kPi / s.d.brief.motor.steps_per_turn;
  EXPECT_LT(f.output_end_rad, 1.05 * half_rad);
  const double amps = s.value("supply.voltage") / s.value("motor.winding_resistance");
  EXPECT_LT(f.winding_a.peak_A, 1.5 * amps);  // the EMF of a rebound aids
}

// No part draws more from a source than a matched load: V^2/(4 R), at the highest supply. A part
// across the rail nearly gets it; what the leads themselves turn into heat is another matter.
TEST(Faults, AvailablePowerIsThatOfAMatchedLoad) {
  Design d = sound();
  d.brief.supply.resistance_ohm = 1.5;  // less than the leads bear, too
  const double v = d.brief.supply.voltage_V * (1 + d.brief.supply.tolerance),
               matched_W = v * v / (4 * d.brief.supply.resistance_ohm);
  ASSERT_LT(matched_W, kLittlePower_W);
  const FaultsResult r = all_of(d, {"C1", "Q2"});
  for (const FaultCase& f : r.cases) {
    const bool leads = std::any_of(f.harmed.begin(), f.harmed.end(),
                                   [](const Harm& h) { return h.subject == "supply leads"; });
    if (!leads) {
      EXPECT_LT(f.available_W, 1.02 * matched_W) << f.part << " " << f.fault;
    }
  }
  const FaultCase& c1 = found(r, "C1", "short");
  EXPECT_GT(c1.available_W, 0.9 * matched_W);
  EXPECT_NE(c1.outcome, FaultClass::hazard) << "less than 15 W";
}

TEST(Faults, ClassesOfWhatAnyoneWouldExpect) {
  const FaultsResult r =
      all_of(sound(), {"C1", "motor", "supplies", "program", "winding a", "rotor", "R1"});
  const auto is = [&](const char* part, const char* fault) {
    return found(r, part, fault).outcome;
  };
  EXPECT_EQ(is("C1", "open"), FaultClass::works_on);
  EXPECT_EQ(is("C1", "short"), FaultClass::hazard);
  EXPECT_EQ(is("motor", "unplugged"), FaultClass::stops_safely);
  EXPECT_EQ(is("supplies", "plugged in hot"), FaultClass::works_on);
  EXPECT_EQ(is("program", "frozen in state ++"), FaultClass::stops_safely);
  EXPECT_EQ(found(r, "winding a", "open").detected_by.substr(0, 14), "supply current");
  EXPECT_EQ(found(r, "C1", "open").detected_by, "latent");
  EXPECT_EQ(found(r, "program", "frozen in state ++").detected_by, "in use");
  for (const FaultCase& f : r.cases) {
    EXPECT_EQ(f.harmed.empty(),
              f.outcome == FaultClass::works_on || f.outcome == FaultClass::stops_safely)
        << f.part << f.fault;
    EXPECT_TRUE(std::isfinite(f.peak_A) && std::isfinite(f.peak_K) && f.available_W >= 0)
        << f.part << f.fault;
  }
}

TEST(Faults, EveryPartPinAndLeadHasItsOwn) {
  const Standing& s = sound_standing();
  const auto any = [&](const std::string& part, const std::string& like) {
    return std::any_of(s.list.begin(), s.list.end(), [&](const Situation& k) {
      return k.part == part && k.fault.find(like) != std::string::npos;
    });
  };
  for (const Place& p : s.d.wiring.places) {
    if (!s.d.parts.contains(p.role)) continue;
    EXPECT_TRUE(any(p.ref, "open")) << p.ref;
    EXPECT_TRUE(any(p.ref, "short")) << p.ref;
  }
  for (const Pin& p : s.d.wiring.pins)
    for (const char* fault : {"stuck high", "stuck low", "floating"})
      EXPECT_TRUE(any("pin " + p.name, fault)) << p.name;
  for (const auto* w : {&s.d.wiring.winding_a, &s.d.wiring.winding_b})
    for (const std::string& node : *w) {
      EXPECT_TRUE(any("lead " + node, "to ground"));
      EXPECT_TRUE(any("lead " + node, "to supply"));
    }
}

// Both pins of a leg high turn both its switches on: V/(R_source + 2 R_on) flows until something
// gives. Levels that a state of the drive has are those of a frozen program and not listed twice.
TEST(Faults, PatternsTheProgramNeverWritesAreHeld) {
  const Standing& s = sound_standing();
  std::set<std::string> shorting;
  std::size_t listed = 0, all = 0;
  for (const Situation& k : s.list) {
    if (!k.part.starts_with("pins ")) continue;
    ++listed;
    EXPECT_TRUE(k.fault.starts_with("held at ")) << k.fault;
    if (k.fault == "held at 11") shorting.insert(k.part);
  }
  for (const PinGroup& g : pin_groups(s.d)) {
    all += std::size_t{1} << g.pins.size();
    EXPECT_EQ(g.pins.size(), 2U);
  }
  EXPECT_EQ(shorting.size(), 4U);  // legs
  EXPECT_LT(listed, all);
  EXPECT_GE(listed, shorting.size());
  const std::string leg = *shorting.begin();
  const FaultsResult r = all_of(s.d, {leg});
  const FaultCase& f = found(r, leg, "held at 11");
  EXPECT_EQ(f.outcome, FaultClass::hazard);
  const double ohms =
      s.d.brief.supply.resistance_ohm + 2 * figure(s.d.parts.at("low_side"), "rds_max");
  EXPECT_GT(f.peak_A, 0.3 * s.d.brief.supply.voltage_V / ohms);
  EXPECT_LT(f.peak_A, 1.5 * s.d.brief.supply.voltage_V / ohms);
}

// Slots are written by index and nothing is shared: one thread or many, the same bits.
TEST(Faults, TheSameOnOneThread) {
  const Names parts = {"Q1", "winding b"};
  const FaultsResult one = all_of(sound(), parts, serial()), many = all_of(sound(), parts);
  ASSERT_EQ(one.cases.size(), many.cases.size());
  ASSERT_GT(one.cases.size(), 5u);
  for (std::size_t k = 0; k < one.cases.size(); ++k) {
    const FaultCase &a = one.cases[k], &b = many.cases[k];
    EXPECT_EQ(a.part, b.part);
    EXPECT_EQ(a.outcome, b.outcome);
    EXPECT_EQ(a.peak_A, b.peak_A) << a.part << a.fault;
    EXPECT_EQ(a.available_W, b.available_W) << a.part << a.fault;
  }
}

}  // namespace
}  // namespace pb
