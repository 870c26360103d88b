// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/parts_input.h"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <unordered_set>

#include "app/inputs.h"
#include "files/catalogue.h"
#include "files/load.h"
#include "files/store.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> starter_files() {
  std::vector<std::string> out;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(data_folder("parts"), error))
    if (entry.path().extension() == ".csv") out.push_back(entry.path().string());
  std::sort(out.begin(), out.end());
  return out;
}

/// Every part of every file; `hashed` gets their texts.
Checked<Catalogue> read_files(const std::vector<std::string>& files, std::string& hashed) {
  Problems problems;
  Catalogue all;
  for (const std::string& file : files) {
    const auto text = load_table(file);
    auto read = text ? read_catalogue(file, *text) : std::unexpected(text.error());
    if (read) {
      hashed += *text;
      read = merge(std::move(all), *read);
    }
    if (!read) {
      append(problems, std::move(read.error()));
      all = {};
    } else {
      all = std::move(*read);
    }
  }
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return all;
}

/// The named store must be there, the default one need not.
Written<std::vector<Part>> read_store(const std::string& named) {
  const std::string file = named.empty() ? default_store() : named;
  std::error_code error;
  if (named.empty() && (file.empty() || !fs::exists(file, error))) return {};
  const auto store = PartStore::open_to_read(file);
  if (!store) return std::unexpected(store.error());
  return store->load();
}

}  // namespace

std::string default_store() {
  const auto absolute = [](const char* name) {
    const char* value = std::getenv(name);
    return value && value[0] == '/' ? fs::path(value) : fs::path();  // others are to be ignored
  };
  fs::path folder = absolute("XDG_DATA_HOME");
  if (folder.empty() && !absolute("HOME").empty()) folder = absolute("HOME") / ".local" / "share";
  return folder.empty() ? "" : (folder / "pennybridge" / "parts.db").string();
}

std::expected<PartsInput, Answer> read_parts(const PartSources& sources) {
  PartsInput out;
  const bool named = !sources.files.empty();
  auto files = read_files(named ? sources.files : starter_files(), out.hashed);
  if (!files) return std::unexpected(refuse(std::move(files.error())));
  out.notes = std::move(files->notes);
  if (!named) {
    auto own = read_store(sources.store);
    if (!own) return std::unexpected(refuse(own.error()));
    for (const Part& part : *own) out.hashed += part.row_sha256;
    out.parts = std::move(*own);
  }
  std::unordered_set<std::string_view> taken;
  for (const Part& part : out.parts) taken.insert(part.number);
  std::erase_if(files->parts, [&](const Part& part) { return taken.contains(part.number); });
  out.parts.insert(out.parts.end(), std::make_move_iterator(files->parts.begin()),
                   std::make_move_iterator(files->parts.end()));
  if (out.parts.empty())
    return std::unexpected(
        refuse({{.file = named ? sources.files.front() : data_folder("parts"),
                 .message = "the catalogue is empty: there is nothing to build with"}}));
  return out;
}

}  // namespace pb::app
