// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Winding currents regulated by duty: the edges the drive code makes, and the current that comes of
// them, against closed forms. Source of the forms: N. Mohan, T. Undeland, W. Robbins, Power
// Electronics, 3rd ed. 2003, ch. 7: a series R and L on pulses of period T settles between
//   i_max = V/R (1 - e^(-D T/tau))/(1 - e^(-T/tau)) and i_min = i_max e^(-(1 - D) T/tau),
// mean D V/R; for tau >> T its ripple is V D (1 - D) T/L.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/part.h"
#include "physics/drive_table.h"
#include "physics/run.h"
#include "physics/watched_run.h"
#include "tests/rigs/firmware.h"
#include "tests/unit/delivery_samples.h"

namespace pb::physics {
namespace {

using rigs::Firmware;

bool has_class(const Template& t, const std::string& part_class) {
  return std::any_of(t.roles.begin(), t.roles.end(),
                     [&](const Role& r) { return r.part_class == part_class; });
}

/// A template with this decay, of a driver chip or of P and N switches.
Design chopped(const std::string& decay, bool chip, const std::string& sequence = "two-phase") {
  for (const Template& t : test::all_templates()) {
    if (!has_class(t, chip ? "bridge-chip" : "p-mosfet") || !supports(t, sequence) ||
        !t.measures.empty() || !supports_decay(t, sequence, decay))
      continue;
    Design d = test::design_of(t, false);
    Brief& b = d.brief;
    b.regulation.kind = "duty";
    b.regulation.frequency_Hz = 20e3;
    b.regulation.current_A = 0.3;
    b.controller.timer_tick_s = 1e-7;
    b.supply.resistance_ohm = 1e-3;
    b.supply.can_sink = "yes";
    b.supply.voltage_V = 24;
    b.motor.winding_resistance_ohm = 24;
    b.motor.winding_inductance_H = 4e-3;
    b.motion.rate_steps_s = 400;
    b.motion.hold = "on";
    b.motion.microsteps = 8;
    d.settings.sequence = sequence;
    d.settings.decay = decay;
    return d;
  }
  ADD_FAILURE() << "no template decays " << decay;
  return {};
}

struct Swing {
  double mean_A = 0, high_A = -1e300, low_A = 1e300;
};

/// Winding a over the last tenth of a hold.
Swing held(const Design& d, double dead_time_s) {
  RunRequest r;
  r.plan = plan_hold(d, holding_table(d, "++", dead_time_s), 40 / d.brief.regulation.frequency_Hz);
  const MeanSpan span = means_of(r.plan);
  Swing out;
  double before_s = -1, before_A = 0, charge = 0;
  const auto spreads = spreads_of(d);
  const RunFigures f =
      watched_run(d, spreads, typical(spreads), {}, r,
                  [&](const System& s, double t, const std::vector<double>& x) {
                    if (t < span.from_s) return;
                    const double i = x[static_cast<std::size_t>(s.winding_unknown(0))];
                    if (before_s >= 0) charge += 0.5 * (i + before_A) * (t - before_s);
                    before_s = t, before_A = i;
                    out.high_A = std::max(out.high_A, i), out.low_A = std::min(out.low_A, i);
                  });
  EXPECT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
  EXPECT_LT(std::abs(f.ledger.residual_J()), 1e-3 * f.ledger.throughput_J + 1e-6);
  out.mean_A = charge / (span.to_s - span.from_s);
  return out;
}

double on_resistance(const Design& d) {
  for (const auto& [role, part] : d.parts)
    if (is_driver_chip(*find_part_class(part.part_class))) return figure(part, "on_resistance_typ");
  return 0;
}

TEST(PhysicsChop, RippleAndMeanOfAShortedWinding) {
  // A chip's outputs are resistances in both halves of the period: the closed form holds as it is.
  Design d = chopped("slow", true);
  for (const double current : {0.15, 0.3, 0.6}) {
    d.brief.regulation.current_A = current;
    const double duty = current * 24.0 / 24.0, t = 50e-6, v = 24, ohms = 24.0 + on_resistance(d),
                 tau = 4e-3 / ohms;
    const double high = v / ohms * (1 - std::exp(-duty * t / tau)) / (1 - std::exp(-t / tau)),
                 low = high * std::exp(-(1 - duty) * t / tau);
    const Swing s = held(d, 0);
    // The capacitor's series resistance and the edges' thresholds (26 ns a period) take 0.5 %.
    EXPECT_NEAR(s.mean_A, duty * v / ohms, 6e-3 * duty * v / ohms) << current;
    EXPECT_NEAR(s.high_A - s.low_A, high - low, 1e-2 * (high - low)) << current;
  }
}

TEST(PhysicsChop, RippleIsTheTextbooksForALongTimeConstant) {
  Design d = chopped("slow", true);
  d.brief.motor.winding_resistance_ohm = 2.4;
  d.brief.regulation.current_A = 3.0;  // a duty of 0.3
  const Swing s = held(d, 0);
  EXPECT_NEAR(s.high_A - s.low_A, 24 * 0.3 * 0.7 * 50e-6 / 4e-3, 1e-3);  // 63 mA
}

TEST(PhysicsChop, DiodeTakesItsDropFromTheMean) {
  // D V - (1 - D) V_F over the winding; The switches' tens of milliohms lose next to
  // nothing, and at 2 kHz so do gates that go off more slowly than on.
  Design d = chopped("diode", false);
  d.brief.supply.voltage_V = 12;
  d.brief.motor.winding_resistance_ohm = 60;
  d.brief.motor.winding_inductance_H = 60e-3;
  d.brief.regulation.current_A = 0.1;
  d.brief.regulation.frequency_Hz = 2e3;
  const Swing s = held(d, 1e-6);
  EXPECT_LT(s.mean_A, (0.5 * 12 - 0.5 * 0.5) / 60);
  EXPECT_GT(s.mean_A, (0.5 * 12 - 0.5 * 0.9 - 0.1) / 60);
}

TEST(PhysicsChop, TurnedRoundTheSupplyNeedsMoreDuty) {
  const Design d = chopped("fast", true);
  EXPECT_NEAR(peak_duty(d.brief, "fast"), 0.65, 1e-12);
  EXPECT_NEAR(peak_duty(d.brief, "slow"), 0.3, 1e-12);
  Design more = d;
  more.brief.motor.winding_inductance_H = 40e-3;  // no pause in the current
  const Swing s = held(more, 0);
  const double ohms = 24 + on_resistance(d);
  // Mean voltage 0.65 V - 0.35 (V + 2 V_F), V_F of the body diodes between 0.6 and 1.1 V.
  EXPECT_LT(s.mean_A, (0.3 * 24 - 0.35 * 2 * 0.6) / ohms);
  EXPECT_GT(s.mean_A, (0.3 * 24 - 0.35 * 2 * 1.1) / ohms);
}

TEST(PhysicsChop, MicrostepsAreCosineAndSine) {
  const Design d = chopped("slow", true, "micro");
  const DriveTable t = drive_table(d, "micro", 0);
  ASSERT_EQ(t.flows.size(), 32u);
  // cos(k pi/16): P. Acarnley, Stepping Motors, 4th ed. 2002; to four digits.
  const double cosine[] = {1.0, 0.9808, 0.9239, 0.8315, 0.7071, 0.5556, 0.3827, 0.1951, 0.0};
  const double full = 500 * 0.3;  // ticks of the period, duty
  for (std::size_t k = 0; k < 32; ++k) {
    const std::size_t folded = k % 16 <= 8 ? k % 16 : 16 - k % 16;
    EXPECT_NEAR(t.on_a[k], full * cosine[folded], 0.51) << k;
    EXPECT_EQ(t.on_b[(k + 8) % 32], t.on_a[k]) << k;
    const char sign = t.on_a[k] == 0 ? '0' : (k < 8 || k > 24) ? '+' : '-';
    EXPECT_EQ(t.flows[k][0], sign) << k;
    EXPECT_EQ(t.flows[(k + 8) % 32][1], sign) << k;
  }
}

TEST(PhysicsChop, MicrostepsTurnTheMotorAndCurrentsAreSines) {
  Design d = chopped("slow", true, "micro");
  d.brief.motor.winding_inductance_H = 10e-3;
  d.brief.motion.rate_steps_s = 100;
  d.brief.supply.voltage_V = 12;
  d.brief.motor.back_emf_constant_Vs = 0.05;
  const auto spreads = spreads_of(d);
  RunRequest r;
  r.plan = plan_move(d, drive_table(d, "micro", 0), 8);
  EXPECT_EQ(r.plan.moving_states, 65);
  const RunFigures f = run(d, spreads, typical(spreads), {}, r);
  ASSERT_EQ(f.outcome, Outcome::reached_end) << f.trouble;
  EXPECT_EQ(f.steps_commanded, 8);
  EXPECT_EQ(f.steps_made, 8);
  EXPECT_LT(std::abs(f.end_error_step), 0.25);
  // A sine's peak over its rms is the root of two; ripple, lag of L/R and back-EMF leave 5 %.
  const double amplitude = 12 * peak_duty(d.brief, "slow") / (24 + on_resistance(d));
  EXPECT_NEAR(f.winding_a.rms_A * std::sqrt(2.0), amplitude, 0.05 * amplitude);
  EXPECT_NEAR(f.winding_b.rms_A * std::sqrt(2.0), amplitude, 0.05 * amplitude);
}

/// Ticks for which each pin was at its high level, of the given span.
std::map<int, std::int64_t> high_ticks(const Plan& p, std::int64_t from, std::int64_t to) {
  std::map<int, std::int64_t> out, since;
  for (const PinWrite& w : p.writes) {
    if (const auto s = since.find(w.pin); s != since.end()) {
      out[w.pin] += std::max<std::int64_t>(std::min(w.tick, to) - std::max(s->second, from), 0);
      since.erase(s);
    }
    if (w.level == '1') since[w.pin] = w.tick;
  }
  for (const auto& [pin, tick] : since)
    out[pin] += std::max<std::int64_t>(to - std::max(tick, from), 0);
  return out;
}

TEST(PhysicsChop, DutyIsKeptToTheTick) {
  const Design d = chopped("diode", false);
  const Plan p = plan_hold(d, holding_table(d, "++", 3e-6), 2e-3);
  // 40 periods of 500 ticks, 0.3 of each.
  int chopping = 0;
  for (const auto& [pin, ticks] : high_ticks(p, 0, 20000)) {
    const bool on_is_high = d.wiring.pins[static_cast<std::size_t>(pin)].off == '0';
    const std::int64_t on = on_is_high ? ticks : 20000 - ticks;
    EXPECT_TRUE(on == 0 || on == 20000 || on == 40 * 150) << pin << ' ' << on;
    chopping += on == 40 * 150;
  }
  EXPECT_EQ(chopping, 2);  // one switch a winding
}

TEST(PhysicsChop, PartnersNeverShareADeadTime) {
  for (const char* decay : {"slow", "diode", "fast"}) {
    const Design d = chopped(decay, false, "micro");
    const DriveTable table = drive_table(d, "micro", 4e-6);
    const Plan p = plan_move(d, table, 16);
    const std::int64_t dead = table.c.dead_ticks;
    EXPECT_EQ(dead, 40);
    EXPECT_EQ(table.c.chop.dead_ticks, std::string(decay) == "slow" ? 40 : 0);
    // Pins of a leg, by what they steer: two pins that are on together in no state of the drive but
    // belong to one winding, one on in '+' and in no other where the other is.
    std::map<int, std::int64_t> off_since;
    std::map<int, bool> on;
    const auto partner = [&](int pin) {  // pins are a1h a1l a2h a2l: neighbours
      return pin ^ 1;
    };
    long edges = 0;
    for (const PinWrite& w : p.writes) {
      const bool is_on = w.level != d.wiring.pins[static_cast<std::size_t>(w.pin)].off;
      if (is_on && !on[w.pin]) {
        EXPECT_FALSE(on[partner(w.pin)]) << decay << ' ' << w.tick;
        if (off_since.contains(partner(w.pin))) {
          EXPECT_GE(w.tick - off_since[partner(w.pin)], dead) << decay << ' ' << w.tick;
        }
        ++edges;
      }
      if (!is_on && on[w.pin]) off_since[w.pin] = w.tick;
      on[w.pin] = is_on;
    }
    EXPECT_GT(edges, 1000) << decay;
  }
}

TEST(PhysicsChop, ReducedHoldIsLessCurrentAndAMoveRestoresIt) {
  Design d = chopped("diode", false);
  d.brief.motion.hold = "reduced";
  d.brief.regulation.hold_share = 0.25;
  Firmware f(drive_table(d, "two-phase", 1e-6));
  ASSERT_EQ(pb_drive_move(&f.drive, 4), 1);
  while (f.drive.mode != PB_HOLDING) f.expire();
  EXPECT_EQ(f.drive.on[0], 150);
  const std::uint64_t stopped = f.now;
  while (f.drive.on[0] == 150 && f.now < stopped + 10'000'000) f.expire();
  EXPECT_EQ(f.drive.on[0], 37);  // 150 * 64/256, rounded down
  EXPECT_EQ(f.drive.on[1], 37);
  EXPECT_EQ(f.now - stopped, f.table.hold_ticks);
  ASSERT_EQ(pb_drive_move(&f.drive, 4), 1);
  EXPECT_EQ(f.drive.on[0], 150);
  // Twice the current is a quarter of it twice: the hold run is at the reduced one.
  EXPECT_EQ(holding_table(d, "++", 1e-6).on_a.front(), 38);
}

TEST(PhysicsChop, ReducedHoldKeepsItsShareWhereTheSupplyIsTurnedRound) {
  Design d = chopped("fast", true);
  d.brief.motion.hold = "reduced";
  d.brief.regulation.hold_share = 0.5;
  Firmware f(drive_table(d, "two-phase", 0));
  ASSERT_EQ(pb_drive_move(&f.drive, 4), 1);
  while (f.drive.mode != PB_HOLDING) f.expire();
  const std::uint64_t stopped = f.now;
  while (f.now < stopped + f.table.hold_ticks) f.expire();
  EXPECT_EQ(f.drive.on[0], 250 + 75 / 2);  // half of what lies above half the period
}

TEST(PhysicsChop, FaultEndsTheChoppingAtOnce) {
  const Design d = chopped("slow", false, "micro");
  const DriveTable table = drive_table(d, "micro", 4e-6);
  for (int expiries = 0; expiries < 400; expiries += 7) {
    Firmware f(table);
    ASSERT_EQ(pb_drive_move(&f.drive, 40), 1);
    for (int k = 0; k < expiries && f.timer != 0; ++k) f.expire();
    pb_drive_fault(&f.drive);
    EXPECT_EQ(f.drive.now.high, table.c.safe.high) << expiries;
    EXPECT_EQ(f.drive.now.driven, table.c.safe.driven) << expiries;
    for (int k = 0; k < 4 && f.timer != 0; ++k) f.expire();
    EXPECT_EQ(f.timer, 0u);
  }
}

TEST(PhysicsChop, StatesKeepTheirTimesWhateverIsChopped) {
  Design d = chopped("slow", false, "micro");
  d.brief.motion.rate_steps_s = 1000;
  d.brief.motion.start_rate_steps_s = 100;
  d.brief.motion.ramp_steps_s2 = 5000;
  Design plain = d;
  plain.brief.regulation.kind = "none";
  const Plan p = plan_move(d, drive_table(d, "micro", 4e-6), 60),
             q = plan_move(plain, drive_table(plain, "micro", 4e-6), 60);
  ASSERT_EQ(p.states.size(), q.states.size());
  for (std::size_t k = 0; k < p.states.size(); ++k)
    EXPECT_EQ(p.states[k].t_s, q.states[k].t_s) << k;
}

}  // namespace
}  // namespace pb::physics
