// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// ZIP files taken apart by hand, after the published APPNOTE; tests/cli/test_handoff.py has another
// reader read one.
#include "files/zip.h"

#include <zlib.h>

#include <cstdint>

#include <gtest/gtest.h>

namespace pb {
namespace {

std::uint32_t number(const std::string& bytes, std::size_t at, int count) {
  std::uint32_t out = 0;
  for (int k = count; k-- > 0;)
    out = (out << 8) | static_cast<unsigned char>(bytes.at(at + static_cast<std::size_t>(k)));
  return out;
}

std::string inflated(const std::string& packed, std::size_t size) {
  std::string out(size, '\0');
  z_stream z{};
  EXPECT_EQ(inflateInit2(&z, -15), Z_OK);
  std::string in = packed;
  z.next_in = reinterpret_cast<Bytef*>(in.data());
  z.avail_in = static_cast<uInt>(in.size());
  z.next_out = reinterpret_cast<Bytef*>(out.data());
  z.avail_out = static_cast<uInt>(out.size());
  EXPECT_EQ(inflate(&z, Z_FINISH), Z_STREAM_END);
  inflateEnd(&z);
  return out;
}

TEST(FilesZip, EntriesComeBack) {
  const std::vector<std::pair<std::string, std::string>> entries = {
      {"a.txt", std::string(100000, 'x')},
      {"folder/\xC3\xA4", "y"},
      {"nul", std::string("\0\1\xff", 3)}};
  const std::string zip = zip_of(entries);
  const std::size_t end = zip.size() - 22;
  ASSERT_EQ(number(zip, end, 4), 0x06054b50u);
  EXPECT_EQ(number(zip, end + 10, 2), entries.size());
  std::size_t at = number(zip, end + 16, 4);
  EXPECT_EQ(at + number(zip, end + 12, 4), end);
  for (const auto& [name, text] : entries) {
    ASSERT_EQ(number(zip, at, 4), 0x02014b50u);
    EXPECT_EQ(number(zip, at + 14, 2), 0x21u);  // 1980-01-01
    EXPECT_EQ(zip.substr(at + 46, number(zip, at + 28, 2)), name);
    const std::size_t local = number(zip, at + 42, 4);
    ASSERT_EQ(number(zip, local, 4), 0x04034b50u);
    EXPECT_EQ(zip.substr(local + 4, 26), zip.substr(at + 6, 26));
    const std::string packed = zip.substr(local + 30 + name.size(), number(zip, at + 20, 4));
    EXPECT_EQ(inflated(packed, number(zip, at + 24, 4)), text);
    EXPECT_EQ(number(zip, at + 16, 4), crc32(0, reinterpret_cast<const Bytef*>(text.data()),
                                             static_cast<uInt>(text.size())));
    at += 46 + name.size();
  }
  EXPECT_EQ(at, end);
}

TEST(FilesZip, EmptyTextsAndNoEntries) {
  EXPECT_EQ(zip_of({}).size(), 22u);
  EXPECT_GT(zip_of({{"empty", ""}}).size(), 22u);
}

}  // namespace
}  // namespace pb
