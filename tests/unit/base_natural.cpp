// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "base/natural.h"

#include <gtest/gtest.h>

#include "base/check.h"

namespace pb {
namespace {

// Factorials beyond 2^64: Abramowitz and Stegun, Handbook of Mathematical Functions (1972), table
// 6.3 to fewer digits; 2^128 from RFC 4291 (2006), 2^128 addresses, written out.
TEST(Natural, MultipliesBeyondAWord) {
  Natural f = 1;
  for (std::uint64_t k = 2; k <= 30; ++k) f *= k;
  EXPECT_EQ(f.text(), "265252859812191058636308480000000");
  Natural p = 1;
  for (int k = 0; k < 128; ++k) p *= 2;
  EXPECT_EQ(p.text(), "340282366920938463463374607431768211456");
  EXPECT_NEAR(p.approximate(), 0x1p128, 0x1p128 * 1e-15);
}

TEST(Natural, KeepsEveryUnit) {
  Natural big = 1;
  for (int k = 0; k < 40; ++k) big *= 10;
  Natural more = big;
  more += 1;
  EXPECT_NE(more, big);
  EXPECT_EQ((more - big).text(), "1");
  EXPECT_EQ((big - 1).text(), std::string(40, '9'));
  EXPECT_EQ((big - 1) + 1, big);
  EXPECT_TRUE((big - big).is_zero());
  EXPECT_EQ(Natural(0).text(), "0");
  EXPECT_EQ(Natural(0), big *= 0);
}

TEST(Natural, HasNoNegatives) {
  Natural two = 2;
  EXPECT_THROW(two -= 3, InternalError);
}

}  // namespace
}  // namespace pb
