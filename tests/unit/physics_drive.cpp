// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The drive code, and the plans made by running it: ramp against the published recurrence and the
// square-root law, order and dead time of pin writes, what it does at reset, at a stop, on a fault.
#include "physics/drive_table.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <gtest/gtest.h>

#include "physics/plan.h"
#include "tests/rigs/firmware.h"
#include "tests/unit/delivery_samples.h"

namespace pb::physics {
namespace {

using rigs::Firmware;

Design design_with(const Template& wiring) {
  Design d = test::design_of(wiring, false);
  d.brief.motion.rate_steps_s = 1000;
  d.brief.motion.start_rate_steps_s = 0.1;
  d.brief.motion.ramp_steps_s2 = 2000;
  d.brief.motion.hold = "off";
  return d;
}

/// A template with as many pins as the rest of the test wants.
Design with_pins(bool off_levels) {
  for (const Template& t : test::all_templates())
    if ((t.pins.front().off != '-') == off_levels) return design_with(t);
  ADD_FAILURE() << "no such template";
  return {};
}

TEST(PhysicsDrive, RampIsThePublishedRecurrence) {
  // Timer 1 MHz, 200 steps/s2, start value 0.676 sqrt(2/200) s; the intervals and their sums as the
  // recurrence of D. Austin 2004 gives them.
  struct Row {
    std::size_t n;
    double interval, sum;
  };
  const Row rows[] = {
      {0, 67600.0000, 67600.000},   {1, 40560.0000, 108160.000},  {2, 31546.6667, 139706.667},
      {3, 26693.3333, 166400.000},  {4, 23552.9412, 189952.941},  {5, 21309.8039, 211262.745},
      {10, 15428.6480, 297915.933}, {100, 4987.6995, 971221.452}, {1000, 1580.7946, 3130160.299}};
  DriveTable t = drive_table(with_pins(true), "two-phase", 0);
  t.c.ramp = {67600u << 8, 100u << 8, 4, 8};
  Firmware f(t);
  ASSERT_EQ(pb_drive_move(&f.drive, 4000), 1);
  f.run();
  const auto intervals = f.intervals();
  for (const Row& r : rows) {
    EXPECT_NEAR(static_cast<double>(intervals.at(r.n)), r.interval, 1.0 + 1e-5 * r.interval) << r.n;
    EXPECT_NEAR(static_cast<double>(f.begun.at(r.n + 1) - f.begun[0]), r.sum, 2.0 + 1e-6 * r.sum)
        << r.n;
  }
}

TEST(PhysicsDrive, StartValueIsAustinsAndTheLimitOfTheExactLaw) {
  EXPECT_NEAR(ramp_start(0), 0.675978, 1e-6);  // Gamma(3/4)/(2 Gamma(5/4))
  for (const double n0 : {0.3, 1.0, 6.25, 40.0})
    EXPECT_NEAR(ramp_start(n0), 0.5 * std::exp(std::lgamma(n0 + 0.75) - std::lgamma(n0 + 1.25)),
                1e-6);
}

TEST(PhysicsDrive, RampFollowsTheSquareRootLaw) {
  // s = v0 t + a t^2/2 backwards; v^2 = v0^2 + 2 a s.
  for (const double v0 : {0.1, 30.0, 100.0, 400.0}) {
    Design d = with_pins(true);
    d.brief.motion.start_rate_steps_s = v0;
    const double a = d.brief.motion.ramp_steps_s2, v1 = d.brief.motion.rate_steps_s;
    const double ramp = (v1 * v1 - v0 * v0) / (2 * a);
    Firmware f(drive_table(d, "two-phase", 0));
    ASSERT_EQ(pb_drive_move(&f.drive, 2000), 1);
    f.run();
    ASSERT_EQ(f.begun.size(), 2001u);
    const double tick = d.brief.controller.timer_tick_s;
    const auto time = [&](std::size_t k) {
      return tick * (static_cast<double>(f.begun[k]) - static_cast<double>(f.begun[100]));
    };
    const auto law = [&](double s) { return (std::sqrt(v0 * v0 + 2 * a * s) - v0) / a; };
    for (std::size_t k = 10; k < ramp; ++k)
      EXPECT_NEAR(time(k), law(double(k)) - law(100), 2e-3 * law(double(k))) << v0 << ' ' << k;
    // Cruise, then the same ramp down.
    EXPECT_NEAR(time(1500) - time(500), 1000 / v1, 1e-6);
    const auto up = f.intervals();
    for (std::size_t k = 0; k < ramp - 1; ++k)
      EXPECT_NEAR(double(up[k]), double(up[up.size() - 1 - k]), 2.0) << v0 << ' ' << k;
    EXPECT_EQ(f.drive.position, 2000);
  }
}

TEST(PhysicsDrive, ShortMovesTurnRoundBeforeTheRate) {
  Firmware f(drive_table(with_pins(true), "two-phase", 0));
  for (const int states : {1, 2, 3, 20, 21}) {
    f.begun.clear();
    ASSERT_EQ(pb_drive_move(&f.drive, states), 1);
    f.run();
    const auto t = f.intervals();
    ASSERT_EQ(t.size(), static_cast<std::size_t>(states));
    for (std::size_t k = 0; k < t.size(); ++k)
      EXPECT_NEAR(double(t[k]), double(t[t.size() - 1 - k]), 2.0) << states << ' ' << k;
    EXPECT_EQ(std::min_element(t.begin(), t.end()) - t.begin(), (states - 1) / 2);
  }
  EXPECT_EQ(f.drive.position, 47);
  ASSERT_EQ(pb_drive_move(&f.drive, -47), 1);
  f.run();
  EXPECT_EQ(f.drive.position, 0);
  EXPECT_EQ(f.drive.index, 0);
}

TEST(PhysicsDrive, StopSlowsDownOnTheRamp) {
  Firmware f(drive_table(with_pins(true), "two-phase", 0));
  ASSERT_EQ(pb_drive_move(&f.drive, 100000), 1);
  while (f.begun.size() < 100) f.expire();
  const std::size_t climbed = f.drive.climbed;
  pb_drive_stop(&f.drive);
  f.run();
  EXPECT_EQ(f.begun.size(), 100 + climbed + 1);
  EXPECT_EQ(f.drive.mode, PB_RESTING);
  const auto t = f.intervals();
  EXPECT_NEAR(double(t.back()), double(t.front()), 2.0);

  const std::int32_t stood = f.drive.position;
  ASSERT_EQ(pb_drive_move(&f.drive, 100), 1);
  EXPECT_EQ(f.drive.mode, PB_WAKING);
  pb_drive_stop(&f.drive);
  f.run();
  EXPECT_EQ(f.drive.mode, PB_RESTING);
  EXPECT_EQ(f.drive.position, stood);
}

/// Levels the pins are at when everything up to the tick has been written.
std::string levels_at(const Plan& p, std::size_t pins, std::int64_t tick) {
  std::string out(pins, 'z');
  for (const PinWrite& w : p.writes)
    if (w.tick <= tick) out[static_cast<std::size_t>(w.pin)] = w.level;
  return out;
}

TEST(PhysicsDrive, SwitchesGoOffBeforeOthersGoOn) {
  for (const Template& wiring : test::all_templates())
    for (const char* sequence : {"two-phase", "one-phase", "half"}) {
      if (!supports(wiring, sequence)) continue;
      SCOPED_TRACE(wiring.title + ", " + sequence);
      const Design d = design_with(wiring);
      constexpr double kDead_s = 37.2e-6;  // not a whole number of ticks: rounded up
      const DriveTable table = drive_table(d, sequence, kDead_s);
      const Plan p = plan_move(d, table, 24);
      ASSERT_EQ(table.c.dead_ticks, 38u);
      for (std::size_t k = 0; k < p.states.size(); ++k) {
        const auto begin = std::llround(p.states[k].t_s / p.tick_s);
        const std::string before =
            k == 0 ? levels_at(p, wiring.pins.size(), -std::int64_t{table.c.wake_ticks})
                   : p.states[k - 1].levels;
        std::string between = p.states[k].levels;  // those that turn on are still to come
        for (std::size_t i = 0; i < between.size(); ++i)
          if (wiring.pins[i].off != '-' && between[i] != wiring.pins[i].off) between[i] = before[i];
        if (k > 0) {
          EXPECT_EQ(levels_at(p, before.size(), begin - 1), before) << k;
          EXPECT_EQ(levels_at(p, before.size(), begin), between) << k;
          EXPECT_EQ(levels_at(p, before.size(), begin + 37), between) << k;
        }
        EXPECT_EQ(levels_at(p, before.size(), begin + 38), p.states[k].levels) << k;
      }
    }
}

TEST(PhysicsDrive, MovesEndAsTheSettingsSay) {
  for (const Template& wiring : test::all_templates()) {
    if (!supports(wiring, "two-phase")) continue;
    SCOPED_TRACE(wiring.title);
    Design d = design_with(wiring);
    PlannedState ignored;
    const bool brakes = find_state(wiring, "bb", ignored),
               opens = find_state(wiring, "00", ignored);
    const auto ends = [&](const char* stop, const char* hold) {
      d.settings.stop = stop;
      d.brief.motion.hold = hold;
      const Plan p = plan_move(d, drive_table(d, "two-phase", 1e-6), 4);
      std::string out;
      for (std::size_t k = 5; k < p.states.size(); ++k) out += p.states[k].flow + " ";
      EXPECT_EQ(p.moving_states, 5);
      EXPECT_NEAR(p.end_s - p.states.back().t_s, 0.1, 1e-9);
      return out;
    };
    EXPECT_EQ(ends("brake", "on"), "");
    EXPECT_EQ(ends("coast", "off"), opens ? "00 " : "");
    EXPECT_EQ(ends("brake", "off"), std::string(brakes ? "bb " : "") + (opens ? "00 " : ""));
  }
}

TEST(PhysicsDrive, FaultIsSafeFromAnyMomentAndStays) {
  for (const bool off_levels : {true, false}) {
    const Design d = with_pins(off_levels);
    const DriveTable table = drive_table(d, "two-phase", 50e-6);
    for (int expiries = 0; expiries < 60; ++expiries) {
      Firmware f(table);
      EXPECT_EQ(pb_drive_busy(&f.drive), 0);
      pb_drive_move(&f.drive, 12);
      for (int k = 0; k < expiries && f.timer != 0; ++k) f.expire();
      pb_drive_fault(&f.drive);
      f.run();
      EXPECT_EQ(f.drive.mode, PB_FAULT);
      EXPECT_EQ(f.drive.now.high, table.c.safe.high) << expiries;
      EXPECT_EQ(f.drive.now.driven, table.c.safe.driven) << expiries;
      EXPECT_EQ(pb_drive_move(&f.drive, 1), 0);
      pb_drive_clear(&f.drive);
      EXPECT_EQ(pb_drive_move(&f.drive, 1), 1);
    }
  }
}

TEST(PhysicsDrive, ResetWritesTheSafeState) {
  const DriveTable table = drive_table(with_pins(true), "two-phase", 50e-6);
  const Firmware f(table);
  ASSERT_EQ(f.pins.size(), table.order.size());
  for (const auto& [pin, level] : f.pins) {
    EXPECT_EQ(level, (table.c.off_high >> pin) & 1) << pin;  // off, every one
  }
}

TEST(PhysicsDrive, MovesAreRefusedWhileMoving) {
  Firmware f(drive_table(with_pins(true), "two-phase", 50e-6));
  EXPECT_EQ(pb_drive_move(&f.drive, 0), 1);
  EXPECT_EQ(pb_drive_busy(&f.drive), 0);
  ASSERT_EQ(pb_drive_move(&f.drive, 3), 1);
  while (f.drive.mode != PB_HOLDING) {
    EXPECT_EQ(pb_drive_busy(&f.drive), 1);
    EXPECT_EQ(pb_drive_move(&f.drive, 1), 0);
    f.expire();
  }
  EXPECT_EQ(pb_drive_move(&f.drive, 1), 0);  // within the dead time
  f.expire();
  EXPECT_EQ(pb_drive_move(&f.drive, 1), 1);  // from hold: no waking
  EXPECT_EQ(f.drive.mode, PB_MOVING);
}

TEST(PhysicsDrive, CoarseTicksKeepTheMeanRate) {
  Design d = with_pins(true);
  d.brief.motion = {};
  d.brief.motion.rate_steps_s = 150;
  d.brief.controller.timer_tick_s = 1e-3;  // 6 2/3 ticks a step
  Firmware f(drive_table(d, "two-phase", 0));
  ASSERT_EQ(pb_drive_move(&f.drive, 900), 1);
  f.run();
  EXPECT_NEAR(double(f.begun.back() - f.begun.front()) * 1e-3, 6.0, 0.02);
}

}  // namespace
}  // namespace pb::physics
