// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/inputs.h"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/hash.h"
#include "base/text.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_design.h"
#include "physics/drive_table.h"
#include "physics/plan.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

/// Numbers as numbers, the rest as text.
Json to_json(const Assumed& a) {
  Json out{{"key", a.key}, {"value", a.value}, {"unit", a.unit}};
  if (const auto number = to_number(a.value)) {
    out["value"] = *number;
    if (a.unit.empty()) out["unit"] = "1";  // a fraction or a count has a unit too
  }
  return out;
}

}  // namespace

Problems apply_set(Design& design, const std::string& set) {
  const std::size_t equals = set.find('=');
  if (equals == std::string::npos)
    return {{.key = "--set",
             .expected = "KEY=QTY such as motion.rate=\"200 step/s\"",
             .found = pb::quoted(set)}};
  const std::string key(trim(std::string_view(set).substr(0, equals)));
  Problems problems =
      set_key(design.brief, key, std::string(trim(std::string_view(set).substr(equals + 1))));
  for (Problem& p : problems) p.file = "--set";
  std::erase_if(design.assumed, [&](const Assumed& a) { return a.key == key; });
  return problems;
}

std::string data_folder(const std::string& name) {
  std::vector<fs::path> places;
  if (const char* data = std::getenv("PENNYBRIDGE_DATA")) places.emplace_back(data);
  std::error_code error;
  const fs::path program = fs::read_symlink("/proc/self/exe", error).parent_path();
  places.insert(places.end(), {program, program.parent_path(), PB_SOURCE_DIR});
  for (const fs::path& place : places)
    if (fs::is_directory(place / name, error)) return (place / name).string();
  return (places.back() / name).string();
}

void add_design_arguments(Command& command, DesignArguments& arguments) {
  command.option("design", arguments.file, "design.toml").required();
  command.option("--set", arguments.sets, "change a key of the brief: motion.rate=\"200 step/s\"")
      .type("KEY=QTY")
      .one_a_time();
}

Problems unsupported_settings(const Design& d, const std::string& file) {
  const Settings& s = d.settings;
  if (!physics::supports(d.wiring, s.sequence))
    return {{.file = file,
             .key = "settings.sequence",
             .expected = "a sequence the wiring has states for",
             .found = pb::quoted(s.sequence)}};
  if (s.sequence == "micro" && !regulated(d.brief))
    return {{.file = file,
             .key = "settings.sequence",
             .expected = "a regulation.kind other than none, for micro",
             .found = pb::quoted(d.brief.regulation.kind)}};
  if (regulated(d.brief) && clock_of(d.wiring) > 0)
    return {{.file = file,
             .key = "regulation.kind",
             .expected = "none: a wiring with a clocked pin is not chopped",
             .found = pb::quoted(d.brief.regulation.kind)}};
  if (!physics::supports_regulation(d.wiring, d.brief))
    return {{.file = file,
             .key = "regulation.kind",
             .expected = d.wiring.measures.empty()
                             ? "another than current: the wiring has nothing to measure it with"
                             : "current: the wiring measures it",
             .found = pb::quoted(d.brief.regulation.kind)}};
  if (regulated(d.brief) && !physics::supports_decay(d.wiring, s.sequence, s.decay))
    return {{.file = file,
             .key = "settings.decay",
             .expected = "a decay the wiring has states for",
             .found = pb::quoted(s.decay)}};
  return {};
}

Checked<DesignInput> read_design_input(const DesignArguments& arguments) {
  const auto text = load_text(arguments.file);
  if (!text) return std::unexpected(text.error());
  auto design = read_design(arguments.file, *text, data_folder("templates"));
  if (!design) return std::unexpected(std::move(design.error()));
  Problems problems;
  std::string hashed = *text;
  for (const std::string& set : arguments.sets) {
    append(problems, apply_set(*design, set));
    hashed += "\n" + set;
  }
  append(problems, unsupported_settings(*design, arguments.file));
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return DesignInput{std::move(*design), sha256_hex(hashed)};
}

Json answer_head(const DesignInput& input) {
  Json out{{"input_sha256", input.sha256}, {"assumed", Json::array()}};
  for (const Assumed& a : input.design.assumed) out["assumed"].push_back(to_json(a));
  return out;
}

}  // namespace pb::app
