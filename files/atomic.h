// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Output that is there whole or not at all: a file is written beside its place and renamed, a
// folder built beside its place and swapped in. Tested by tests/unit/files_atomic.cpp.
#pragma once

#include <expected>
#include <filesystem>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/problem.h"

namespace pb {

struct WriteFault {
  bool refused = false;  // the place is not ours to write; else the disk's fault
  Problem problem;
};

template <class T>
using Written = std::expected<T, WriteFault>;

/// Replaces or makes the file; after a fault the old one is untouched and nothing new is left.
Written<void> write_file(const std::string& path, std::string_view text);

/// What manifest.json says of these files (name, SHA-256).
std::string manifest_text(const std::vector<std::pair<std::string, std::string>>& files,
                          std::string_view version);

/// A folder in the making. Unless commit() succeeds the destructor removes it without a trace.
class OutputFolder {
 public:
  /// Refuses a place that is taken by anything but an earlier output of this program to which
  /// nobody has added files.
  static Written<OutputFolder> begin(const std::string& place);

  OutputFolder(OutputFolder&& other) noexcept;
  OutputFolder& operator=(OutputFolder&&) = delete;
  ~OutputFolder();

  /// `name` may have folders in it, separated by '/'.
  Written<void> write(const std::string& name, std::string_view text);
  /// Writes manifest.json, with the hash of every file, and puts the folder in its place.
  Written<void> commit(std::string_view version);

 private:
  explicit OutputFolder(std::filesystem::path place, std::filesystem::path work)
      : place_(std::move(place)), work_(std::move(work)) {}

  std::filesystem::path place_, work_;
  std::vector<std::pair<std::string, std::string>> files_;  // name, SHA-256
};

}  // namespace pb
