// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// parts: the user's own store of parts. import takes a catalogue whole or not at all, list shows
// what there is.
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/parts_input.h"
#include "app/verbs/verbs.h"
#include "base/hash.h"
#include "base/text.h"
#include "files/catalogue.h"
#include "files/json_verdict.h"
#include "files/load.h"
#include "files/mapping.h"
#include "files/store.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

struct PartsArguments {
  std::string file, map, store, part_class;
  bool dry_run = false, replace = false;
  bool list = false;  // which of the two was asked for
};

/// Rows of a class, and how many of them lack which required figure.
struct ClassCount {
  std::size_t rows = 0, incomplete = 0;
  std::map<std::string, std::size_t> missing;
};

std::map<std::string, ClassCount> count_classes(const std::vector<Part>& parts) {
  std::map<std::string, ClassCount> out;
  for (const Part& part : parts) {
    ClassCount& count = out[part.part_class];
    const auto missing = missing_figures(part);
    ++count.rows;
    count.incomplete += missing.empty() ? 0 : 1;
    for (const std::string& name : missing) ++count.missing[name];
  }
  return out;
}

Json to_json(const std::map<std::string, ClassCount>& classes) {
  Json out = Json::object();
  for (const auto& [name, count] : classes)
    out[name] =
        Json{{"rows", count.rows}, {"incomplete", count.incomplete}, {"missing", count.missing}};
  return out;
}

std::string for_people(const std::map<std::string, ClassCount>& classes) {
  std::string out;
  for (const auto& [name, count] : classes) {
    out += fmt::format("  {:<14} {:>7}", name, count.rows);
    if (count.incomplete > 0) {
      std::vector<std::string> figures;
      figures.reserve(count.missing.size());
      for (const auto& [figure, n] : count.missing)
        figures.push_back(fmt::format("{} in {}", figure, n));
      out += fmt::format("; {} cannot be proven with for want of: {}", count.incomplete,
                         join(figures, ", "));
    }
    out += "\n";
  }
  return out;
}

struct Input {
  Survey survey;
  std::string sha256;
};

Checked<Input> read_input(const PartsArguments& options, const StopToken& stop) {
  Problems problems;
  std::optional<Mapping> mapping;
  std::string hashed;
  if (!options.map.empty()) {
    const auto text = load_text(options.map);
    auto read = text ? read_mapping(options.map, *text) : std::unexpected(text.error());
    if (read) {
      mapping = std::move(*read);
      hashed = *text;
    } else {
      append(problems, std::move(read.error()));
    }
  }
  const auto text = load_table(options.file);
  if (!text) append(problems, text.error());
  if (!problems.empty()) return std::unexpected(std::move(problems));
  auto survey = survey_catalogue(options.file, *text, mapping ? &*mapping : nullptr, stop);
  if (!survey) return std::unexpected(std::move(survey.error()));
  return Input{std::move(*survey), sha256_hex(*text + hashed)};
}

/// A store that did not come to be is not left behind, nor are folders made for it.
class NewStore {
 public:
  explicit NewStore(const fs::path& file) : file_(file) {
    std::error_code error;
    if (fs::exists(file_, error)) file_.clear();
    for (fs::path f = file.parent_path(); !f.empty() && !fs::exists(f, error); f = f.parent_path())
      folders_.push_back(f);
  }
  NewStore(const NewStore&) = delete;
  NewStore& operator=(const NewStore&) = delete;
  ~NewStore() {
    if (kept_) return;
    std::error_code error;
    if (!file_.empty())
      for (const char* suffix : {"", "-journal"}) fs::remove(file_.string() + suffix, error);
    for (const fs::path& f : folders_) fs::remove(f, error);  // only if empty
  }

  /// Makes the folders.
  std::optional<WriteFault> begin() const {
    std::error_code error;
    if (!folders_.empty()) fs::create_directories(folders_.front(), error);
    if (!error) return std::nullopt;
    return WriteFault{.refused = false,
                      .problem = {.file = folders_.front().string(),
                                  .message = "cannot be made: " + error.message()}};
  }
  void keep() { kept_ = true; }

 private:
  fs::path file_;
  std::vector<fs::path> folders_;  // the innermost first
  bool kept_ = false;
};

Written<ImportCount> import_into(const std::string& file, const std::vector<Part>& parts,
                                 OtherSource other, const StopToken& stop) {
  auto store = PartStore::open(file);
  if (!store) return std::unexpected(store.error());
  return store->import(parts, other, stop);
}

Written<ImportCount> write_store(const std::string& file, const std::vector<Part>& parts,
                                 OtherSource other, const StopToken& stop) {
  NewStore fresh(file);
  if (auto fault = fresh.begin()) return std::unexpected(std::move(*fault));
  auto count = import_into(file, parts, other, stop);
  if (count)
    fresh.keep();
  else  // what a fault of the disk left half written is undone when the store is next looked at
      [[maybe_unused]]
    const auto undone = PartStore::open_to_read(file);
  return count;
}

Written<ImportCount> compare_store(const std::string& file, const std::vector<Part>& parts,
                                   OtherSource other) {
  std::error_code error;
  if (!fs::exists(file, error)) {
    ImportCount all;
    all.added = static_cast<int>(parts.size());
    return all;
  }
  const auto store = PartStore::open_to_read(file);
  if (!store) return std::unexpected(store.error());
  return store->compare(parts, other);
}

std::string for_people(const ImportCount& count, const Survey& survey, bool dry_run) {
  std::string out = fmt::format(
      "{} rows{}: {} {}, {} changed, {} the same, {} left alone (another source has the number)\n",
      survey.rows, dry_run ? ", nothing written" : "", count.added,
      dry_run ? "would be new" : "new", count.changed, count.same, count.kept.size());
  out += for_people(count_classes(survey.good.parts));
  if (!survey.left_out.empty())
    out += "Columns the mapping does not read: " + join(survey.left_out, ", ") + "\n";
  constexpr std::size_t kShown = 20;
  for (std::size_t i = 0; i < std::min(kShown, survey.good.notes.size()); ++i)
    out += "note: " + to_line(survey.good.notes[i]) + "\n";
  if (survey.good.notes.size() > kShown)
    out += fmt::format("and {} notes more\n", survey.good.notes.size() - kShown);
  return out;
}

void add_json(Json& out, const ImportCount& count, const Survey& survey) {
  out["rows"] = survey.rows;
  out["added"] = count.added;
  out["changed"] = count.changed;
  out["same"] = count.same;
  out["kept"] = count.kept;
  out["classes"] = to_json(count_classes(survey.good.parts));
  out["left_out"] = survey.left_out;
  out["notes"] = Json::array();
  for (const Problem& note : survey.good.notes) out["notes"].push_back(to_line(note));
}

/// The store of the option or the user's; a problem if there is no place for one.
Checked<std::string> store_file(const PartsArguments& options) {
  std::string file = options.store.empty() ? default_store() : options.store;
  if (!file.empty()) return file;
  return std::unexpected(Problems{
      {.key = "--store", .expected = "a file, or $XDG_DATA_HOME, or $HOME", .found = "none"}});
}

Answer import_parts(const PartsArguments& options, Session& session) {
  const auto store = store_file(options);
  if (!store) return refuse(store.error());
  auto in = read_input(options, session.stop);
  if (!in) return refuse(std::move(in.error()));
  const Survey& survey = in->survey;
  if (session.stop.stop_requested()) return {};
  if (survey.rows == 0)
    return refuse({{.file = options.file, .message = "the catalogue is empty"}});
  if (!survey.problems.empty() && !options.dry_run) return refuse(survey.problems);
  const OtherSource other = options.replace ? OtherSource::replace : OtherSource::keep;
  const auto count = options.dry_run ? compare_store(*store, survey.good.parts, other)
                                     : write_store(*store, survey.good.parts, other, session.stop);
  if (session.stop.stop_requested()) return {};
  if (!count) return refuse(count.error());
  // With problems a dry run still shows what the good rows are; an import would take none of them.
  Answer answer = survey.problems.empty() ? Answer() : refuse(survey.problems);
  (*answer.json)["input_sha256"] = in->sha256;
  (*answer.json)["assumed"] = Json::array();
  (*answer.json)["store"] = *store;
  add_json(*answer.json, *count, survey);
  answer.text = for_people(*count, survey, options.dry_run);
  return answer;
}

Answer list_parts(const PartsArguments& options) {
  const auto file = store_file(options);
  if (!file) return refuse(file.error());
  Answer answer;
  (*answer.json)["store"] = *file;
  Json& rows = (*answer.json)["parts"] = Json::array();
  std::error_code error;
  if (options.store.empty() && !fs::exists(*file, error)) {
    answer.text = "Nothing has been imported yet.\n";
    return answer;
  }
  const auto store = PartStore::open_to_read(*file);
  if (!store) return refuse(store.error());
  const auto parts = store->list();
  if (!parts) return refuse(parts.error());
  for (const PartSummary& p : *parts) {
    if (!options.part_class.empty() && p.part_class != options.part_class) continue;
    rows.push_back(Json{{"number", p.number},
                        {"class", p.part_class},
                        {"package", p.package},
                        {"lifecycle", p.lifecycle},
                        {"currency", p.currency},
                        {"source", p.source},
                        {"stock", json_number(p.stock)},
                        {"unit_price_1k", json_number(p.unit_price_1k)}});
    answer.text +=
        fmt::format("{:<28} {:<13} {:<10} {:<12} {:>9} {:>9} {}\n", p.number, p.part_class,
                    p.package, p.lifecycle, given(p.stock) ? significant(p.stock, 12) : "",
                    significant(p.unit_price_1k, 4), p.currency);
  }
  return answer;
}

void add_store(Command& command, const std::shared_ptr<PartsArguments>& options) {
  command.option("--store", options->store, "the store of parts, else the user's own").type("FILE");
}

void add_import(Command& command, const std::shared_ptr<PartsArguments>& options) {
  Command sub = command.part("import", "takes a catalogue, whole or not at all",
                             "pennybridge parts import export.csv.gz --map export.toml --dry-run");
  add_store(sub, options);
  sub.option("file", options->file, "catalogue, CSV or CSV compressed with gzip").required();
  sub.option("--map", options->map, "how to read another catalogue's columns").type("FILE");
  sub.flag("--dry-run", options->dry_run, "say what would be taken, write nothing");
  sub.flag("--replace", options->replace, "also replace parts that another source brought");
}

void add_list(Command& command, const std::shared_ptr<PartsArguments>& options) {
  Command sub =
      command.part("list", "shows what the store has", "pennybridge parts list --class n-mosfet");
  add_store(sub, options);
  sub.option("--class", options->part_class, "of one class only").type("CLASS");
  sub.when_chosen([options] { options->list = true; });
}

}  // namespace

Run add_parts(Command& command) {
  const auto options = std::make_shared<PartsArguments>();
  command.needs_part();
  add_import(command, options);
  add_list(command, options);
  return [options](Session& session) {
    return options->list ? list_parts(*options) : import_parts(*options, session);
  };
}

}  // namespace pb::app
