// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// SHA-256 against published vectors.
#include "base/hash.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

// Source: FIPS 180-4 examples (NIST, "SHA256.pdf" of the cryptographic standards examples); the
// empty message and the million letters from NIST's CAVP and FIPS 180-2, appendix B.3.
TEST(Hash, MatchesPublishedVectors) {
  EXPECT_EQ(sha256_hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256_hex(std::string(1000000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Hash, DoesNotDependOnThePieces) {
  std::string text;
  for (int i = 0; i < 300; ++i) text += static_cast<char>(i);
  for (std::size_t length = 0; length <= text.size(); length += 7) {
    const std::string_view whole = std::string_view(text).substr(0, length);
    for (const std::size_t piece : {1u, 55u, 64u, 65u}) {
      Sha256 hash;
      for (std::size_t at = 0; at < length; at += piece) hash.add(whole.substr(at, piece));
      EXPECT_EQ(hash.hex(), sha256_hex(whole)) << length << " by " << piece;
    }
  }
}

}  // namespace
}  // namespace pb
