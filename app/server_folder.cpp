// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The folder served: what is in it, reading and writing its files, and starting from an example.
#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/inputs.h"
#include "app/server_routes.h"
#include "app/verb_call.h"
#include "base/hash.h"
#include "base/text.h"
#include "files/atomic.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_edit.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostFiles = 400;
constexpr auto kExtensions =
    std::to_array<std::string_view>({".toml", ".csv", ".html", ".json", ".zip"});

constexpr const char* kEmptyBrief = R"(format = 1
title = "New driver"

[motor]

[load]

[motion]

[supply]

[controller]

[build]
)";

Problems outside(const std::string& name) {
  return {{.file = escaped(name),
           .expected = "a file below the folder served",
           .found = pb::quoted(name)}};
}

/// What can be said of a name before looking at the disk.
bool is_plain(const std::string& name) {
  if (name.empty() || name.size() > 1000 || name.front() == '/') return false;
  if (name.find('\0') != std::string::npos || name.find('\\') != std::string::npos) return false;
  for (std::string_view piece : split(name, '/'))
    if (piece.empty() || piece.front() == '.') return false;
  const std::string extension = fs::path(name).extension().string();
  return std::find(kExtensions.begin(), kExtensions.end(), extension) != kExtensions.end();
}

enum class Kind { brief, design, mapping, other };

struct Summary {
  Kind kind = Kind::other;
  std::string title;
};

Summary summary_of(const std::string& file, const std::string& text) {
  Summary out;
  const auto entries = toml_entries(file, text);
  if (!entries) {
    // Broken on the way to being mended: a brief, so that the page can show where.
    out.kind = text.find("[brief") == std::string::npos ? Kind::brief : Kind::design;
    return out;
  }
  for (const TomlEntry& e : *entries) {
    if (e.key == "title" || e.key == "brief.title") out.title = e.text;
    if (e.key.starts_with("brief.")) out.kind = Kind::design;
    if (e.key.starts_with("column.") || e.key == "separator") out.kind = Kind::mapping;
    for (std::string_view section : {"motor.", "supply.", "controller.", "motion.", "build."})
      if (e.key.starts_with(section) && out.kind == Kind::other) out.kind = Kind::brief;
  }
  if (out.kind == Kind::other && text.find("[motor]") != std::string::npos) out.kind = Kind::brief;
  return out;
}

Json result_summary(const Desk& desk, const std::string& file, const std::string& text) {
  const auto place = inside(desk, result_folder_of(file) + "/design.json", true);
  if (!place) return nullptr;
  const auto stored = load_text(place->string());
  const Json found = stored ? Json::parse(*stored, nullptr, false) : Json();
  if (!found.is_object()) return nullptr;
  Json out{{"designs", found.value("designs", Json::array()).size()},
           {"nothing_cheaper", found.value("nothing_cheaper", false)},
           {"stale", text_of(found, "brief_sha256") != sha256_hex(text)}};
  // What is to be built, or bought: the cheapest that passes.
  double least = HUGE_VAL;
  for (const char* list : {"designs", "chips"})
    for (const Json& one : found.value(list, Json::array())) {
      const Json cost = one.value("landed_cost", Json());
      if (!cost.is_number() || !one.value("passes", true) || cost.get<double>() >= least) continue;
      least = cost.get<double>();
      out["landed_cost"] = cost;
      out["currency"] = one.value("currency", Json());
      out["is_chip"] = std::string_view(list) == "chips";
    }
  return out;
}

void add_file(const Desk& desk, const fs::path& path, Json& out) {
  const std::string file = fs::relative(path, desk.folder).generic_string();
  if (!is_utf8(file)) return;
  const auto text = load_text(path.string());
  if (!text) return;
  const Summary s = summary_of(file, *text);
  if (s.kind == Kind::other) return;
  Json entry{
      {"file", file}, {"title", s.title.empty() ? file : s.title}, {"sha256", sha256_hex(*text)}};
  if (s.kind != Kind::brief) {
    out[s.kind == Kind::design ? "designs" : "mappings"].push_back(std::move(entry));
    return;
  }
  const auto brief = read_brief(file, *text);
  entry["problems"] = brief ? 0 : brief.error().size();
  entry["result"] = result_summary(desk, file, *text);
  out["briefs"].push_back(std::move(entry));
}

/// Files with that ending of the folder and of the folders directly in it, by name.
std::vector<fs::path> files_ending(const fs::path& folder, const char* extension) {
  std::vector<fs::path> out;
  std::error_code error;
  const auto hidden = [](const fs::path& p) { return p.filename().string().starts_with('.'); };
  const auto add = [&](const fs::path& p) {
    if (p.extension() == extension && fs::is_regular_file(p, error) && !hidden(p)) out.push_back(p);
  };
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    if (out.size() >= kMostFiles) break;
    if (!entry.is_directory(error) || entry.is_symlink(error)) {
      add(entry.path());
    } else if (!hidden(entry.path()) && entry.path().extension() != kResult &&
               entry.path().extension() != kHandoff) {
      for (const auto& below : fs::directory_iterator(entry.path(), error)) add(below.path());
    }
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// The comment a file begins with, without the licence.
std::string about_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::string_view line : split(text, '\n')) {
    if (!line.starts_with('#')) break;
    const std::string_view words = trim(line.substr(1));
    if (!words.starts_with("SPDX-") && !words.empty()) lines.emplace_back(words);
  }
  return join(lines, " ");
}

Json examples() {
  Json out = Json::array();
  for (const fs::path& path : files_ending(data_folder("examples"), ".toml")) {
    const auto text = load_text(path.string());
    if (!text) continue;
    const Summary s = summary_of(path.string(), *text);
    out.push_back(
        Json{{"name", path.parent_path().filename().string() + "/" + path.filename().string()},
             {"title", s.title},
             {"about", about_of(*text)},
             {"kind", s.kind == Kind::design ? "design" : "brief"}});
  }
  return out;
}

/// Captures and catalogues: which of the two a CSV is its reader finds out.
Json tables(const Desk& desk) {
  Json out = Json::array();
  std::error_code error;
  for (const fs::path& path : files_ending(desk.folder, ".csv")) {
    const std::string file = fs::relative(path, desk.folder).generic_string();
    if (is_utf8(file)) out.push_back(Json{{"file", file}, {"bytes", fs::file_size(path, error)}});
  }
  return out;
}

}  // namespace

std::string free_name(const Desk& desk, const std::string& stem) {
  std::error_code error;
  for (int n = 1;; ++n) {
    const std::string name = n == 1 ? stem + ".toml" : stem + "-" + std::to_string(n) + ".toml";
    if (!fs::exists(fs::symlink_status(desk.folder / name, error))) return name;
  }
}

std::string result_folder_of(const std::string& brief_file) {
  return fs::path(brief_file).replace_extension(kResult).generic_string();
}

Checked<fs::path> inside(const Desk& desk, const std::string& name, bool must_exist) {
  if (!is_plain(name)) return std::unexpected(outside(name));
  std::error_code error;
  fs::path place = fs::weakly_canonical(desk.folder / name, error);
  const fs::path relative = error ? fs::path() : place.lexically_relative(desk.folder);
  if (relative.empty() || *relative.begin() == ".." || relative == ".")
    return std::unexpected(outside(name));
  if (must_exist && !fs::is_regular_file(place, error))
    return std::unexpected(Problems{{.file = escaped(name), .message = "there is no such file"}});
  return place;
}

HttpResponse get_folder(Desk& desk, const HttpRequest&) {
  Json out{{"folder", escaped(desk.folder.string())},
           {"briefs", Json::array()},
           {"designs", Json::array()},
           {"mappings", Json::array()}};
  for (const fs::path& path : files_ending(desk.folder, ".toml")) add_file(desk, path, out);
  out["tables"] = tables(desk);
  out["examples"] = examples();
  return json_response(out);
}

HttpResponse get_file(Desk& desk, const HttpRequest& request) {
  const std::string name = query_of(request, "file");
  const auto place = inside(desk, name, true);
  if (!place) return problem_response(place.error(), 404);
  const auto text = load_text(place->string());
  if (!text) return problem_response(text.error(), 404);
  return json_response(Json{{"file", name}, {"text", *text}, {"sha256", sha256_hex(*text)}});
}

HttpResponse put_file(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const std::string name = text_of(*body, "file"), text = text_of(*body, "text");
  const auto place = inside(desk, name, true);
  if (!place) return problem_response(place.error(), 404);
  if (place->extension() != ".toml") return problem_response("only TOML files are written", 400);
  const auto now = load_text(place->string());
  if (!now) return problem_response(now.error(), 404);
  // Somebody else wrote it since: theirs is shown, not overwritten.
  if (sha256_hex(*now) != text_of(*body, "base_sha256"))
    return json_response(Json{{"file", name}, {"text", *now}, {"sha256", sha256_hex(*now)}}, 409);
  if (const auto written = write_file(place->string(), text); !written)
    return problem_response({written.error().problem}, 500);
  return json_response(Json{{"file", name}, {"sha256", sha256_hex(text)}});
}

HttpResponse start_file(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const std::string wanted = text_of(*body, "example");
  std::string text = kEmptyBrief, stem = "new-driver";
  if (!wanted.empty()) {
    bool known = false;
    for (const Json& example : examples()) known = known || example["name"] == wanted;
    if (!known) return problem_response("there is no such example", 404);
    const auto read = load_text((fs::path(data_folder("examples")) / wanted).string());
    if (!read) return problem_response(read.error(), 404);
    text = *read;
    stem = fs::path(wanted).parent_path().filename().string();
  }
  const std::string name = free_name(desk, stem);
  const auto place = inside(desk, name, false);
  if (!place) return problem_response(place.error(), 400);
  if (const auto written = write_file(place->string(), text); !written)
    return problem_response({written.error().problem}, 500);
  const bool is_design = summary_of(name, text).kind == Kind::design;
  return json_response(Json{{"file", name}, {"kind", is_design ? "design" : "brief"}});
}

}  // namespace pb::app
