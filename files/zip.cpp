// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/zip.h"

#include <zlib.h>

#include <cstdint>
#include <limits>

#include "base/check.h"

namespace pb {
namespace {

constexpr std::uint16_t kVersion = 20, kUtf8Names = 1u << 11, kDeflate = 8, kTime = 0,
                        kDate = (1u << 5) | 1u;  // 1 January of the year 1980 + 0

void put(std::string& out, std::uint32_t value, int bytes) {
  for (int k = 0; k < bytes; ++k) out += static_cast<char>((value >> (8 * k)) & 0xffu);
}

std::uint32_t size_of(const std::string& text) {
  PB_CHECK(text.size() < std::numeric_limits<std::uint32_t>::max(), text.size());
  return static_cast<std::uint32_t>(text.size());
}

/// Without zlib's own head and tail.
std::string deflated(const std::string& text) {
  z_stream z{};
  constexpr int kRaw = -15, kMemory = 8;
  PB_CHECK(
      deflateInit2(&z, Z_BEST_COMPRESSION, Z_DEFLATED, kRaw, kMemory, Z_DEFAULT_STRATEGY) == Z_OK,
      "deflateInit2");
  std::string out(deflateBound(&z, text.size()), '\0');
  z.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));  // read only; old API
  z.avail_in = size_of(text);
  z.next_out = reinterpret_cast<Bytef*>(out.data());
  z.avail_out = size_of(out);
  const int done = deflate(&z, Z_FINISH);
  out.resize(z.total_out);
  deflateEnd(&z);
  PB_CHECK(done == Z_STREAM_END, done);
  return out;
}

/// What the local header and the directory say alike.
void put_facts(std::string& out, const std::string& name, const std::string& text,
               const std::string& packed) {
  put(out, kVersion, 2);
  put(out, kUtf8Names, 2);
  put(out, kDeflate, 2);
  put(out, kTime, 2);
  put(out, kDate, 2);
  put(out,
      static_cast<std::uint32_t>(
          crc32(0, reinterpret_cast<const Bytef*>(text.data()), size_of(text))),
      4);
  put(out, size_of(packed), 4);
  put(out, size_of(text), 4);
  put(out, size_of(name), 2);
  put(out, 0, 2);  // no extra field
}

}  // namespace

std::string zip_of(const std::vector<std::pair<std::string, std::string>>& entries) {
  std::string out, directory;
  for (const auto& [name, text] : entries) {
    const std::string packed = deflated(text);
    put(directory, 0x02014b50, 4);
    put(directory, kVersion, 2);  // made by: the system without modes
    put_facts(directory, name, text, packed);
    put(directory, 0, 2);  // no comment
    put(directory, 0, 2);  // first disk
    put(directory, 0, 2);
    put(directory, 0, 4);  // attributes
    put(directory, size_of(out), 4);
    directory += name;
    put(out, 0x04034b50, 4);
    put_facts(out, name, text, packed);
    out += name + packed;
  }
  const std::uint32_t at = size_of(out);
  out += directory;
  put(out, 0x06054b50, 4);
  put(out, 0, 4);  // disks
  put(out, static_cast<std::uint32_t>(entries.size()), 2);
  put(out, static_cast<std::uint32_t>(entries.size()), 2);
  put(out, size_of(directory), 4);
  put(out, at, 4);
  put(out, 0, 2);
  return out;
}

}  // namespace pb
