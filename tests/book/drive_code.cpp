// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "drive/pb_drive.h"

#include <cmath>

#include "tests/book/topics.h"
#include "tests/rigs/firmware.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using rigs::Firmware;

const Source kAustin{
    "recurrence of Austin, Embedded Systems Programming, 30 Dec 2004, evaluated in another "
    "language: 1 MHz, 200 steps/s², 0.676 √(2/a) first",
    Basis::published_law};

Design ramped(double tick_s, double ramp_steps_s2, double rate_steps_s) {
  Design d = test::small_design(test::shipped().front());
  d.brief.controller.timer_tick_s = tick_s;
  d.brief.motion.ramp_steps_s2 = ramp_steps_s2;
  d.brief.motion.rate_steps_s = rate_steps_s;
  d.brief.motion.start_rate_steps_s = 0.01;
  return d;
}

void run(Firmware& f, int states) {
  pb_drive_move(&f.drive, states);
  f.run();
}

/// The states' beginnings with the table's own ramp at a tick of 1 us.
std::vector<std::uint64_t> published_ramp() {
  const Design d = ramped(1e-6, 200, 10000);
  physics::DriveTable t = physics::drive_table(d, d.settings.sequence, 0);
  t.c.ramp.first = 67600u << t.c.ramp.fraction_bits;
  t.c.ramp.divisor = 4;
  Firmware f(t);
  run(f, 4000);
  return f.begun;
}

void add_recurrence(std::vector<Row>& rows) {
  struct Point {
    std::size_t n;
    double interval;
  };
  for (const Point& p : {Point{1, 40560}, Point{2, 31546.6667}, Point{5, 21309.8039},
                         Point{10, 15428.6480}, Point{100, 4987.6995}, Point{1000, 1580.7946}})
    rows.push_back(
        {"ramp-" + std::to_string(p.n),
         "Interval after state " + std::to_string(p.n) + " of the ramp, whole ticks of the C code",
         kAustin, p.interval, "µs", by(1.0),
         [p](const Skew&) {
           const auto t = published_ramp();
           return static_cast<double>(t.at(p.n + 1) - t.at(p.n));
         },
         7});
  rows.push_back({"ramp-sum", "Time from the first state to the 1001st, rounding carried along",
                  kAustin, 3130160.299, "µs", within(1e-6),
                  [](const Skew&) {
                    const auto t = published_ramp();
                    return static_cast<double>(t.at(1001) - t.at(0));
                  },
                  7});
}

void add_ramp(std::vector<Row>& rows) {
  rows.push_back({"ramp-start",
                  "First interval over √(2/a)",
                  {"Γ(3/4)/(2 Γ(5/4)), limit of the recurrence; printed as 0.676 by Austin",
                   Basis::closed_form},
                  std::tgamma(0.75) / (2 * std::tgamma(1.25)),
                  "",
                  within(2e-6),
                  [](const Skew&) { return physics::ramp_start(0); }});
  rows.push_back({"ramp-length",
                  "States of a ramp at 2000 steps/s² to 1000 steps/s",
                  {"v²/(2a)", Basis::closed_form},
                  250,
                  "",
                  by(1),
                  [](const Skew&) {
                    const Design d = ramped(1e-6, 2000, 1000);
                    Firmware f(physics::drive_table(d, d.settings.sequence, 0));
                    pb_drive_move(&f.drive, 2000);
                    while (!f.drive.cruising) f.expire();
                    return static_cast<double>(f.drive.climbed);
                  },
                  3});
  // Not from rest: Austin's short first interval brings the whole ramp forward by a third of it.
  rows.push_back({"ramp-time",
                  "Time from state 100 to state 225 of that ramp",
                  {"√(2n/a)", Basis::closed_form},
                  std::sqrt(2 * 225 / 2000.0) - std::sqrt(2 * 100 / 2000.0),
                  "s",
                  within(1e-4),
                  [](const Skew&) {
                    const Design d = ramped(1e-6, 2000, 1000);
                    Firmware f(physics::drive_table(d, d.settings.sequence, 0));
                    run(f, 2000);
                    return 1e-6 * static_cast<double>(f.begun.at(225) - f.begun.at(100));
                  },
                  5});
}

}  // namespace

Topic drive_code() {
  Topic t{"Drive code", "The C code that is handed over, run on a timer of 1 µs.", {}};
  add_recurrence(t.rows);
  add_ramp(t.rows);
  return t;
}

}  // namespace pb::book
