// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/pictures.h"

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <nlohmann/json.hpp>

#include "app/inputs.h"
#include "app/parts_input.h"
#include "base/hash.h"
#include "base/quantity.h"
#include "base/text.h"
#include "files/load.h"
#include "judgement/yield.h"
#include "physics/plan.h"

namespace pb::app {
namespace {

using Texts = std::map<std::string, std::string>;

/// The texts of an object of texts; anything else is a problem.
Texts texts_of(const Json& object, const char* key, Problems& problems) {
  Texts out;
  const auto at = object.find(key);
  if (at == object.end() || at->is_null()) return out;
  if (!at->is_object()) {
    problems.push_back({.key = key, .expected = "an object of texts", .found = "something else"});
    return out;
  }
  for (const auto& [name, value] : at->items()) {
    if (value.is_string())
      out[name] = value.get<std::string>();
    else
      problems.push_back({.key = name, .expected = "a text", .found = "something else"});
  }
  return out;
}

std::string text_in(const Json& object, const char* key) {
  const auto at = object.find(key);
  return at != object.end() && at->is_string() ? at->get<std::string>() : "";
}

std::optional<VirtualUnit> unit_in(const Json& object, Problems& problems) {
  const auto at = object.find("unit");
  if (at == object.end() || at->is_null()) return std::nullopt;
  const auto whole = [&](const char* key) {
    const auto n = at->is_object() ? at->find(key) : at->end();
    if (at->is_object() && n != at->end() && n->is_number_unsigned())
      return n->get<std::uint64_t>();
    problems.push_back({.key = std::string("unit.") + key,
                        .expected = "a whole number, nothing negative",
                        .found = "something else"});
    return std::uint64_t{0};
  };
  VirtualUnit unit;
  unit.number = static_cast<long>(whole("number") & 0x7fffffff);
  unit.seed = whole("seed");
  return unit;
}

void set_quantity(const std::string& key, const std::string& text, Dim dim, double& value,
                  Problems& problems) {
  const auto read = parse_quantity(text, dim);
  if (read && *read >= 0) {
    value = *read;
    return;
  }
  Problem p = read ? Problem{.expected = "nothing negative", .found = pb::quoted(text)}
                   : to_problem(read.error());
  p.key = key;
  problems.push_back(std::move(p));
}

void set_values(Design& d, const Texts& values, Problems& problems) {
  for (const auto& [role, text] : values) {
    const auto at = d.settings.value.find(role);
    if (at == d.settings.value.end())
      problems.push_back({.key = "settings.value." + role,
                          .expected = "the role of a resistor",
                          .found = pb::quoted(role)});
    else
      set_quantity("settings.value." + role, text, dim::resistance, at->second, problems);
  }
}

void set_parts(Design& d, const Texts& parts, Problems& problems) {
  if (parts.empty()) return;
  const auto all = all_parts();
  if (!all) return append(problems, all.error());
  for (const auto& [role, number] : parts) {
    const auto has_number = [&](const Part& p) { return p.number == number; };
    const auto part = std::find_if(all->begin(), all->end(), has_number);
    const Role* place = find_role(d.wiring, role);
    if (part == all->end() || !place || part->part_class != place->part_class)
      problems.push_back({.key = "part." + role,
                          .expected = "a part of the catalogue of the role's class",
                          .found = pb::quoted(number)});
    else
      d.parts[role] = *part;
  }
}

double now_ms() {
  return std::chrono::duration<double, std::milli>(
             std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

/// Typical, but for the figures of the corner; or a virtual unit.
physics::Point point_at(const Case& c, const Changes& changes) {
  if (changes.unit) {
    YieldOptions drawn;
    drawn.seed = changes.unit->seed;
    return unit_of(c, drawn, changes.unit->number);
  }
  const std::vector<physics::Spread>& spreads = c.spreads;
  const Texts& corner = changes.corner;
  physics::Point point = physics::typical(spreads);
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (const auto end = corner.find(spreads[k].name); end != corner.end())
      point.value[k] = end->second == "min"   ? spreads[k].min
                       : end->second == "max" ? spreads[k].max
                                              : spreads[k].typ;
  return point;
}

Problems no_picture(const std::string& key, const std::string& why) {
  return {{.key = key, .message = why}};
}

}  // namespace

Checked<Changes> read_changes(const Json& object) {
  Changes out;
  Problems problems;
  for (const auto& [key, value] : texts_of(object, "set", problems)) {
    std::string set = key;
    set += "=";
    set += value;
    out.sets.push_back(std::move(set));
  }
  out.values = texts_of(object, "value", problems);
  out.parts = texts_of(object, "part", problems);
  out.corner = texts_of(object, "corner", problems);
  out.dead_time = text_in(object, "dead_time");
  out.sequence = text_in(object, "sequence");
  out.stop = text_in(object, "stop");
  out.unit = unit_in(object, problems);
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return out;
}

Checked<DesignInput> changed_design(DesignInput input, const Changes& changes) {
  Design& d = input.design;
  Problems problems;
  for (const std::string& set : changes.sets) append(problems, apply_set(d, set));
  set_values(d, changes.values, problems);
  set_parts(d, changes.parts, problems);
  if (!changes.dead_time.empty())
    set_quantity("settings.dead_time", changes.dead_time, dim::time, d.settings.dead_time_s,
                 problems);
  if (!changes.sequence.empty()) d.settings.sequence = changes.sequence;
  if (!changes.stop.empty()) d.settings.stop = changes.stop;
  append(problems, unsupported_settings(d));
  if (problems.empty()) append(problems, faults_of(d));
  if (!problems.empty()) return std::unexpected(std::move(problems));
  std::string hashed = input.sha256;
  for (const std::string& set : changes.sets) hashed += "\n" + set;
  for (const Texts* texts : {&changes.values, &changes.parts, &changes.corner})
    for (const auto& [key, value] : *texts) {
      hashed += "\n" + key;
      hashed += "=" + value;
    }
  hashed += "\n" + changes.dead_time + "\n" + changes.sequence + "\n" + changes.stop;
  if (changes.quick) hashed += "\nquick";
  if (changes.unit)
    hashed += fmt::format("\nunit {} of seed {}", changes.unit->number, changes.unit->seed);
  input.sha256 = sha256_hex(hashed);
  return input;
}

Checked<std::vector<Part>> all_parts() {
  auto read = read_parts({});
  if (!read) return std::unexpected(std::move(read.error().problems));
  return std::move(read->parts);
}

std::shared_ptr<const Picture> Pictures::find(const std::string& sha256) const {
  const std::lock_guard lock(mutex_);
  for (auto p = kept_.rbegin(); p != kept_.rend(); ++p)
    if ((*p)->input.sha256 == sha256) return *p;
  return nullptr;
}

Checked<Pictures::BasePtr> Pictures::base_of(const std::string& file, const StopToken& stop) {
  const auto text = load_text(file);
  if (!text) return std::unexpected(text.error());
  {
    const std::string sha256 = sha256_hex(*text);  // as read_design_input has it
    const std::lock_guard lock(mutex_);
    for (const BasePtr& known : bases_)
      if (known->input.sha256 == sha256) return known;
  }
  auto input = read_design_input({.file = file, .sets = {}});
  if (!input) return std::unexpected(std::move(input.error()));
  auto base = std::make_shared<Base>();
  base->input = std::move(*input);
  Case c = case_of(base->input.design);
  c.dead_time_s = base->dead_time_s = dead_time_of(c);
  if (!given(c.dead_time_s))
    return std::unexpected(no_picture("settings.dead_time", "a switch never turns off"));
  EvidenceWanted wanted;
  wanted.windows = false;
  base->heated = gather(c, physics::typical(c.spreads), wanted, stop);
  if (stop.stop_requested()) return std::unexpected(no_picture("", "took too long"));
  if (const std::string why = trouble_of(base->heated); !why.empty())
    return std::unexpected(no_picture("", why));
  const std::lock_guard lock(mutex_);
  bases_.push_back(base);
  if (bases_.size() > kKept) bases_.pop_front();
  return BasePtr(std::move(base));
}

Checked<std::shared_ptr<const Picture>> Pictures::make(const std::string& file,
                                                       const Changes& changes,
                                                       const StopToken& stop) {
  const auto base = base_of(file, stop);
  if (!base) return std::unexpected(base.error());
  auto input = changed_design((*base)->input, changes);
  if (!input) return std::unexpected(std::move(input.error()));
  if (auto known = find(input->sha256)) return known;
  auto picture = std::make_shared<Picture>();
  picture->input = std::move(*input);
  const double began = now_ms();
  Case c = case_of(picture->input.design);
  // Computing a dead time takes as long as the run itself: the unchanged design's stands until the
  // proof computes it anew.
  const double stated = picture->input.design.settings.dead_time_s;
  c.dead_time_s = picture->dead_time_s = given(stated) ? stated : (*base)->dead_time_s;
  EvidenceWanted wanted;
  constexpr double kQuick = 4;  // half as long again a step; from about 8 on Newton has trouble
  wanted.waveforms = true, wanted.windows = false;
  wanted.tolerance = changes.quick ? kQuick : 1;
  // Nobody drags a corner or a unit: they have time for a heat of their own.
  wanted.heat = changes.unit || !changes.corner.empty();
  wanted.nominal = &(*base)->heated;
  picture->evidence = gather(c, point_at(c, changes), wanted, stop);
  if (changes.quick && !trouble_of(picture->evidence).empty()) {
    wanted.tolerance = 1;
    picture->evidence = gather(c, point_at(c, changes), wanted, stop);
  }
  picture->run_ms = now_ms() - began;
  if (stop.stop_requested()) return std::unexpected(no_picture("", "took too long"));
  if (const std::string why = trouble_of(picture->evidence); !why.empty())
    return std::unexpected(no_picture("", why));
  const std::lock_guard lock(mutex_);
  kept_.push_back(picture);
  if (kept_.size() > kKept) kept_.pop_front();
  return std::shared_ptr<const Picture>(std::move(picture));
}

}  // namespace pb::app
