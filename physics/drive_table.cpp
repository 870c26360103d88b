// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/drive_table.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "physics/plan.h"

namespace pb::physics {
namespace {

constexpr double kLongestInterval = 268435456.0;  // 2^28: eight times that fits into 32 bits
constexpr int kMostFractionBits = 8;

/// Long enough for currents (L/R) and for any gate behind 100 kohm and 1 nF to come to rest.
double settling_time(const MotorBrief& m) {
  return 12.0 * m.winding_inductance_H / m.winding_resistance_ohm + 1e-3;
}

std::uint32_t ticks(double t_s, double tick_s) {
  constexpr double kRounding = 1e-6;  // of a tick: a whole number of ticks stays that number
  const double n = std::ceil(t_s / tick_s - kRounding);
  return static_cast<std::uint32_t>(
      std::clamp(n, 0.0, double{std::numeric_limits<std::uint32_t>::max()}));
}

pb_levels levels_of(const std::string& text) {
  pb_levels out{0, 0};
  for (std::size_t k = 0; k < text.size(); ++k) {
    const auto bit = static_cast<std::uint16_t>(1u << k);
    if (text[k] != 'z') out.driven |= bit;
    if (text[k] == '1') out.high |= bit;
  }
  return out;
}

/// The state's levels; false if the wiring has no such state.
bool levels_of_flow(const Template& t, const std::string& flow, pb_levels& out) {
  PlannedState s;
  if (!find_state(t, flow, s)) return false;
  out = levels_of(s.levels);
  return true;
}

pb_ramp ramp_of(const MotionBrief& m, int per_step, double tick_s) {
  const double v0 = start_rate(m) * per_step, v1 = m.rate_steps_s * per_step;
  const double cruise_ticks = 1.0 / v1 / tick_s;
  double first_ticks = cruise_ticks, sixteenths = 0;
  if (v0 < v1) {
    // The start value belongs to the state number that the tables can say, so that the law further
    // up is met.
    const double a = m.ramp_steps_s2 * per_step;
    sixteenths = std::round(16.0 * v0 * v0 / (2.0 * a));
    first_ticks =
        std::max(ramp_start(sixteenths / 16.0) * std::sqrt(2.0 / a) / tick_s, cruise_ticks);
  }
  pb_ramp r{};
  int bits = kMostFractionBits;
  while (bits > 0 && std::ldexp(first_ticks, bits) >= kLongestInterval) --bits;
  PB_CHECK(std::ldexp(first_ticks, bits) < kLongestInterval, "an interval has too many ticks");
  r.fraction_bits = static_cast<std::uint8_t>(bits);
  r.first = static_cast<std::uint32_t>(std::lround(std::ldexp(first_ticks, bits)));
  r.cruise = static_cast<std::uint32_t>(std::lround(std::ldexp(cruise_ticks, bits)));
  r.divisor = static_cast<std::uint32_t>(sixteenths) + 4u;
  return r;
}

void set_pins(DriveTable& out, const Template& t) {
  PB_CHECK(t.pins.size() <= 16, "more pins than the drive code has");
  out.c.pins = static_cast<std::uint8_t>(t.pins.size());
  for (std::size_t k = 0; k < t.pins.size(); ++k) {
    out.order.push_back(static_cast<std::uint8_t>(k));
    const auto bit = static_cast<std::uint16_t>(1u << k);
    if (t.pins[k].off != '-') out.c.has_off |= bit;
    if (t.pins[k].off == '1') out.c.off_high |= bit;
  }
}

/// Everything off where the wiring can, else shorted windings, else each switch for itself.
void set_safe(DriveTable& out, const Template& t) {
  for (const char* flow : {"00", "bb"})
    if (levels_of_flow(t, flow, out.c.safe)) {
      out.safe_flow = flow;
      return;
    }
  std::string levels;
  for (const Pin& p : t.pins) levels += p.off == '-' ? 'z' : p.off;
  out.c.safe = levels_of(levels);
}

void set_releases(DriveTable& out, const Design& d) {
  const auto add = [&](const char* flow, double for_s) {
    pb_release& r = out.c.release[out.c.releases];
    if (!levels_of_flow(d.wiring, flow, r.levels)) return;
    r.ticks = ticks(for_s, out.tick_s);
    out.release_flows.emplace_back(flow);
    ++out.c.releases;
  };
  if (d.settings.stop == "brake") add("bb", kBrake_s);
  add("00", 0);
}

DriveTable table_without_ramp(const Design& d, const std::vector<std::string>& flows,
                              double dead_time_s) {
  DriveTable out;
  out.tick_s = d.brief.controller.timer_tick_s;
  out.flows = flows;
  for (const std::string& f : flows) {
    pb_levels levels{};
    PB_CHECK(levels_of_flow(d.wiring, f, levels), f);
    out.sequence.push_back(levels);
  }
  out.c.states = static_cast<std::uint8_t>(flows.size());
  set_pins(out, d.wiring);
  set_safe(out, d.wiring);
  out.c.dead_ticks = ticks(dead_time_s, out.tick_s);
  out.c.wake_ticks = std::max(ticks(settling_time(d.brief.motor), out.tick_s), 1u);
  return out;
}

}  // namespace

pb_table DriveTable::view() const {
  pb_table out = c;
  out.sequence = sequence.data();
  out.order = order.data();
  return out;
}

double hold_before_release(const MotionBrief& m) {
  constexpr double kSettled_s = 0.1;  // a rotor's swing has mostly died down; from memory
  return std::max(3.0 / m.rate_steps_s, kSettled_s);
}

double ramp_start(double n0) {
  // A thousand states up the recurrence and the exact law differ by less than 1e-6.
  constexpr int kUp = 1000;
  const double n = n0 + kUp;
  double c = std::sqrt(n + 1.0) - std::sqrt(n);
  for (int k = kUp; k > 0; --k) c *= (4.0 * (n0 + k) + 1.0) / (4.0 * (n0 + k) - 1.0);
  return c;
}

DriveTable drive_table(const Design& d, const std::string& sequence, double dead_time_s) {
  const auto flows = flows_of(sequence);
  PB_CHECK(!flows.empty(), sequence);
  DriveTable out = table_without_ramp(d, flows, dead_time_s);
  out.per_step = sequence == "half" ? 2 : 1;
  out.c.ramp = ramp_of(d.brief.motion, out.per_step, out.tick_s);
  if (d.brief.motion.hold == "off") set_releases(out, d);
  out.c.hold_ticks = ticks(hold_before_release(d.brief.motion), out.tick_s);
  return out;
}

DriveTable standing_table(const Design& d, const std::string& flow, double dead_time_s) {
  return table_without_ramp(d, {flow}, dead_time_s);
}

}  // namespace pb::physics
