// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "delivery/drive_code.h"

#include <fmt/core.h>

#include <cmath>
#include <set>
#include <string>
#include <vector>

#include "base/text.h"
#include "delivery/drive_source.h"
#include "delivery/values.h"
#include "files/csv.h"
#include "physics/drive_table.h"

namespace pb::delivery {
namespace {

constexpr const char* kLicence =
    " * SPDX-FileCopyrightText: 2026 The Pennybridge authors\n"
    " * SPDX-License-Identifier: Apache-2.0\n";

/// A text of the design's inside a comment: it cannot end it, nor open another.
std::string comment(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if ((c == '/' && out.ends_with('*')) || (c == '*' && out.ends_with('/'))) out += ' ';
    out += static_cast<unsigned char>(c) < 0x20 || c == 0x7f || c == '\\' ? ' ' : c;
  }
  return replace_all(out,
                     "?"
                     "?",
                     "? ?");  // no trigraphs
}

/// PB_PIN_A1H for a1h; always different.
std::vector<std::string> pin_constants(const Template& t) {
  std::vector<std::string> out;
  std::set<std::string> taken;
  for (std::size_t k = 0; k < t.pins.size(); ++k) {
    std::string name = "PB_PIN_";
    for (const char c : t.pins[k].name) {
      const bool lower = c >= 'a' && c <= 'z';
      const bool kept = lower || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
      name += kept ? (lower ? static_cast<char>(c - 'a' + 'A') : c) : '_';
    }
    if (!taken.insert(name).second) name += fmt::format("_{}", k);
    taken.insert(name);
    out.push_back(std::move(name));
  }
  return out;
}

std::string levels(const pb_levels& x) {
  return fmt::format("{{0x{:04X}u, 0x{:04X}u}}", x.high, x.driven);
}

/// What flows, in words: "a forward, b open".
std::string flow_words(const std::string& flow) {
  const auto word = [](char c) {
    switch (c) {
      case '+':
        return "forward";
      case '-':
        return "reverse";
      case 'b':
        return "shorted";
      case 'p':
        return "forward through a diode";
      case 'm':
        return "reverse through a diode";
      default:
        return "open";
    }
  };
  return fmt::format("a {}, b {}", word(flow[0]), word(flow[1]));
}

/// Of choppers that are timers of the controller: what those need.
std::string latch_header(const Design& d, const physics::DriveTable& table) {
  if (table.relaxed.empty() || table.c.chop.period != 0) return "";
  const RegulationBrief& r = d.brief.regulation;
  const bool mixed = d.settings.decay == "mixed", periodic = r.timing == "frequency";
  const auto ticks = [&](double t_s) { return std::lround(std::ceil(t_s / table.tick_s)); };
  std::string out = fmt::format(
      "/* Two timers of the controller, one a winding: PB_BLANKING_TICKS after a winding is driven "
      "its\n"
      " * comparator counts; when that pulls down, the winding's pins go to {} of the state,\n"
      " * {}; then they are driven again. */\n"
      "enum {{ PB_BLANKING_TICKS = {}, {} = {}{} }};\n",
      mixed ? "pb_fast, after PB_FAST_TICKS to pb_relaxed" : "pb_relaxed",
      periodic ? "until the next whole period, winding b's half a period after winding a's"
               : "for PB_OFF_TICKS",
      ticks(r.blanking_s), periodic ? "PB_PERIOD_TICKS" : "PB_OFF_TICKS",
      ticks(periodic ? 1.0 / r.frequency_Hz : r.off_time_s),
      mixed ? fmt::format(", PB_FAST_TICKS = {}", ticks(r.fast_share * r.off_time_s)) : "");
  out += "extern const pb_levels pb_relaxed[];\n";
  if (mixed) out += "extern const pb_levels pb_fast[];\n";
  return out + "\n";
}

/// Of pins that a timer toggles by itself: which, and how often.
std::string clock_header(const Template& t) {
  const double clock_Hz = clock_of(t);
  if (clock_Hz == 0) return "";
  std::vector<std::string> names;
  for (std::size_t k = set_pins(t); k < t.pins.size(); ++k)
    names.push_back(comment(t.pins[k].name));
  return fmt::format(
      "/* Not written by this code, {}: {}. A hardware timer of the controller toggles it,\n"
      " * half of each period high, from pb_drive_init on and as long as the program runs, at\n"
      " * standstill too. The wake_ticks are for what it pumps up: a program that stops it, be it\n"
      " * to sleep, begins its next move after as long a wait. */\n"
      "enum {{ PB_CLOCK_HZ = {} }};\n\n",
      names.size() == 1 ? "one pin" : "these pins", join(names, ", "), std::lround(clock_Hz));
}

std::string header(const Design& d, const physics::DriveTable& table) {
  std::string out = fmt::format(
      "/*\n{} *\n * Tables of the drive code for: {}\n * Wiring: {}\n *\n"
      " * Timer: one tick is {}. A full step is {} state{}.\n */\n"
      "#ifndef PB_TABLE_H\n#define PB_TABLE_H\n\n#include \"pb_drive.h\"\n\n"
      "/* The pins, as write_pin() gets them. */\nenum {{\n",
      kLicence, comment(d.brief.title), comment(d.wiring.title), with_unit(table.tick_s, "s", 6),
      table.per_step, table.per_step == 1 ? "" : "s");
  const auto names = pin_constants(d.wiring);
  const std::size_t written = set_pins(d.wiring);
  for (std::size_t k = 0; k < written; ++k)
    out += fmt::format("  {} = {}{} /* {} */\n", names[k], k, k + 1 < written ? "," : "",
                       comment(d.wiring.pins[k].name));
  return out + fmt::format(
                   "}};\n\n{}enum {{ PB_STATES_PER_STEP = {} }};\n\n{}"
                   "extern const pb_table pb_design;\n\n#endif\n",
                   clock_header(d.wiring), table.per_step, latch_header(d, table));
}

/// One entry a state.
std::string levels_table(const char* name, const std::vector<pb_levels>& list,
                         const std::vector<std::string>& flows) {
  std::string out = fmt::format("static const pb_levels {}[] = {{\n", name);
  for (std::size_t k = 0; k < list.size(); ++k)
    out += fmt::format("    {}{} /* {} */\n", levels(list[k]), k + 1 < list.size() ? "," : "",
                       flow_words(flows[k]));
  return out + "};\n";
}

std::string ticks_table(const char* name, const std::vector<std::uint16_t>& list) {
  constexpr std::size_t kPerLine = 12;
  std::string out = fmt::format("static const uint16_t {}[] = {{", name);
  for (std::size_t k = 0; k < list.size(); ++k)
    out += fmt::format("{}{}u", k == 0 ? "\n    " : k % kPerLine == 0 ? ",\n    " : ", ", list[k]);
  return out + "};\n";
}

std::string extern_levels(const std::string& name, const std::vector<pb_levels>& list,
                          const std::vector<std::string>& flows) {
  return replace_all(levels_table(name.c_str(), list, flows), "static const", "const");
}

/// The tables of a drive that measures; nothing of others.
std::string reference_tables(const physics::DriveTable& table) {
  if (table.reference_a.empty()) return "";
  std::string out;
  if (!table.relaxed.empty())
    out += "\n/* While a winding is left to decay. */\n" +
           extern_levels("pb_relaxed", table.relaxed, table.relaxed_flows);
  if (!table.fast.empty())
    out +=
        "\n/* At the begin of that. */\n" + extern_levels("pb_fast", table.fast, table.fast_flows);
  return out + "\n/* Analog outputs, by state: 65535 is the logic supply. */\n" +
         ticks_table("reference_a", table.reference_a) +
         ticks_table("reference_b", table.reference_b);
}

std::string reference_fields(const physics::DriveTable& table) {
  if (table.reference_a.empty()) return "";
  return fmt::format(
      ",\n    .reference = {{.a = reference_a, .b = reference_b, .hold_256ths = {}u}}",
      table.c.reference.hold_256ths);
}

/// The tables of a drive regulated by duty; nothing of others.
std::string chop_tables(const physics::DriveTable& table) {
  if (table.c.chop.period == 0) return "";
  return "\n/* While the windings are left to decay. */\n" +
         levels_table("relaxed", table.relaxed, table.relaxed_flows) +
         "\n/* Ticks of a period in which a winding is driven, by state. */\n" +
         ticks_table("on_a", table.on_a) + ticks_table("on_b", table.on_b);
}

std::string chop_fields(const physics::DriveTable& table) {
  const pb_chop& c = table.c.chop;
  if (c.period == 0) return "";
  return fmt::format(
      ",\n    .chop = {{.relaxed = relaxed,\n             .on_a = on_a,\n             .on_b = "
      "on_b,\n"
      "             .period = {}u, /* {} */\n             .pins_a = 0x{:04X}u,\n"
      "             .dead_ticks = {}u,\n             .idle = {}u,\n"
      "             .hold_256ths = {}u}}",
      c.period, with_unit(1.0 / (c.period * table.tick_s), "Hz", 4), c.pins_a, c.dead_ticks, c.idle,
      c.hold_256ths);
}

std::string source(const Design& d, const physics::DriveTable& table) {
  const auto time = [&](std::uint32_t ticks) { return with_unit(ticks * table.tick_s, "s", 4); };
  std::string out = fmt::format(
      "/*\n{} *\n * See pb_table.h and pb_drive.h.\n */\n"
      "#include \"pb_table.h\"\n\n"
      "/* {{high, driven}}: bit k is pin k. */\n",
      kLicence);
  out += levels_table("sequence", table.sequence, table.flows) + chop_tables(table) +
         reference_tables(table) + "\nstatic const uint8_t order[] = {";
  const auto names = pin_constants(d.wiring);
  constexpr std::size_t kPerLine = 4;
  for (std::size_t k = 0; k < table.order.size(); ++k)
    out += (k == 0 ? "\n    " : k % kPerLine == 0 ? ",\n    " : ", ") + names[table.order[k]];
  const pb_table& c = table.c;
  const pb_ramp& r = c.ramp;
  const double unit_s = table.tick_s / (1u << r.fraction_bits);
  out += fmt::format(
      "}};\n\nconst pb_table pb_design = {{\n"
      "    .sequence = sequence,\n    .order = order,\n    .states = {},\n    .pins = {},\n"
      "    .releases = {},\n    .has_off = 0x{:04X}u,\n    .off_high = 0x{:04X}u,\n"
      "    .safe = {}, /* {} */\n",
      c.states, c.pins, c.releases, c.has_off, c.off_high, levels(c.safe),
      table.safe_flow.empty() ? "every switch off by itself" : flow_words(table.safe_flow));
  out += "    .release = {\n";
  for (std::size_t k = 0; k < std::size(c.release); ++k) {
    out += fmt::format("        {{{}, {}u}}{}", levels(c.release[k].levels), c.release[k].ticks,
                       k + 1 < std::size(c.release) ? "," : "");
    if (k < table.release_flows.size())
      out += fmt::format(" /* {}, {} */", flow_words(table.release_flows[k]),
                         c.release[k].ticks == 0 ? "for ever" : time(c.release[k].ticks));
    out += "\n";
  }
  return out + fmt::format(
                   "    }},\n    .dead_ticks = {}u, /* {} */\n    .wake_ticks = {}u, /* {} */\n"
                   "    .hold_ticks = {}u, /* {} */\n"
                   "    .ramp = {{.first = {}u, /* {} steps/s */\n"
                   "             .cruise = {}u, /* {} steps/s */\n"
                   "             .divisor = {}u,\n             .fraction_bits = {}}}{}}};\n",
                   c.dead_ticks, time(c.dead_ticks), c.wake_ticks, time(c.wake_ticks), c.hold_ticks,
                   c.hold_ticks == 0 ? "for ever" : time(c.hold_ticks), r.first,
                   significant(1.0 / (r.first * unit_s * table.per_step), 5), r.cruise,
                   significant(1.0 / (r.cruise * unit_s * table.per_step), 5), r.divisor,
                   r.fraction_bits, chop_fields(table) + reference_fields(table));
}

}  // namespace

std::vector<TextFile> drive_code(const Design& d, double dead_time_s) {
  const physics::DriveTable table = physics::drive_table(d, d.settings.sequence, dead_time_s);
  return {{"pb_drive.h", std::string(kDriveHeader)},
          {"pb_drive.c", std::string(kDriveSource)},
          {"pb_table.h", header(d, table)},
          {"pb_table.c", source(d, table)}};
}

std::string pin_writes_csv(const Design& d, const physics::Plan& plan) {
  CsvWriter csv;
  for (const char* column : {"tick", "pin", "name", "level"}) csv.text(column);
  csv.end_row();
  for (const physics::PinWrite& w : plan.writes) {
    csv.raw(std::to_string(w.tick)).raw(std::to_string(w.pin));
    csv.text(d.wiring.pins[static_cast<std::size_t>(w.pin)].name).text(std::string(1, w.level));
    csv.end_row();
  }
  return csv.str();
}

}  // namespace pb::delivery
