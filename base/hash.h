// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// SHA-256, for input_sha256 and the rows a design embeds: it must be the published function, so
// that anyone can check it with another tool. Tested by tests/unit/base_hash.cpp.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace pb {

/// Fed in pieces; hex() ends it. Source: FIPS PUB 180-4 (2015), sections 4.1.2, 5.1.1, 6.2.
class Sha256 {
 public:
  void add(std::string_view bytes);
  /// Ends the message: 64 lower-case hexadecimal digits. The object must not be fed afterwards.
  std::string hex();

 private:
  void compress(const unsigned char* block);

  std::array<std::uint32_t, 8> state_ = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                         0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  std::array<unsigned char, 64> block_{};
  std::uint64_t length_ = 0;  // bytes so far
};

std::string sha256_hex(std::string_view bytes);

}  // namespace pb
