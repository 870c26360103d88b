// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/load.h"

#include <zlib.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>

namespace pb {
namespace {

constexpr std::uintmax_t kLargest = 64u << 20;
constexpr std::uintmax_t kLargestTable = 256u << 20;  // a million rows

std::unexpected<Problems> refused(const std::string& path, std::string message) {
  return std::unexpected(Problems{{.file = path, .message = std::move(message)}});
}

/// Of at most `largest` bytes.
Checked<std::string> load(const std::string& path, std::uintmax_t largest) {
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
  if (!error && size > largest)
    return refused(path, "larger than " + std::to_string(largest >> 20) + " MiB");

  errno = 0;
  std::ifstream in(path, std::ios::binary);
  if (!in) return refused(path, std::string("cannot be read: ") + std::strerror(errno));
  std::string text(static_cast<std::size_t>(error ? 0 : size), '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (in.bad()) return refused(path, std::string("cannot be read: ") + std::strerror(errno));
  text.resize(static_cast<std::size_t>(in.gcount()));
  return text;
}

/// Ends a stream of zlib however the function is left.
struct Inflater {
  z_stream stream{};
  bool good = false;
  Inflater() {
    constexpr int kGzip = 16;  // zlib's way of asking for a gzip header
    good = inflateInit2(&stream, MAX_WBITS + kGzip) == Z_OK;
  }
  Inflater(const Inflater&) = delete;
  Inflater& operator=(const Inflater&) = delete;
  ~Inflater() {
    if (good) inflateEnd(&stream);
  }
};

/// One member after the other, as gzip allows.
Checked<std::string> inflated(const std::string& path, std::string& packed) {
  Inflater inflater;
  z_stream& z = inflater.stream;
  if (!inflater.good) return refused(path, "out of memory");
  z.next_in = reinterpret_cast<Bytef*>(packed.data());
  z.avail_in = static_cast<uInt>(packed.size());
  std::string out;
  constexpr std::size_t kChunk = 1u << 20;
  int status = Z_OK;
  while (z.avail_in > 0 || status == Z_OK) {
    if (status == Z_STREAM_END && inflateReset(&z) != Z_OK) break;
    const std::size_t had = out.size();
    if (had > kLargestTable)
      return refused(path, "larger than " + std::to_string(kLargestTable >> 20) + " MiB unpacked");
    out.resize(had + kChunk);
    z.next_out = reinterpret_cast<Bytef*>(out.data() + had);
    z.avail_out = kChunk;
    status = inflate(&z, Z_NO_FLUSH);
    out.resize(had + kChunk - z.avail_out);
    if (status != Z_OK && status != Z_STREAM_END) break;
  }
  if (status != Z_STREAM_END) return refused(path, "a damaged or incomplete gzip file");
  return out;
}

}  // namespace

Checked<std::string> load_text(const std::string& path) { return load(path, kLargest); }

Checked<std::string> load_table(const std::string& path) {
  auto bytes = load(path, kLargestTable);
  const bool packed = bytes && bytes->starts_with("\x1f\x8b");
  return packed ? inflated(path, *bytes) : std::move(bytes);
}

}  // namespace pb
