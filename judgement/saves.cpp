// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/saves.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/text.h"

namespace pb {
namespace {

enum class Way { to, times, plus };

/// Values that a key of the brief, or a figure of a part, may be moved to: those a person would
/// name. Common practice, no source.
struct Move {
  std::string_view key;
  Way way;
  std::vector<double> by;
};

const std::vector<Move>& brief_moves() {
  static const std::vector<Move> all = {
      {"controller.logic_voltage", Way::to, {1.8, 2.5, 3.3, 5, 10, 12}},
      {"supply.voltage", Way::to, {3.3, 5, 6, 7.5, 9, 12, 15, 18, 24, 36}},
      {"supply.tolerance", Way::to, {0.1, 0.05, 0.03, 0.02}},
      {"controller.tolerance", Way::to, {0.05, 0.03, 0.02}},
      {"motor.resistance_tolerance", Way::to, {0.1, 0.07, 0.05}},
      {"motor.torque_tolerance", Way::to, {0.1, 0.05}},
      {"load.torque_tolerance", Way::to, {0.2, 0.1, 0.05}},
      {"supply.current_limit", Way::times, {1.25, 1.5, 2, 3}},
      {"controller.pin_source_current", Way::times, {1.25, 1.5, 2, 3}},
      {"controller.pin_sink_current", Way::times, {1.25, 1.5, 2, 3}},
      {"controller.total_current", Way::times, {1.25, 1.5, 2, 3}},
      {"controller.pin_resistance", Way::times, {2, 4}},
      {"load.torque", Way::times, {0.9, 0.8, 0.65, 0.5}},
      {"load.inertia", Way::times, {0.8, 0.5}},
      {"motion.rate", Way::times, {0.9, 0.8, 0.65, 0.5}},
      {"motion.start_rate", Way::times, {0.8, 0.5}},
      {"rules.torque_margin", Way::times, {0.75, 0.5}},
      {"build.target_cost", Way::times, {1.1, 1.25, 1.5, 2}},
      {"ambient.max", Way::plus, {-5, -10, -20}},
      {"ambient.enclosure_rise", Way::plus, {-5, -10}},
      {"ambient.min", Way::plus, {5, 10, 20}},
  };
  return all;
}

/// Which figure of the failed part would have to be better, and how that is said.
struct PartMove {
  std::string_view check, figure, said;
  Way way;
  std::vector<double> by;
};

const std::vector<PartMove>& part_moves() {
  static const std::vector<double> volts = {5, 6.3, 8, 10, 12, 16, 20, 25, 30, 40, 50, 60, 80, 100};
  static const std::vector<PartMove> all = {
      {"gate_drive_on", "rds_gate", "on-resistance guaranteed at", Way::to, {10, 4.5, 2.5, 1.8}},
      {"gate_off", "threshold_min", "a least threshold of", Way::times, {1.25, 1.5, 2}},
      {"base_drive_on", "hfe_min", "a gain of at least", Way::times, {1.5, 2, 3}},
      {"switch_voltage", "vds_max", "a drain rating of", Way::to, volts},
      {"switch_voltage", "vgs_max", "a gate rating of", Way::to, {8, 10, 12, 20, 30}},
      {"switch_voltage", "vce_max", "a collector rating of", Way::to, volts},
      {"switch_peak", "drain_pulsed", "a pulsed drain current of", Way::times, {1.25, 1.5, 2, 3}},
      {"switch_peak", "ic_max", "a collector current of", Way::times, {1.25, 1.5, 2, 3}},
      {"shoot_through_edge", "drain_pulsed", "a pulsed drain current of", Way::times, {1.5, 2, 3}},
      {"switch_junction", "rth_ja", "a thermal resistance of", Way::times, {0.8, 0.65, 0.5}},
      {"permanent_hold", "rth_ja", "a thermal resistance of", Way::times, {0.8, 0.65, 0.5}},
      {"switch_rms", "rds_max", "an on-resistance of at most", Way::times, {0.8, 0.65, 0.5, 0.3}},
      {"diode_reverse", "vr_max", "a reverse rating of", Way::to, volts},
      {"diode_current", "if_max", "a forward rating of", Way::times, {1.25, 1.5, 2, 3}},
      {"diode_junction", "rth_ja", "a thermal resistance of", Way::times, {0.8, 0.65, 0.5}},
      {"capacitor_voltage", "voltage_max", "a rating of", Way::to, volts},
      {"capacitor_ripple", "ripple_max", "a ripple rating of", Way::times, {1.25, 1.5, 2, 3}},
      {"resistor_power", "power_max", "a rating of", Way::times, {1.5, 2, 4}},
      {"clamp_power", "power_max", "a rating of", Way::times, {1.5, 2, 4}},
  };
  return all;
}

/// The rail has no part of its own: more capacitance may help wherever it is judged.
constexpr std::string_view kRailChecks[] = {"clamp_energy", "rail_peak", "rail_dip", "hot_plug",
                                            "supply_peak"};

std::optional<double> moved(Way way, double from, double by) {
  double to = by;
  switch (way) {
    case Way::to:
      break;
    case Way::times:
      to = from * by;
      break;
    case Way::plus:
      to = from + by;
      break;
  }
  if (!given(from) || to == from) return std::nullopt;
  return to;
}

double size_of(std::string_view key, double from, double to) {
  constexpr double kTolerance = 4, kKelvin = 1.0 / 50, kFromNothing = 10;
  if (key.ends_with("tolerance")) return kTolerance * std::abs(to - from);
  if (key.starts_with("ambient.")) return kKelvin * std::abs(to - from);
  return from > 0 && to > 0 ? std::abs(std::log(to / from)) : kFromNothing;
}

const BriefKey* find_key(std::string_view name) {
  for (const BriefKey& k : brief_keys())
    if (full_name(k) == name) return &k;
  return nullptr;
}

std::string words(std::string_view name) { return replace_all(name, "_", " "); }

std::string amount(double value, Dim dim, std::string_view key) {
  return key.ends_with("tolerance") ? format_percent(value) : format_quantity(value, dim);
}

void add_brief_changes(const Design& d, std::vector<Change>& out) {
  for (const Move& m : brief_moves()) {
    const BriefKey* key = find_key(m.key);
    if (!key || !key->number) continue;
    for (double by : m.by) {
      Change c;
      c.design = d;
      double& value = key->number(c.design.brief);
      c.from = value;
      const std::optional<double> to = moved(m.way, value, by);
      // A tolerance only ever gets tighter: a wider one asks more of every other unit made.
      if (!to || *to < key->low || *to > key->high ||
          (m.key.ends_with("tolerance") && *to > c.from))
        continue;
      value = c.to = *to;
      if (!contradictions(c.design.brief).empty()) continue;
      c.key = m.key;
      c.size = size_of(m.key, c.from, c.to);
      c.text = words(key->section) + " " + words(key->name) + " " + amount(c.to, key->dim, m.key) +
               " instead of " + amount(c.from, key->dim, m.key);
      out.push_back(std::move(c));
    }
  }
}

void add_part_change(const Design& d, const std::string& role, std::string_view figure_name,
                     std::string_view said, Way way, double by, std::vector<Change>& out) {
  constexpr double kOtherPart = 0.1;
  Part part = d.parts.at(role);
  const PartClass& k = *find_part_class(part.part_class);
  const int at = figure_index(k, figure_name);
  if (at < 0) return;
  const Figure& f = k.figures[static_cast<std::size_t>(at)];
  double& value = part.figures[static_cast<std::size_t>(at)];
  const std::optional<double> to = moved(way, value, by);
  // Ratings only rise, gate voltages that a figure is guaranteed at only fall.
  const bool lower_is_better = figure_name == "rds_gate";
  if (!to || *to < f.low || *to > f.high ||
      (way == Way::to && (lower_is_better ? *to > value : *to < value)))
    return;
  Change c;
  c.key = role + "." + std::string(figure_name);
  c.from = value, c.to = *to;
  value = *to;
  if (figure_name == "rds_max" && given(figure(part, "rds_typ")))
    part.figures[static_cast<std::size_t>(figure_index(k, "rds_typ"))] *= c.to / c.from;
  c.size = size_of(figure_name, c.from, c.to) + kOtherPart;
  c.text = "another " + std::string(k.doc) + " as " + words(role) + ", with " + std::string(said) +
           " " + amount(c.to, f.dim, figure_name) + " instead of " +
           amount(c.from, f.dim, figure_name);
  c.design = d;
  c.design.parts[role] = std::move(part);
  out.push_back(std::move(c));
}

void add_part_changes(const Design& d, const std::string& check, const std::string& subject,
                      std::vector<Change>& out) {
  if (const Place* place = find_switched(d.wiring, subject); place && d.parts.contains(place->role))
    for (const PartMove& m : part_moves())
      if (m.check == check)
        for (double by : m.by) add_part_change(d, place->role, m.figure, m.said, m.way, by, out);
  if (std::find(std::begin(kRailChecks), std::end(kRailChecks), check) == std::end(kRailChecks))
    return;
  for (const auto& [role, part] : d.parts)
    if (part.part_class == "electrolytic")
      for (double by : {1.5, 2.0, 4.0})
        add_part_change(d, role, "capacitance", "a capacitance of", Way::times, by, out);
}

/// Nothing fails that is looked at.
bool survives(const Design& d, const NearMiss& miss, Depth depth, const StopToken& stop) {
  ProofOptions o;
  o.depth = depth, o.fail_first = true, o.stop = stop;
  if (!miss.corner.empty()) o.try_first = {miss.corner};
  const Verdict v = prove(d, o).verdict;
  return v.undecided.empty() &&
         std::all_of(v.checks.begin(), v.checks.end(), [](const Check& c) { return c.passes; });
}

}  // namespace

std::vector<Change> changes_of(const Design& design, const std::string& check,
                               const std::string& subject) {
  std::vector<Change> out;
  add_brief_changes(design, out);
  add_part_changes(design, check, subject, out);
  std::stable_sort(out.begin(), out.end(),
                   [](const Change& a, const Change& b) { return a.size < b.size; });
  return out;
}

Save smallest_save(const NearMiss& miss, const Effort& effort) {
  // The whole proof of a change that survived a trial; after so many that did not hold, the last
  // word is the trial's.
  constexpr int kWhole = 3;
  Save out;
  out.template_title = miss.template_title;
  int wholes = 0;
  for (Change& c : changes_of(miss.design, miss.check_id, miss.subject)) {
    if (effort.late()) return out;
    ++out.tried;
    if (!survives(c.design, miss, Depth::trial, effort.stop)) continue;
    if (wholes < kWhole && effort.has_time_for_a_proof()) {
      ++wholes;
      if (!survives(c.design, miss, Depth::whole, effort.stop)) continue;
      out.proven = !effort.stop.stop_requested();
    }
    out.found = true;
    out.change = std::move(c);
    return out;
  }
  return out;
}

}  // namespace pb
