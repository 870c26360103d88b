// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/atomic.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>  // renameat2
#include <cstring>
#include <nlohmann/json.hpp>
#include <set>

#include "base/hash.h"
#include "files/load.h"

namespace pb {
namespace {

namespace fs = std::filesystem;
constexpr const char* kManifest = "manifest.json";
constexpr const char* kMaker = "pennybridge";

std::unexpected<WriteFault> fault(const fs::path& path, std::string message, bool refused = false) {
  return std::unexpected(
      WriteFault{refused, {.file = path.string(), .message = std::move(message)}});
}

std::unexpected<WriteFault> system_fault(const fs::path& path, int error) {
  return fault(path, std::string("cannot be written: ") + std::strerror(error));
}

/// Writes and flushes to the disk; 0 or errno.
int put(const fs::path& path, std::string_view text) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (file < 0) return errno;
  int error = 0;
  while (error == 0 && !text.empty()) {
    const ssize_t n = ::write(file, text.data(), text.size());
    if (n >= 0)
      text.remove_prefix(static_cast<std::size_t>(n));
    else if (errno != EINTR)
      error = errno;
  }
  if (error == 0 && ::fsync(file) != 0 && errno != EINVAL) error = errno;
  if (::close(file) != 0 && error == 0) error = errno;
  return error;
}

/// The rename itself must reach the disk too.
void flush_folder(const fs::path& folder) {
  const int file =
      ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (file < 0) return;
  ::fsync(file);
  ::close(file);
}

/// A name beside `path` which no other run uses.
fs::path beside(const fs::path& path) {
  return path.parent_path() /
         ("." + path.filename().string() + ".new-" + std::to_string(::getpid()));
}

/// What an earlier output of ours says it holds; nothing if the folder is no such output.
std::set<std::string> listed_files(const fs::path& folder) {
  const auto text = load_text((folder / kManifest).string());
  if (!text) return {};
  const auto json = nlohmann::json::parse(*text, nullptr, false);
  if (!json.is_object() || json.value("made_by", nlohmann::json()) != kMaker) return {};
  std::set<std::string> out{kManifest};
  const auto files = json.value("files", nlohmann::json::array());
  if (files.is_array())
    for (const auto& f : files)
      if (f.is_object() && f.contains("name") && f["name"].is_string())
        out.insert(f["name"].get<std::string>());
  return out;
}

Written<void> may_replace(const fs::path& place) {
  std::error_code error;
  if (!fs::exists(fs::symlink_status(place, error))) return {};
  if (!fs::is_directory(place, error)) return fault(place, "is there and is not a folder", true);
  const std::set<std::string> ours = listed_files(place);
  if (ours.empty())
    return fault(place, "is there and was not made by this program; name another folder", true);
  for (const auto& entry : fs::recursive_directory_iterator(place, error)) {
    const std::string name = entry.path().lexically_relative(place).generic_string();
    if (!entry.is_directory(error) && !ours.contains(name))
      return fault(entry.path(), "is not of this program's making; move it or name another folder",
                   true);
  }
  return {};
}

}  // namespace

Written<void> write_file(const std::string& path, std::string_view text) {
  if (fs::is_directory(path)) return fault(path, "is a folder, not a file", true);
  const fs::path work = beside(path);
  int error = put(work, text);
  if (error == 0 && ::rename(work.c_str(), path.c_str()) != 0) error = errno;
  if (error == 0) {
    flush_folder(fs::path(path).parent_path());
    return {};
  }
  ::unlink(work.c_str());
  return system_fault(path, error);
}

std::string manifest_text(const std::vector<std::pair<std::string, std::string>>& files,
                          std::string_view version) {
  nlohmann::ordered_json manifest{
      {"format", 1}, {"made_by", kMaker}, {"version", version}, {"files", nlohmann::json::array()}};
  for (const auto& [name, hash] : files)
    manifest["files"].push_back(nlohmann::ordered_json{{"name", name}, {"sha256", hash}});
  return manifest.dump(2) + "\n";
}

Written<OutputFolder> OutputFolder::begin(const std::string& place) {
  std::error_code error;
  // Links are followed, so that what is swapped is the folder and not the link to it; a trailing
  // slash is dropped.
  fs::path where = fs::weakly_canonical(fs::absolute(place, error), error);
  if (!where.has_filename()) where = where.parent_path();
  if (error || place.empty() || !where.has_filename())
    return fault(place, "is no name for a folder", true);
  if (const auto may = may_replace(where); !may) return std::unexpected(may.error());
  const fs::path work = beside(where);
  fs::create_directories(where.parent_path(), error);
  if (!error) fs::remove_all(work, error);
  if (!error) fs::create_directory(work, error);
  if (error) return system_fault(place, error.value());
  return OutputFolder(std::move(where), work);
}

OutputFolder::OutputFolder(OutputFolder&& other) noexcept
    : place_(std::move(other.place_)),
      work_(std::exchange(other.work_, fs::path())),
      files_(std::move(other.files_)) {}

OutputFolder::~OutputFolder() {
  std::error_code error;
  if (!work_.empty()) fs::remove_all(work_, error);
}

Written<void> OutputFolder::write(const std::string& name, std::string_view text) {
  const fs::path path = work_ / name;
  std::error_code error;
  fs::create_directories(path.parent_path(), error);
  const int put_error = error ? error.value() : put(path, text);
  if (put_error != 0) return system_fault(place_ / name, put_error);
  files_.emplace_back(name, sha256_hex(text));
  return {};
}

Written<void> OutputFolder::commit(std::string_view version) {
  if (const int error = put(work_ / kManifest, manifest_text(files_, version)); error != 0)
    return system_fault(place_ / kManifest, error);
  flush_folder(work_);

  // Somebody may have taken the place meanwhile.
  if (const auto may = may_replace(place_); !may) return may;
  std::error_code error;
  const bool there = fs::exists(place_, error);
  const unsigned flags = there ? RENAME_EXCHANGE : RENAME_NOREPLACE;
  int failed = ::renameat2(AT_FDCWD, work_.c_str(), AT_FDCWD, place_.c_str(), flags);
  if (failed != 0 && errno == EINVAL) {  // a file system without exchange: two steps instead of one
    if (there) fs::remove_all(place_, error);
    failed = ::rename(work_.c_str(), place_.c_str());
  }
  if (failed != 0) return system_fault(place_, errno);
  flush_folder(place_.parent_path());
  if (there) fs::remove_all(work_, error);  // after the exchange this is the old output
  work_.clear();
  return {};
}

}  // namespace pb
