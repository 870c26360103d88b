// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/values.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "base/math.h"
#include "base/text.h"
#include "judgement/checks_parts.h"
#include "judgement/cost.h"

namespace pb::delivery {
namespace {

constexpr Dim kDims[] = {
    dim::voltage,
    dim::current,
    dim::resistance,
    dim::conductance,
    dim::capacitance,
    dim::inductance,
    dim::charge,
    dim::power,
    dim::energy,
    dim::current_slope,
    dim::voltage_slope,
    dim::melting_integral,
    dim::time,
    dim::frequency,
    dim::step_rate,
    dim::step_acceleration,
    dim::angle,
    dim::angular_speed,
    dim::angular_acceleration,
    dim::length,
    dim::area,
    dim::mass,
    dim::force,
    dim::torque,
    dim::inertia,
    dim::motor_constant,
    dim::viscous_friction,
    dim::angular_stiffness,
    dim::temperature_difference,
    dim::thermal_resistance,
    dim::heat_capacity,
    dim::temperature_coefficient,
    dim::voltage_per_kelvin,
    dim::steps,
    dim::pieces,
};

std::optional<Dim> dim_of(std::string_view unit) {
  for (const Dim& d : kDims)
    if (unit == si_unit(d) || unit == dim_unit(d)) return d;
  return std::nullopt;
}

/// Lines are told apart by what is bought and, for resistors, by the value chosen.
std::string line_key(const Design& design, const std::string& role) {
  return design.parts.at(role).number + "\n" + short_value(design, role);
}

}  // namespace

std::string with_unit(double value, std::string_view unit, int digits) {
  if (!std::isfinite(value)) return "not known";
  if (unit.empty() || unit == "1") return typeset(significant(value, digits));
  if (unit == "degC" && value >= kelvin_to_celsius(checks::kRunaway_K)) return "runs away";
  if (unit == "degC") return significant(value, std::max(digits, 3)) + " °C";
  // A prefixed step or piece helps nobody.
  if (unit == "step" || unit == "steps" || unit == "pieces")
    return significant(value, digits + 1) + " " + std::string(unit);
  if (const auto d = dim_of(unit)) return typeset(format_quantity(value, *d, digits));
  return significant(value, digits) + " " + std::string(unit);
}

double shown_scale(std::string_view unit) {
  if (unit == "rad") return 180 / kPi;
  return 1;
}

std::string money(double amount, std::string_view currency) {
  if (!std::isfinite(amount)) return "not known";
  int decimals = 2;
  for (double limit = 1.0; amount != 0 && std::abs(amount) < limit && decimals < 6; limit /= 10)
    ++decimals;
  std::string out = fmt::format("{:.{}f}", amount, decimals);
  while (out.back() == '0' && out[out.size() - 3] != '.') out.pop_back();
  return currency.empty() ? out : out + " " + std::string(currency);
}

std::string short_value(const Design& design, const std::string& role) {
  const Part& part = design.parts.at(role);
  const auto value = design.settings.value.find(role);
  if (value != design.settings.value.end()) {
    const std::string text = format_rkm(value->second);
    return text.front() == 'R' ? "0" + text : text;  // R22 would be a reference
  }
  if (is_capacitor(part.part_class) && given(figure(part, "capacitance")))
    return typeset(format_quantity(figure(part, "capacitance"), dim::capacitance));
  return part.number;
}

std::string description(const Design& design, const std::string& role) {
  const Part& part = design.parts.at(role);
  const PartClass* c = find_part_class(part.part_class);
  const std::string_view doc = c ? c->doc : std::string_view(part.part_class);
  std::string out(doc.substr(0, doc.find(';')));  // behind it is advice to who writes a template
  const std::string value = short_value(design, role);
  if (value != part.number) out += " " + value;
  if (c && figure_index(*c, "tolerance") >= 0 && given(figure(part, "tolerance")))
    out += ", " + format_percent(figure(part, "tolerance"));
  if (is_capacitor(part.part_class)) out += ", " + with_unit(figure(part, "voltage_max"), "V");
  return out;
}

std::string saving_text(double saves, std::string_view currency) {
  constexpr double kNothing = 1e-9;  // sums in another order
  if (std::abs(saves) < kNothing) return "costs the same";
  return saves > 0 ? "saves " + money(saves, currency) + " a board"
                   : "costs " + money(-saves, currency) + " a board more";
}

std::string words(std::string_view name) { return replace_all(name, "_", " "); }

bool ref_before(std::string_view a, std::string_view b) {
  const auto letters = [](std::string_view ref) {
    return std::min(ref.find_first_of("0123456789"), ref.size());
  };
  const std::size_t na = letters(a), nb = letters(b);
  if (a.substr(0, na) != b.substr(0, nb)) return a.substr(0, na) < b.substr(0, nb);
  const auto ia = to_integer(a.substr(na)), ib = to_integer(b.substr(nb));
  if (ia && ib && *ia != *ib) return *ia < *ib;
  return a < b;
}

std::vector<PartsLine> parts_lines(const Design& design) {
  std::map<std::string, PartsLine> by_key;
  for (const Place& place : design.wiring.places) {
    const auto part = design.parts.find(place.role);
    if (part == design.parts.end()) continue;
    PartsLine& line = by_key[line_key(design, place.role)];
    line.part = &part->second;
    line.refs.push_back(place.ref);
    if (std::find(line.roles.begin(), line.roles.end(), place.role) == line.roles.end())
      line.roles.push_back(place.role);
  }
  std::vector<PartsLine> out;
  for (auto& [key, line] : by_key) {
    std::sort(line.refs.begin(), line.refs.end(), ref_before);
    if (!line.part->price_breaks.empty() && design.brief.build.quantity > 0)
      line.unit_price = order_of(design, line.roles.front()).unit_price;
    out.push_back(std::move(line));
  }
  std::sort(out.begin(), out.end(), [](const PartsLine& a, const PartsLine& b) {
    return ref_before(a.refs.front(), b.refs.front());
  });
  return out;
}

}  // namespace pb::delivery
