// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Text functions.
#include "base/text.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>

#include "base/check.h"
#include "base/decimal.h"
#include "base/random.h"

namespace pb {
namespace {

TEST(Text, TrimsSplitsJoins) {
  EXPECT_EQ(trim(" \t a b\r\n"), "a b");
  EXPECT_EQ(trim("   "), "");
  EXPECT_EQ(split("a,,b", ','), (std::vector<std::string_view>{"a", "", "b"}));
  EXPECT_EQ(split("", ','), (std::vector<std::string_view>{""}));
  EXPECT_EQ(split("a,", ','), (std::vector<std::string_view>{"a", ""}));
  EXPECT_EQ(join({"a", "b", "c"}, ", "), "a, b, c");
  EXPECT_EQ(join({}, ", "), "");
  EXPECT_EQ(replace_all("aXXbX", "X", "yy"), "ayyyybyy");
  EXPECT_THROW(replace_all("a", "", "b"), InternalError);
}

TEST(Text, IgnoresCaseOfAsciiOnly) {
  EXPECT_EQ(to_lower("AZaz09_É"), "azaz09_É");
  EXPECT_TRUE(equal_ignoring_case("OhM", "oHm"));
  EXPECT_FALSE(equal_ignoring_case("ohm", "ohms"));
}

TEST(Text, WritesShortestNumbers) {
  EXPECT_EQ(shortest(0.1), "0.1");
  EXPECT_EQ(shortest(1e-9), "1e-09");
  EXPECT_EQ(significant(12345.6, 3), "12300");
  EXPECT_EQ(significant(0.0123456, 3), "0.0123");
  EXPECT_EQ(significant(9.999, 3), "10");
  EXPECT_EQ(significant(1.5e-9, 3), "1.5e-09");
  EXPECT_EQ(significant(-2e20, 3), "-2e+20");
  EXPECT_EQ(significant(0, 3), "0");
  EXPECT_EQ(significant(std::nan(""), 3), "nan");
}

TEST(Text, ReadsNumbersWhole) {
  EXPECT_EQ(to_number("-1.5e3"), -1500.0);
  EXPECT_EQ(to_number("+.5"), 0.5);
  for (const char* bad :
       {"", "-", "+-1", "1 ", " 1", "1x", "nan", "inf", "-inf", "0x10", "1e999", "1,5"})
    EXPECT_FALSE(to_number(bad)) << bad;
  EXPECT_EQ(to_integer("+42"), 42);
  EXPECT_EQ(to_integer("-42"), -42);
  for (const char* bad : {"", "+-1", "1.0", "99999999999999999999", "1 "})
    EXPECT_FALSE(to_integer(bad)) << bad;
}

TEST(Text, DecimalsReadBackToTheSameBits) {
  for (std::uint64_t i = 0; i < 20000; ++i) {
    const double x = std::bit_cast<double>(Draws(7, i).bits("any"));
    if (!std::isfinite(x)) continue;
    const Decimal d = shortest_decimal(x);
    const int digits = static_cast<int>(d.digits.size());
    ASSERT_EQ(from_decimal((d.negative ? "-" : "") + d.digits, d.exponent - digits + 1), x);
    ASSERT_EQ(to_number(to_text(d)), x);
  }
}

TEST(Text, DecimalsOutOfRangeSaturate) {
  EXPECT_EQ(from_decimal("1", 400), std::numeric_limits<double>::infinity());
  EXPECT_EQ(from_decimal("-0.0012", 400), -std::numeric_limits<double>::infinity());
  EXPECT_EQ(from_decimal("1", -400), 0.0);
  EXPECT_EQ(from_decimal("0.000", 400), 0.0);
  EXPECT_EQ(from_decimal("5", -324), std::numeric_limits<double>::denorm_min());
}

// Rows after RFC 3629, section 4 (and the examples of its section 10 on ill-formed input).
TEST(Text, KnowsUtf8) {
  for (const char* good : {"", "abc", "\xc2\xb5", "\xe2\x84\xa6", "\xf0\x9f\x98\x80",
                           "\xed\x9f\xbf", "\xf4\x8f\xbf\xbf"})
    EXPECT_TRUE(is_utf8(good)) << good;
  for (const char* bad :
       {"\x80", "\xc0\x80", "\xc1\xbf", "\xe0\x9f\xbf", "\xed\xa0\x80", "\xf0\x8f\xbf\xbf",
        "\xf4\x90\x80\x80", "\xff", "\xc2", "\xe2\x84", "\xf0\x9f\x98", "\xc2\x41"})
    EXPECT_FALSE(is_utf8(bad)) << quoted(bad);
}

TEST(Text, QuotesSafely) {
  EXPECT_EQ(quoted("a\"b\\c"), R"("a\"b\\c")");
  EXPECT_EQ(quoted("a\nb\x01\x7f"), R"("a\nb\x01\x7f")");
  EXPECT_EQ(quoted("\xff"
                   "µ\xc2\x85"),
            "\"\\xffµ\\xc2\\x85\"");
  EXPECT_EQ(quoted(std::string(100, 'x'), 5), "\"xxxxx...\"");
  EXPECT_TRUE(is_utf8(escaped("µµµµ\xe2\x84", 3)));
}

}  // namespace
}  // namespace pb
