// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The catalogue at the desk: what there is to build with, and catalogues taken into the store.
#include <algorithm>
#include <atomic>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "app/parts_input.h"
#include "app/server_routes.h"
#include "app/verb_call.h"
#include "base/hash.h"
#include "base/quantity.h"
#include "base/text.h"
#include "files/atomic.h"
#include "files/json_verdict.h"
#include "files/store.h"
#include "judgement/cost.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

// More rows than a person reads through; the filter is for those.
constexpr std::size_t kMostRows = 500;
constexpr double kThousand = 1000;

/// Numbers the store has: the others come with the program.
std::map<std::string, bool, std::less<>> stored_numbers() {
  std::map<std::string, bool, std::less<>> out;
  std::error_code error;
  const std::string file = default_store();
  if (file.empty() || !fs::exists(file, error)) return out;
  const auto store = PartStore::open_to_read(file);
  const auto list = store ? store->list() : std::unexpected(store.error());
  if (list)
    for (const PartSummary& p : *list) out[p.number] = true;
  return out;
}

Json part_json(const Part& part, bool is_stored) {
  const double price =
      part.price_breaks.empty() ? kNotGiven : cheapest_purchase(part, kThousand).unit_price;
  Json figures = Json::object();
  const PartClass* kind = find_part_class(part.part_class);
  for (std::size_t k = 0; kind && k < kind->figures.size() && k < part.figures.size(); ++k)
    if (kind->figures[k].required)
      figures[std::string(kind->figures[k].name)] =
          Json{{"value", json_number(part.figures[k])}, {"unit", si_unit(kind->figures[k].dim)}};
  return Json{{"number", part.number},
              {"package", part.package},
              {"lifecycle", part.lifecycle},
              {"currency", part.currency},
              {"source", part.source},
              {"stock", json_number(part.stock)},
              {"unit_price_1k", json_number(price)},
              {"stored", is_stored},
              {"figures", std::move(figures)}};
}

/// The first line of a text file that holds anything, without what a spreadsheet puts before it.
std::string head_line(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::string line;
  constexpr std::size_t kLongest = 20000;
  while (std::getline(in, line) && trim(line).empty() && line.size() < kLongest) line.clear();
  if (line.starts_with("\xef\xbb\xbf")) line.erase(0, 3);
  return std::string(trim(line.substr(0, kLongest)));
}

char separator_of(const std::string& head) {
  char best = ',';
  for (const char c : {',', ';', '\t'})
    if (std::count(head.begin(), head.end(), c) > std::count(head.begin(), head.end(), best))
      best = c;
  return best;
}

/// A mapping to be filled in: every column of the head line, to be named or left out.
std::string mapping_skeleton(const std::string& csv, const std::string& head) {
  const char separator = separator_of(head);
  const std::string said = separator == '\t' ? "tab" : std::string(1, separator);
  std::string out = "# How to read " + escaped(csv) + R"(: for each column of theirs, which of ours
# it is. Take the # away from those that are; the others are left out. Ours are number, class,
# package, stock, lifecycle, currency, minimum, multiple, price_breaks, source, and the figures of a
# class, such as vds_max_V; price_at = 100 makes a column the unit price of a hundred.
format = 1
separator = ")" + said +
                    "\"\n\n[constant]\nsource = " + pb::quoted(fs::path(csv).stem().string()) +
                    "\n";
  for (std::string_view cell : split(head, separator)) {
    const std::string name(trim(replace_all(std::string(cell), "\"", "")));
    if (name.empty() || !is_utf8(name)) continue;
    out += "\n# [column." + pb::quoted(name) + "]\n# to = " + pb::quoted(name) + "\n";
  }
  return out;
}

}  // namespace

HttpResponse get_parts(Desk&, const HttpRequest& request) {
  const auto all = all_parts();
  if (!all) return problem_response(all.error(), 422);
  const std::string wanted = query_of(request, "class"), search = query_of(request, "search");
  const auto stored = stored_numbers();
  std::map<std::string, std::pair<int, int>> counts;  // all, stored
  Json rows = Json::array();
  std::size_t found = 0;
  for (const Part& part : *all) {
    const bool is_stored = stored.contains(part.number);
    auto& [there, own] = counts[part.part_class];
    ++there, own += is_stored ? 1 : 0;
    if (part.part_class != wanted) continue;
    if (part.number.find(search) == std::string::npos) continue;
    if (++found <= kMostRows) rows.push_back(part_json(part, is_stored));
  }
  Json classes = Json::array();
  for (const auto& [name, count] : counts)
    classes.push_back(Json{{"class", name}, {"parts", count.first}, {"stored", count.second}});
  return json_response(Json{{"store", escaped(default_store())},
                            {"classes", std::move(classes)},
                            {"found", found},
                            {"parts", std::move(rows)}});
}

HttpResponse start_mapping(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const std::string csv = text_of(*body, "file");
  const auto place = inside(desk, csv, true);
  if (!place) return problem_response(place.error(), 404);
  if (place->extension() != ".csv") return problem_response("a catalogue ends in .csv", 400);
  const std::string name = free_name(desk, place->stem().string() + "-map");
  if (const auto made = inside(desk, name, false); !made)
    return problem_response(made.error(), 400);
  const std::string text = mapping_skeleton(csv, head_line(*place));
  if (const auto written = write_file((desk.folder / name).string(), text); !written)
    return problem_response({written.error().problem}, 500);
  return json_response(Json{{"file", name}, {"text", text}, {"sha256", sha256_hex(text)}});
}

Checked<Work> import_work(Desk& desk, const std::string& file, const Json& body) {
  std::vector<std::string> arguments = {"import", file};
  const std::string map = text_of(body, "map");
  if (!map.empty()) {
    const auto place = inside(desk, map, true);
    if (!place) return std::unexpected(place.error());
    arguments.insert(arguments.end(), {"--map", map});
  }
  if (body.value("replace", Json()) == true) arguments.emplace_back("--replace");
  // Only what is asked for in so many words writes.
  if (body.value("dry_run", Json()) != false) arguments.emplace_back("--dry-run");
  auto run = prepare("parts", arguments);
  if (!run) return std::unexpected(std::move(run.error()));
  static std::atomic<long> asked{0};  // the files and the store may be others by now
  return Work{"import " + join(arguments, "\n") + "\n" + std::to_string(++asked), std::move(*run)};
}

}  // namespace pb::app
