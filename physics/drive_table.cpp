// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/drive_table.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "base/math.h"
#include "physics/decay.h"
#include "physics/plan.h"
#include "physics/sense_path.h"

namespace pb::physics {
namespace {

constexpr double kLongestInterval = 268435456.0;  // 2^28: eight times that fits into 32 bits
constexpr int kMostFractionBits = 8;
/// What a clocked pin pumps up is there: with equal capacitors each period halves what is missing.
constexpr double kPumpPeriods = 20;

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

char relaxed_sign(char flow, const std::string& decay) {
  if (flow != '+' && flow != '-') return flow;
  if (decay == "slow" || decay == "mixed") return 'b';  // mixed: in the end
  if (decay == "fast") return '0';
  return flow == '+' ? 'p' : 'm';
}

/// Whether going to the relaxed state, or back, turns on the partner of a switch that goes off.
bool turns_partner_on(const Template& t, const PlannedState& driven, const PlannedState& relaxed) {
  const auto any_on = [](const std::vector<std::string>& refs, const PlannedState& s) {
    return std::any_of(refs.begin(), refs.end(), [&](const std::string& r) {
      return std::find(s.on.begin(), s.on.end(), r) != s.on.end();
    });
  };
  return std::any_of(t.legs.begin(), t.legs.end(), [&](const Leg& l) {
    return (any_on(l.high, driven) && any_on(l.low, relaxed)) ||
           (any_on(l.low, driven) && any_on(l.high, relaxed));
  });
}

/// Peak of a winding in a state of the sequence, over its greatest.
double share_of(const std::string& sequence, std::size_t state, std::size_t states, int winding) {
  if (sequence != "micro") return 1.0;
  const double angle = 2.0 * kPi * static_cast<double>(state) / static_cast<double>(states);
  return std::abs(winding == 0 ? std::cos(angle) : std::sin(angle));
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

void describe_pins(DriveTable& out, const Template& t) {
  PB_CHECK(t.pins.size() <= 16, "more pins than the drive code has");
  const std::size_t pins = set_pins(t);  // a timer has the others
  out.c.pins = static_cast<std::uint8_t>(pins);
  for (std::size_t k = 0; k < pins; ++k) {
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
  describe_pins(out, d.wiring);
  set_safe(out, d.wiring);
  out.c.dead_ticks = ticks(dead_time_s, out.tick_s);
  double wake_s = settling_time(d.brief.motor);
  if (const double clock_Hz = clock_of(d.wiring); clock_Hz > 0) wake_s += kPumpPeriods / clock_Hz;
  out.c.wake_ticks = std::max(ticks(wake_s, out.tick_s), 1u);
  return out;
}

std::uint16_t short_ticks(double n) {
  constexpr double kMost = std::numeric_limits<std::uint16_t>::max();
  return static_cast<std::uint16_t>(std::lround(std::clamp(n, 0.0, kMost)));
}

/// `share`: of a winding's peak, by state and winding.
void set_chop(DriveTable& out, const Design& d,
              const std::function<double(std::size_t, int)>& share) {
  const Template& t = d.wiring;
  pb_chop& c = out.c.chop;
  c.period = short_ticks(1.0 / (d.brief.regulation.frequency_Hz * out.tick_s));
  PB_CHECK(c.period > 0, d.brief.regulation.frequency_Hz);
  for (const DriveGroup& g : t.groups)
    for (const std::string& name : g.pins)
      if (g.windings == "a")
        c.pins_a |= static_cast<std::uint16_t>(1u << (find_pin(t, name) - t.pins.data()));
  const double duty = peak_duty(d.brief, d.settings.decay);
  // Where the decay turns the supply round, half the time on is no current at all.
  const double idle = d.settings.decay == "fast" ? 0.5 : 0.0;
  c.idle = short_ticks(idle * c.period);
  for (std::size_t k = 0; k < out.flows.size(); ++k) {
    out.relaxed_flows.push_back(relaxed_flow(out.flows[k], d.settings.decay));
    pb_levels levels{};
    PB_CHECK(levels_of_flow(t, out.relaxed_flows[k], levels), out.relaxed_flows[k]);
    out.relaxed.push_back(levels);
    for (int w : {0, 1}) {
      const bool flows = out.flows[k][static_cast<std::size_t>(w)] != '0';
      const double on = flows ? c.period * mix(idle, duty, share(k, w)) : 0.0;
      (w == 0 ? out.on_a : out.on_b).push_back(short_ticks(on));
    }
    PlannedState driven, relaxed;
    find_state(t, out.flows[k], driven);
    find_state(t, out.relaxed_flows[k], relaxed);
    if (turns_partner_on(t, driven, relaxed)) c.dead_ticks = short_ticks(out.c.dead_ticks);
  }
  c.hold_256ths = 256;
  if (d.brief.motion.hold == "reduced")
    c.hold_256ths = short_ticks(256.0 * d.brief.regulation.hold_share);
}

/// What the analog outputs of the controller are put on, as shares of the logic supply.
void set_references(DriveTable& out, const Design& d,
                    const std::function<double(std::size_t, int)>& share) {
  constexpr double kFull = 65535;
  for (int w : {0, 1}) {
    const double full = reference_share(d, w);
    for (std::size_t k = 0; k < out.flows.size(); ++k)
      (w == 0 ? out.reference_a : out.reference_b)
          .push_back(short_ticks(kFull * std::min(full * share(k, w), 1.0)));
  }
  if (!d.wiring.measures.front().reached.empty()) {  // timers of the controller take the pins there
    const auto add = [&](const std::string& decay, std::vector<std::string>& flows,
                         std::vector<pb_levels>& levels) {
      for (const std::string& flow : out.flows) {
        flows.push_back(relaxed_flow(flow, decay));
        PB_CHECK(levels_of_flow(d.wiring, flows.back(), levels.emplace_back()), flows.back());
      }
    };
    add(d.settings.decay, out.relaxed_flows, out.relaxed);
    if (d.settings.decay == "mixed") add("fast", out.fast_flows, out.fast);
  }
  out.c.reference.hold_256ths = 256;
  if (d.brief.motion.hold == "reduced")
    out.c.reference.hold_256ths = short_ticks(256.0 * d.brief.regulation.hold_share);
}

}  // namespace

std::string relaxed_flow(const std::string& flow, const std::string& decay) {
  return {relaxed_sign(flow[0], decay), relaxed_sign(flow[1], decay)};
}

pb_table DriveTable::view() const {
  pb_table out = c;
  out.sequence = sequence.data();
  out.order = order.data();
  out.chop.relaxed = relaxed.data();
  out.chop.on_a = on_a.data();
  out.chop.on_b = on_b.data();
  if (!reference_a.empty()) {
    out.reference.a = reference_a.data();
    out.reference.b = reference_b.data();
  }
  return out;
}

double peak_duty(const Brief& b, const std::string& decay) {
  const double share = regulated_current(b) * b.motor.winding_resistance_ohm / b.supply.voltage_V;
  return std::min(decay == "fast" ? 0.5 * (1.0 + share) : share, 1.0);
}

bool supports_regulation(const Template& t, const Brief& b) {
  if (regulated(b) && clock_of(t) > 0) return false;
  return measures_current(b) == !t.measures.empty();
}

bool supports_decay(const Template& t, const std::string& sequence, const std::string& decay) {
  if (decay == "mixed" && (t.measures.empty() || !supports_decay(t, sequence, "fast")))
    return false;
  const auto flows = flows_of(sequence);
  PlannedState ignored;
  return std::all_of(t.groups.begin(), t.groups.end(),
                     [](const DriveGroup& g) { return g.windings.size() == 1; }) &&
         std::all_of(flows.begin(), flows.end(), [&](const std::string& f) {
           return find_state(t, relaxed_flow(f, decay), ignored);
         });
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
  const int microsteps = static_cast<int>(d.brief.motion.microsteps);
  const auto flows = flows_of(sequence, microsteps);
  PB_CHECK(!flows.empty(), sequence);
  DriveTable out = table_without_ramp(d, flows, dead_time_s);
  out.per_step = static_cast<int>(flows.size()) / 4;
  const auto share = [&](std::size_t k, int w) { return share_of(sequence, k, flows.size(), w); };
  if (chops_by_duty(d.brief)) set_chop(out, d, share);
  if (measures_current(d.brief)) set_references(out, d, share);
  out.c.ramp = ramp_of(d.brief.motion, out.per_step, out.tick_s);
  if (d.brief.motion.hold == "off") set_releases(out, d);
  out.c.hold_ticks = ticks(hold_before_release(d.brief.motion), out.tick_s);
  return out;
}

DriveTable holding_table(const Design& d, const std::string& flow, double dead_time_s) {
  DriveTable out = standing_table(d, flow, dead_time_s);
  if (!regulated(d.brief)) return out;
  const double share = d.brief.motion.hold == "reduced" ? d.brief.regulation.hold_share : 1.0;
  const auto of_state = [&](std::size_t, int) { return share; };
  if (chops_by_duty(d.brief)) set_chop(out, d, of_state);
  if (measures_current(d.brief)) set_references(out, d, of_state);
  return out;
}

DriveTable standing_table(const Design& d, const std::string& flow, double dead_time_s) {
  return table_without_ramp(d, {flow}, dead_time_s);
}

}  // namespace pb::physics
