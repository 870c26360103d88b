// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The table of checks.
#include "judgement/checks.h"

#include <algorithm>
#include <array>

#include "judgement/checks_parts.h"

namespace pb {
namespace {

using namespace checks;

constexpr std::string_view kSheet = "data sheet of the part",
                           kPractice = "common practice, no source", kBrief = "brief";
constexpr Reads kWave = Reads::waveform, kTorque = Reads::torque, kScan = Reads::scan,
                kPatterns = Reads::patterns, kFigures = Reads::figures;
constexpr Sense kMax = Sense::max, kMin = Sense::min;

constexpr auto kRows = std::to_array<CheckRow>({
    {"gate_drive_on", "V", kMin, kWave, kSheet,
     "gate-source voltage while a switch carries: at least the one its on-resistance is guaranteed "
     "at; of a driver chip its supply, and inputs meant high",
     gate_drive_on},
    {"base_drive_on", "V", kMax, kWave, kPractice,
     "collector-emitter voltage of a bipolar switch while it carries", base_drive_on},
    {"gate_off", "V", kMax, kWave, kSheet,
     "gate-source voltage of a switch that is off: below its least threshold, hot; of a driver "
     "chip "
     "inputs meant low",
     gate_off},
    {"shoot_through_edge", "A", kMax, kWave, kSheet,
     "current through both switches of a leg at an edge, against the weaker one's pulse rating",
     shoot_through_edge, kOfEdges},
    {"shoot_through_reset", "A", kMax, kWave, kPractice,
     "standing current through a leg while the controller is in reset", shoot_through_reset},
    {"shoot_through_fault", "A", kMax, kPatterns, kSheet,
     "current through a leg at every pattern of pins the program passes through, between two "
     "writes "
     "in any order, held; patterns it never writes are shown, and judged only where "
     "rules.wrong_pins is \"survive\"",
     shoot_through_fault},
    {"partial_supply", "A", kMax, kWave, kPractice,
     "one supply present without the other: standing current through a leg, current into and out "
     "of pins",
     partial_supply},
    {"pin_current", "A", kMax, kWave, kBrief, "peak current of each controller pin", pin_current,
     kOfPeaks},
    {"pin_current_total", "A", kMax, kWave, kBrief, "all pins together", pin_current_total,
     kOfPeaks},
    {"switch_voltage", "V", kMax, kWave, kSheet,
     "peak drain-source, gate-source, collector-emitter and reverse base-emitter voltage",
     switch_voltage, kOfPeaks},
    {"switch_peak", "A", kMax, kWave, kSheet, "peak current of a switch", switch_peak, kOfPeaks},
    {"switch_rms", "A", kMax, kWave, kSheet,
     "rms current of a switch: bipolar against its rating, MOSFET against what heats it to its "
     "limit through the on-resistance it gets; headline drain currents are ignored",
     switch_rms},
    {"switch_junction", "degC", kMax, kWave, kSheet,
     "junction while moving, the hottest of a move and the brief's rest in turns", switch_junction},
    {"switch_soa", "degC", kMax, kWave, kSheet,
     "peak of the junction within the move, every pulse through the thermal impedance of the "
     "package, edges and shoot-through included",
     switch_soa},
    {"diode_reverse", "V", kMax, kWave, kSheet, "peak voltage across a diode", diode_reverse,
     kOfPeaks},
    {"diode_current", "A", kMax, kWave, kSheet, "current of a diode, rms", diode_current},
    {"diode_junction", "degC", kMax, kWave, kSheet,
     "junction while moving, the hottest of a move and the brief's rest in turns", diode_junction},
    {"clamp_standoff", "V", kMin, kFigures, kSheet,
     "the clamp's knee stays above the highest supply", clamp_standoff},
    {"clamp_energy", "J", kMax, kWave, kSheet,
     "energy into the clamp within one state, stop and coast included; without a clamp, what the "
     "capacitors take up above the supply against what they can before a rating is reached",
     clamp_energy},
    {"clamp_power", "W", kMax, kWave, kSheet, "mean loss of a breakdown diode", clamp_power},
    {"rail_peak", "V", kMax, kWave, kSheet,
     "highest rail voltage against the weakest part across it", rail_peak, kOfPeaks},
    {"rail_dip", "V", kMin, kWave, kPractice, "lowest rail voltage", rail_dip, kOfPeaks},
    {"hot_plug", "V", kMax, kWave, kSheet, "rail peak when the supply is plugged in", hot_plug,
     kOfPeaks},
    {"supply_mean", "A", kMax, kWave, kBrief, "mean supply current, moving or holding",
     supply_mean},
    {"supply_peak", "A", kMax, kWave, kPractice,
     "peak supply current, against one and a half times the limit: the bulk covers less than a "
     "step",
     supply_peak, kOfPeaks},
    {"supply_inrush", "A2s", kMax, kWave, "IEC 60127-2 sheet 3: ten times the rating for 20 ms",
     "I^2 t of plugging in, against a time-lag fuse of the supply's limit; of one and a half times "
     "the motor's current where the brief gives none",
     supply_inrush},
    {"capacitor_ripple", "A", kMax, kWave, kSheet, "rms current of a capacitor", capacitor_ripple},
    {"capacitor_voltage", "V", kMax, kWave, kSheet, "peak voltage of a capacitor across the rail",
     capacitor_voltage, kOfPeaks},
    {"winding_rms", "A", kMax, kWave, kPractice, "rms winding current, moving or holding",
     winding_rms},
    {"winding_peak", "A", kMax, kScan, kPractice,
     "peak winding current, over the scan at the brief's own rate", winding_peak},
    {"winding_temperature", "degC", kMax, kWave, kBrief,
     "windings, moving with the brief's rests between (and holding, where the brief holds)",
     winding_temperature},
    {"torque_margin", "1", kMin, kTorque, kBrief,
     "load torque that is still carried at the running rate, over the load's, less one; with a "
     "ramp that is pull-out, without one pull-in",
     torque_margin},
    {"start_rate", "step", kMax, kWave, "Acarnley, Stepping Motors, 4th ed. 2002, ch. 4",
     "greatest lag of the rotor behind the drive, from the first step on", start_rate_check},
    {"resonance", "step", kMax, kScan, "Acarnley, Stepping Motors, 4th ed. 2002, ch. 4",
     "greatest lag over the scan of rate, inertia, load and damping", resonance},
    {"lost_steps", "step", kMax, kScan, "half a step",
     "steps asked for and not made, over the scan too", lost_steps},
    {"end_position", "step", kMax, kScan, "half a step",
     "error at the end of the move, over the scan too", end_position},
    {"rest_position", "step", kMax, kWave, kPractice, "error after the current is taken away",
     rest_position},
    {"permanent_hold", "degC", kMax, kWave, kSheet,
     "junctions when the program freezes with the windings on; of a regulated drive, standing "
     "while "
     "the program goes on chopping",
     permanent_hold},
    {"resistor_power", "W", kMax, kWave, kSheet, "mean loss of a resistor", resistor_power},
    {"trace", "m", kMax, kWave, "IPC-2221A (2003) 6.2; width asked of the layout",
     "trace width the current needs", trace},
    {"via", "A", kMax, kWave, "IPC-2221A (2003) 6.2, barrel as inner trace", "current of two vias",
     via},
    {"wire", "A", kMax, kWave, "MIL-STD-975M (1994) appendix A, single wire", "current of a lead",
     wire},
    {"pins", "1", kMax, kFigures, kBrief, "controller pins used", pins},
    {"cost_target", "1", kMax, kFigures, kBrief, "landed cost", cost_target},
});

constexpr std::string_view kContract[] = {"gate_drive_on",
                                          "base_drive_on",
                                          "gate_off",
                                          "shoot_through_edge",
                                          "shoot_through_reset",
                                          "shoot_through_fault",
                                          "partial_supply",
                                          "pin_current",
                                          "pin_current_total",
                                          "switch_voltage",
                                          "switch_peak",
                                          "switch_rms",
                                          "switch_junction",
                                          "switch_soa",
                                          "diode_reverse",
                                          "diode_current",
                                          "diode_junction",
                                          "clamp_standoff",
                                          "clamp_energy",
                                          "clamp_power",
                                          "rail_peak",
                                          "rail_dip",
                                          "hot_plug",
                                          "supply_mean",
                                          "supply_peak",
                                          "supply_inrush",
                                          "capacitor_ripple",
                                          "capacitor_voltage",
                                          "winding_rms",
                                          "winding_peak",
                                          "winding_temperature",
                                          "torque_margin",
                                          "start_rate",
                                          "resonance",
                                          "lost_steps",
                                          "end_position",
                                          "rest_position",
                                          "permanent_hold",
                                          "resistor_power",
                                          "trace",
                                          "via",
                                          "wire",
                                          "pins",
                                          "cost_target"};

}  // namespace

std::span<const CheckRow> check_rows() { return kRows; }

const CheckRow* find_check(std::string_view id) {
  const auto* const row = std::ranges::find(kRows, id, &CheckRow::id);
  return row == kRows.end() ? nullptr : row;
}

const CheckRow& ringing_row() { return *find_check("gate_off"); }

std::vector<Measured> turned_on_by_ringing(const Case& c, const physics::Point& point,
                                           const Evidence& e) {
  if (e.move.figures.outcome != physics::Outcome::too_many_steps) return {};
  std::vector<Measured> out = ringing_row().measure(c, point, e);
  std::erase_if(out, [](const Measured& m) { return !(m.value > m.limit); });
  for (Measured& m : out) m.facts[kOscillates] = 1;
  return out;
}

bool is_of_the_design(std::string_view id) { return id == "pins" || id == "cost_target"; }

const Check* tightest(const Verdict& verdict) {
  const auto rank = [](const Check& c) {
    return std::pair(c.passes && is_of_the_design(c.id), c.margin);
  };
  const auto it =
      std::min_element(verdict.checks.begin(), verdict.checks.end(),
                       [&rank](const Check& a, const Check& b) { return rank(a) < rank(b); });
  return it == verdict.checks.end() ? nullptr : &*it;
}

std::vector<std::string> ids_not_judged() {
  std::vector<std::string> out;
  for (std::string_view id : kContract)
    if (std::none_of(kRows.begin(), kRows.end(), [&](const CheckRow& r) { return r.id == id; }))
      out.emplace_back(id);
  return out;
}

}  // namespace pb
