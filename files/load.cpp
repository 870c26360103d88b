// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/load.h"

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>

namespace pb {
namespace {

constexpr std::uintmax_t kLargest = 64u << 20;

std::unexpected<Problems> refused(const std::string& path, std::string message) {
  return std::unexpected(Problems{{.file = path, .message = std::move(message)}});
}

}  // namespace

Checked<std::string> load_text(const std::string& path) {
  namespace fs = std::filesystem;
  std::error_code error;
  const fs::file_status link = fs::symlink_status(path, error);
  if (!fs::exists(link)) return refused(path, "there is no such file");
  const fs::file_status target = fs::status(path, error);
  if (!fs::exists(target)) return refused(path, "a link to a file that is not there");
  if (fs::is_directory(target)) return refused(path, "a folder, not a file");
  // Reading a pipe or a device could wait for ever.
  if (!fs::is_regular_file(target)) return refused(path, "not a regular file");
  const std::uintmax_t size = fs::file_size(path, error);
  if (!error && size > kLargest) return refused(path, "larger than 64 MiB");

  errno = 0;
  std::ifstream in(path, std::ios::binary);
  if (!in) return refused(path, std::string("cannot be read: ") + std::strerror(errno));
  std::string text(static_cast<std::size_t>(error ? 0 : size), '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (in.bad()) return refused(path, std::string("cannot be read: ") + std::strerror(errno));
  text.resize(static_cast<std::size_t>(in.gcount()));
  return text;
}

}  // namespace pb
