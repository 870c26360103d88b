// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The table of the brief's keys. Defaults marked "from memory" are a practitioner's; change them in
// the brief.
#include "model/brief.h"

#include <array>
#include <cmath>
#include <numbers>

#include "base/text.h"

namespace pb {
namespace {

#define PB_NUMBER(member) [](Brief& b) -> double& { return b.member; }, nullptr
#define PB_TEXT(member) nullptr, [](Brief& b) -> std::string& { return b.member; }

constexpr Need kReq = Need::required, kDef = Need::defaulted, kOpt = Need::optional;
constexpr Dim kMoney{};                // amounts of money are plain numbers in the brief's currency
constexpr double kColdest_K = 203.15;  // -70 degC
constexpr double kHundredTurns = 200 * std::numbers::pi;
constexpr Dim kMoneyArea{.m = -2}, kMoneyTime{.s = -1};

constexpr auto kKeys = std::to_array<BriefKey>({
    {"", "title", {}, kDef, "untitled", 0, 0, "", "what is being built", PB_TEXT(title)},

    {"motor", "winding_resistance", dim::resistance, kReq, "", 0.05, 1e5, "",
     "one winding at 25 degC", PB_NUMBER(motor.winding_resistance_ohm)},
    {"motor", "winding_inductance", dim::inductance, kReq, "", 1e-6, 10, "",
     "one winding, small signal", PB_NUMBER(motor.winding_inductance_H)},
    {"motor", "steps_per_turn", dim::steps, kReq, "", 4, 4000, "",
     "full steps of the rotor, before any gear; a multiple of 4", PB_NUMBER(motor.steps_per_turn)},
    {"motor", "holding_torque", dim::torque, kOpt, "", 1e-6, 100, "",
     "two windings on at rated current; this or back_emf_constant",
     PB_NUMBER(motor.holding_torque_Nm)},
    {"motor", "back_emf_constant", dim::motor_constant, kOpt, "", 1e-6, 100, "",
     "K_m of one winding, peak; this or holding_torque", PB_NUMBER(motor.back_emf_constant_Vs)},
    {"motor", "rated_current", dim::current, kOpt, "", 1e-4, 100, "",
     "per winding, two windings on", PB_NUMBER(motor.rated_current_A)},
    {"motor", "rotor_inertia", dim::inertia, kDef, "20 g cm2", 1e-10, 1, "", "",
     PB_NUMBER(motor.rotor_inertia_kgm2)},
    {"motor", "detent_torque", dim::torque, kDef, "0 N m", 0, 10, "", "unpowered, peak",
     PB_NUMBER(motor.detent_torque_Nm)},
    {"motor", "viscous_friction", dim::viscous_friction, kDef, "1e-5 N m s/rad", 0, 1, "",
     "bearings and iron; from memory", PB_NUMBER(motor.viscous_friction_Nms)},
    {"motor", "iron_loss_resistance", dim::resistance, kOpt, "", 1, 1e7, "",
     "in parallel with the back-EMF", PB_NUMBER(motor.iron_loss_resistance_ohm)},
    {"motor", "saturation_current", dim::current, kOpt, "", 1e-4, 1000, "",
     "where inductance and torque begin to fall: iron saturates; without it, it does not",
     PB_NUMBER(motor.saturation_current_A)},
    {"motor", "resistance_tolerance", dim::none, kDef, "10 %", 0, 0.5, "", "",
     PB_NUMBER(motor.resistance_tolerance)},
    {"motor", "inductance_tolerance", dim::none, kDef, "20 %", 0, 0.5, "", "",
     PB_NUMBER(motor.inductance_tolerance)},
    {"motor", "torque_tolerance", dim::none, kDef, "10 %", 0, 0.5, "", "of K_m, both ways",
     PB_NUMBER(motor.torque_tolerance)},
    {"motor", "magnet_tempco", dim::temperature_coefficient, kDef, "-0.2 %/K", -0.01, 0, "",
     "ferrite; from memory", PB_NUMBER(motor.magnet_tempco_1_K)},
    {"motor", "thermal_resistance", dim::thermal_resistance, kDef, "15 K/W", 0.1, 500, "",
     "windings to ambient, mounted; from memory", PB_NUMBER(motor.thermal_resistance_K_W)},
    {"motor", "max_winding_temperature", dim::temperature, kDef, "130 degC", 313.15, 573.15, "",
     "insulation class B", PB_NUMBER(motor.max_winding_temperature_K)},

    {"load", "torque", dim::torque, kDef, "0 N m", 0, 1000, "",
     "friction at the output shaft: opposes motion", PB_NUMBER(load.torque_Nm)},
    {"load", "gravity_torque", dim::torque, kDef, "0 N m", -1000, 1000, "",
     "at the output shaft; positive opposes forward motion", PB_NUMBER(load.gravity_torque_Nm)},
    {"load", "inertia", dim::inertia, kDef, "0 kg m2", 0, 1000, "", "at the output shaft",
     PB_NUMBER(load.inertia_kgm2)},
    {"load", "viscous_friction", dim::viscous_friction, kDef, "0 N m s/rad", 0, 1000, "",
     "at the output shaft", PB_NUMBER(load.viscous_friction_Nms)},
    {"load", "gear_ratio", dim::none, kDef, "1", 1, 10000, "", "rotor turns per output turn",
     PB_NUMBER(load.gear_ratio)},
    {"load", "gear_efficiency", dim::none, kDef, "1", 0.01, 1, "", "rotor to output",
     PB_NUMBER(load.gear_efficiency)},
    {"load", "torque_tolerance", dim::none, kDef, "20 %", 0, 1, "", "of the load torque",
     PB_NUMBER(load.torque_tolerance)},
    {"load", "inertia_tolerance", dim::none, kDef, "30 %", 0, 1, "", "of the load inertia",
     PB_NUMBER(load.inertia_tolerance)},
    {"load", "backlash", dim::angle, kDef, "0 rad", 0, 3, "",
     "at the output shaft: how far the load turns before the rotor feels it",
     PB_NUMBER(load.backlash_rad)},
    {"load", "flank_stiffness", dim::angular_stiffness, kOpt, "", 1e-3, 1e7, "",
     "of the gear with backlash, at the output shaft; a hundred times the motor's own if not given",
     PB_NUMBER(load.flank_stiffness_Nm_rad)},
    {"load", "flank_restitution", dim::none, kOpt, "", 0.05, 1, "",
     "speed after flanks meet over the speed before; 0.5 if not given, from memory",
     PB_NUMBER(load.flank_restitution)},
    {"load", "end_stop", dim::angle, kOpt, "", 0, kHundredTurns, "",
     "where forward motion ends, at the output shaft, from where a move starts",
     PB_NUMBER(load.end_stop_rad)},
    {"load", "end_stop_stiffness", dim::angular_stiffness, kOpt, "", 1e-3, 1e7, "",
     "at the output shaft; a hundred times the motor's own if not given",
     PB_NUMBER(load.end_stop_stiffness_Nm_rad)},
    {"load", "end_stop_restitution", dim::none, kOpt, "", 0.05, 1, "",
     "speed after the stop is hit over the speed before; 0.5 if not given, from memory",
     PB_NUMBER(load.end_stop_restitution)},

    {"motion",
     "sequence",
     {},
     kDef,
     "any",
     0,
     0,
     "one-phase|two-phase|half|micro|any",
     "which windings are on in a state; any lets the tool choose",
     PB_TEXT(motion.sequence)},
    {"motion", "rate", dim::step_rate, kReq, "", 0.1, 50000, "",
     "full steps a second while running; or the motor's speed, \"120 rpm\"",
     PB_NUMBER(motion.rate_steps_s)},
    {"motion", "start_rate", dim::step_rate, kOpt, "", 0.1, 50000, "",
     "first rate of the ramp; if neither it nor ramp is given, the running rate, or what `design` "
     "chooses where the motor does not start at that",
     PB_NUMBER(motion.start_rate_steps_s)},
    {"motion", "ramp", dim::step_acceleration, kOpt, "", 0.1, 1e7, "",
     "constant acceleration from start_rate to rate, and back before the end of a move",
     PB_NUMBER(motion.ramp_steps_s2)},
    {"motion", "move", dim::steps, kDef, "100 step", 1, 1e8, "", "full steps of one move",
     PB_NUMBER(motion.move_steps)},
    {"motion", "microsteps", dim::none, kDef, "4", 1, 32, "",
     "states a full step of the sequence micro", PB_NUMBER(motion.microsteps)},
    {"motion", "rest", dim::time, kDef, "0 s", 0, 1e6, "", "between moves; 0: it never rests",
     PB_NUMBER(motion.rest_s)},
    {"motion",
     "hold",
     {},
     kDef,
     "off",
     0,
     0,
     "on|off|reduced",
     "current while at rest; reduced needs a regulation",
     PB_TEXT(motion.hold)},
    {"motion",
     "stop",
     {},
     kDef,
     "any",
     0,
     0,
     "brake|coast|any",
     "what the bridges do when the current is taken away",
     PB_TEXT(motion.stop)},

    {"regulation",
     "kind",
     {},
     kDef,
     "none",
     0,
     0,
     "none|duty|current",
     "how a winding's current is kept below V/R: not at all, by chopping the supply at a fixed "
     "duty, "
     "or by chopping it where the measured current reaches a reference",
     PB_TEXT(regulation.kind)},
    {"regulation", "current", dim::current, kOpt, "", 1e-4, 100, "",
     "peak of a winding to aim at; by duty, at typical supply and a winding of 25 degC; "
     "motor.rated_current if not given",
     PB_NUMBER(regulation.current_A)},
    {"regulation", "frequency", dim::frequency, kDef, "20 kHz", 100, 1e6, "",
     "of the chopping, by duty or where timing is frequency; just above hearing",
     PB_NUMBER(regulation.frequency_Hz)},
    {"regulation",
     "decay",
     {},
     kDef,
     "any",
     0,
     0,
     "slow|fast|diode|mixed|any",
     "where the current goes while chopped off: both ends to one rail, back into the supply, "
     "through one diode, or (where the current is measured) fast first and then slow",
     PB_TEXT(regulation.decay)},
    {"regulation",
     "timing",
     {},
     kDef,
     "off-time",
     0,
     0,
     "off-time|frequency",
     "kind current: when a winding whose current was reached is driven again, after off_time or "
     "with the next period of frequency; a chip with a chopper inside has its own off-time",
     PB_TEXT(regulation.timing)},
    {"regulation", "off_time", dim::time, kDef, "20 us", 1e-6, 1e-2, "",
     "kind current: how long a winding is left to decay; of the controller's timers",
     PB_NUMBER(regulation.off_time_s)},
    {"regulation", "blanking", dim::time, kDef, "1.5 us", 0, 1e-3, "",
     "kind current: after a winding is driven again its comparator is not listened to for so long; "
     "of the controller's timers",
     PB_NUMBER(regulation.blanking_s)},
    {"regulation", "reaction", dim::time, kDef, "0.5 us", 0, 1e-3, "",
     "kind current: from the comparator's output to the pins, by a timer of the controller; from "
     "memory, an interrupt takes some us",
     PB_NUMBER(regulation.reaction_s)},
    {"regulation", "fast_share", dim::none, kDef, "30 %", 0, 1, "",
     "decay mixed: of the off-time, fast", PB_NUMBER(regulation.fast_share)},
    {"regulation", "hold_share", dim::none, kDef, "50 %", 0, 1, "",
     "of the current, held at rest where motion.hold is reduced", PB_NUMBER(regulation.hold_share)},

    {"supply", "voltage", dim::voltage, kReq, "", 1, 60, "", "feeds the motor",
     PB_NUMBER(supply.voltage_V)},
    {"supply", "tolerance", dim::none, kDef, "10 %", 0, 0.5, "", "", PB_NUMBER(supply.tolerance)},
    {"supply", "resistance", dim::resistance, kDef, "0.15 ohm", 0.001, 100, "", "source and cable",
     PB_NUMBER(supply.resistance_ohm)},
    {"supply", "cable_inductance", dim::inductance, kDef, "1 uH", 1e-9, 1e-3, "",
     "about a metre of pair", PB_NUMBER(supply.cable_inductance_H)},
    {"supply", "current_limit", dim::current, kOpt, "", 1e-3, 1000, "", "what the supply can give",
     PB_NUMBER(supply.current_limit_A)},
    {"supply",
     "limit_behaviour",
     {},
     kDef,
     "checked",
     0,
     0,
     "checked|constant-current|hiccup",
     "beyond current_limit: nothing but a check; the voltage gives way; or it does and the supply "
     "shuts off for a time",
     PB_TEXT(supply.limit_behaviour)},
    {"supply", "hiccup_on", dim::time, kOpt, "", 1e-5, 100, "",
     "a supply with hiccup shuts off when it has limited for so long; 20 ms if not given, from "
     "memory",
     PB_NUMBER(supply.hiccup_on_s)},
    {"supply", "hiccup_off", dim::time, kOpt, "", 1e-4, 1000, "",
     "and tries again after this; 500 ms if not given, from memory",
     PB_NUMBER(supply.hiccup_off_s)},
    {"supply",
     "protection",
     {},
     kDef,
     "fuse",
     0,
     0,
     "fuse|resettable",
     "in the supply's lead, rated current_limit: a time-lag fuse or a resettable one (PTC), whose "
     "resistance belongs to `resistance`",
     PB_TEXT(supply.protection)},
    {"supply", "trip_time", dim::time, kDef, "5 s", 1e-3, 600, "",
     "in which a resettable fuse opens at five times what it holds, at 23 degC; from memory",
     PB_NUMBER(supply.trip_time_s)},
    {"supply",
     "can_sink",
     {},
     kDef,
     "no",
     0,
     0,
     "yes|no",
     "takes current back",
     PB_TEXT(supply.can_sink)},
    {"supply",
     "shared_with_controller",
     {},
     kDef,
     "no",
     0,
     0,
     "yes|no",
     "the controller lives from the motor's rail",
     PB_TEXT(supply.shared_with_controller)},

    {"controller", "logic_voltage", dim::voltage, kReq, "", 1, 30, "", "a high pin, unloaded",
     PB_NUMBER(controller.logic_voltage_V)},
    {"controller", "tolerance", dim::none, kDef, "5 %", 0, 0.5, "", "of the logic voltage",
     PB_NUMBER(controller.tolerance)},
    {"controller", "pin_source_current", dim::current, kDef, "20 mA", 1e-5, 1, "",
     "rated, one pin high", PB_NUMBER(controller.pin_source_current_A)},
    {"controller", "pin_sink_current", dim::current, kDef, "20 mA", 1e-5, 1, "",
     "rated, one pin low", PB_NUMBER(controller.pin_sink_current_A)},
    {"controller", "pin_resistance", dim::resistance, kDef, "40 ohm", 0.1, 1e5, "",
     "of a driven pin; from memory", PB_NUMBER(controller.pin_resistance_ohm)},
    {"controller", "total_current", dim::current, kDef, "100 mA", 1e-4, 10, "", "all pins together",
     PB_NUMBER(controller.total_current_A)},
    {"controller", "pins", dim::none, kDef, "8", 1, 64, "", "free for the motor",
     PB_NUMBER(controller.pins)},
    {"controller", "timer_tick", dim::time, kDef, "1 us", 1e-9, 1e-2, "", "resolution of edges",
     PB_NUMBER(controller.timer_tick_s)},
    {"controller",
     "reset",
     {},
     kDef,
     "floating",
     0,
     0,
     "floating|pull-up|pull-down",
     "pins in reset",
     PB_TEXT(controller.reset)},
    {"controller", "reset_pull_resistance", dim::resistance, kDef, "30 kohm", 100, 1e7, "",
     "20 to 50 kohm is usual; from memory", PB_NUMBER(controller.reset_pull_resistance_ohm)},
    {"controller", "pin_absolute_max", dim::voltage, kOpt, "", 1, 60, "",
     "voltage a pin survives; logic voltage + 0.3 V if not given",
     PB_NUMBER(controller.pin_absolute_max_V)},

    {"ambient", "min", dim::temperature, kDef, "0 degC", kColdest_K, 398.15, "", "",
     PB_NUMBER(ambient.min_K)},
    {"ambient", "max", dim::temperature, kDef, "50 degC", kColdest_K, 448.15, "",
     "outside the enclosure", PB_NUMBER(ambient.max_K)},
    {"ambient", "enclosure_rise", dim::temperature_difference, kDef, "15 K", 0, 100, "",
     "10 to 25 K is usual; from memory", PB_NUMBER(ambient.enclosure_rise_K)},

    {"build", "quantity", dim::pieces, kReq, "", 1, 1e9, "", "boards in one order",
     PB_NUMBER(build.quantity)},
    {"build",
     "currency",
     {},
     kDef,
     "USD",
     0,
     0,
     "",
     "of every amount; no rates are applied",
     PB_TEXT(build.currency)},
    {"build", "target_cost", kMoney, kOpt, "", 0, 1e6, "", "money per board, landed",
     PB_NUMBER(build.target_cost)},
    {"build", "attrition", dim::none, kDef, "1 %", 0, 0.5, "", "parts lost in placing",
     PB_NUMBER(build.attrition)},
    {"build", "placement_smd", kMoney, kDef, "0.006", 0, 10, "", "money per part; from memory",
     PB_NUMBER(build.placement_smd)},
    {"build", "placement_tht", kMoney, kDef, "0.05", 0, 10, "", "money per part; from memory",
     PB_NUMBER(build.placement_tht)},
    {"build", "setup_per_line", kMoney, kDef, "5", 0, 1e4, "",
     "money per order and different part; from memory", PB_NUMBER(build.setup_per_line)},
    {"build", "board_cost_area", kMoneyArea, kDef, "150 1/m2", 0, 1e5, "",
     "money per square metre of board; from memory", PB_NUMBER(build.board_cost_area_1_m2)},
    {"build", "board_area", dim::area, kDef, "20 cm2", 1e-4, 1, "",
     "one face of the whole board the driver is on: what carries away the heat of all its parts",
     PB_NUMBER(build.board_area_m2)},
    {"build", "copper_thickness", dim::length, kDef, "35 um", 5e-6, 4e-4, "", "",
     PB_NUMBER(build.copper_thickness_m)},
    {"build", "layers", dim::none, kDef, "2", 1, 16, "", "", PB_NUMBER(build.layers)},
    {"build", "test_time", dim::time, kDef, "5 s", 0, 3600, "", "per board",
     PB_NUMBER(build.test_time_s)},
    {"build", "test_rate", kMoneyTime, kDef, "0.008 1/s", 0, 10, "",
     "money per second of testing; from memory", PB_NUMBER(build.test_rate_1_s)},
    {"build", "one_off", kMoney, kDef, "3000", 0, 1e7, "",
     "money, once: engineering and pre-scan of a discrete driver; from memory",
     PB_NUMBER(build.one_off)},
    {"build", "joint_defects", dim::none, kDef, "30 ppm", 0, 0.01, "",
     "per solder joint; from memory", PB_NUMBER(build.joint_defects)},

    {"rules",
     "derating",
     {},
     kDef,
     "commercial",
     0,
     0,
     "commercial|none",
     "which set of derating rules judges",
     PB_TEXT(rules.derating)},
    {"rules",
     "accept",
     {},
     kDef,
     "guaranteed",
     0,
     0,
     "guaranteed|modelled",
     "evidence a decisive number needs",
     PB_TEXT(rules.accept)},
    {"rules",
     "wrong_pins",
     {},
     kDef,
     "show",
     0,
     0,
     "show|survive",
     "pin patterns the program never writes: shown only, or none may short the supply",
     PB_TEXT(rules.wrong_pins)},
    {"rules", "torque_margin", dim::none, kDef, "30 %", 0, 10, "",
     "pull-out torque above the load's", PB_NUMBER(rules.torque_margin)},
    {"rules", "trace_rise", dim::temperature_difference, kDef, "10 K", 1, 100, "",
     "allowed in a trace", PB_NUMBER(rules.trace_rise_K)},
});
#undef PB_NUMBER
#undef PB_TEXT

void need_order(Problems& out, const char* key, const char* expected, bool fine, double found) {
  if (!fine) out.push_back({.key = key, .expected = expected, .found = significant(found, 6)});
}

/// As a person types it.
std::string celsius(double T_K) { return format_quantity(T_K, dim::temperature); }

void regulation_contradictions(const Brief& b, Problems& out) {
  need_order(out, "motion.microsteps", "a whole number", std::fmod(b.motion.microsteps, 1.0) == 0.0,
             b.motion.microsteps);
  const auto needs = [&](const char* key, const std::string& found) {
    out.push_back({.key = key, .expected = "regulation.kind other than none", .found = found});
  };
  if (!regulated(b)) {
    if (b.motion.hold == "reduced") needs("motion.hold", b.motion.hold);
    if (b.motion.sequence == "micro") needs("motion.sequence", b.motion.sequence);
    return;
  }
  if (!given(regulated_current(b)))
    out.push_back({.key = "regulation.current",
                   .expected = "a current to aim at, or motor.rated_current",
                   .found = "nothing"});
  // The drive code counts the ticks of a period in 16 bits; with fewer than ten, a duty means
  // nothing.
  constexpr double kFewest = 10, kMost = 65535;
  const double ticks = 1.0 / (b.regulation.frequency_Hz * b.controller.timer_tick_s);
  if (chops_by_duty(b))
    need_order(out, "regulation.frequency", "a period of 10 to 65535 controller.timer_tick",
               ticks >= kFewest && ticks <= kMost, ticks);
  if (chops_by_duty(b) && b.regulation.decay == "mixed")
    out.push_back({.key = "regulation.decay",
                   .expected = "regulation.kind current, for mixed",
                   .found = b.regulation.kind});
  if (measures_current(b) && b.regulation.timing == "off-time")
    need_order(out, "regulation.blanking", "at most regulation.off_time (s)",
               b.regulation.blanking_s <= b.regulation.off_time_s, b.regulation.blanking_s);
}

}  // namespace

std::span<const BriefKey> brief_keys() { return kKeys; }

std::string full_name(const BriefKey& key) {
  if (key.section.empty()) return std::string(key.name);
  return std::string(key.section) + "." + std::string(key.name);
}

Problems contradictions(const Brief& b) {
  Problems out;
  if (!given(b.motor.holding_torque_Nm) && !given(b.motor.back_emf_constant_Vs))
    out.push_back({.key = "motor.holding_torque",
                   .expected = "holding_torque with rated_current, or back_emf_constant",
                   .found = "neither"});
  if (given(b.motor.holding_torque_Nm) && !given(b.motor.back_emf_constant_Vs) &&
      !given(b.motor.rated_current_A))
    out.push_back({.key = "motor.rated_current",
                   .expected = "the current at which holding_torque is stated",
                   .found = "nothing"});
  need_order(out, "motor.steps_per_turn", "a multiple of 4",
             std::fmod(b.motor.steps_per_turn, 4.0) == 0.0, b.motor.steps_per_turn);
  if (b.ambient.min_K > b.ambient.max_K)
    out.push_back({.key = "ambient.min",
                   .expected = "at most ambient.max, " + celsius(b.ambient.max_K),
                   .found = celsius(b.ambient.min_K)});
  need_order(out, "motion.start_rate", "at most motion.rate (steps/s)",
             start_rate(b.motion) <= b.motion.rate_steps_s, start_rate(b.motion));
  if (start_rate(b.motion) < b.motion.rate_steps_s && !given(b.motion.ramp_steps_s2))
    out.push_back({.key = "motion.ramp",
                   .expected = "an acceleration, since start_rate is below rate",
                   .found = "nothing"});
  if (limits(b.supply) && !given(b.supply.current_limit_A))
    out.push_back({.key = "supply.current_limit",
                   .expected = "the current that supply.limit_behaviour acts on",
                   .found = "nothing"});
  need_order(out, "load.inertia", "above 0: load.backlash makes the load a body of its own",
             b.load.backlash_rad == 0.0 || b.load.inertia_kgm2 > 0.0, b.load.inertia_kgm2);
  regulation_contradictions(b, out);
  // What the drive code can count: a half step of two ticks, an interval of 2^28.
  constexpr double kLongestInterval = 268435456.0;
  const double tick_s = b.controller.timer_tick_s, fastest = 0.25 / tick_s;
  need_order(
      out, "motion.rate",
      ("at most " + significant(fastest, 4) + " steps/s with this controller.timer_tick").c_str(),
      b.motion.rate_steps_s <= fastest, b.motion.rate_steps_s);
  const double slowest = 1.0 / (kLongestInterval * tick_s);
  need_order(
      out, given(b.motion.start_rate_steps_s) ? "motion.start_rate" : "motion.rate",
      ("at least " + significant(slowest, 4) + " steps/s with this controller.timer_tick").c_str(),
      start_rate(b.motion) >= slowest, start_rate(b.motion));
  return out;
}

}  // namespace pb
