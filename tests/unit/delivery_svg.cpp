// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The writer of SVG and the escaping of everything that comes from files.
#include "delivery/svg.h"

#include <cmath>

#include <gtest/gtest.h>

#include "base/check.h"
#include "base/text.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

TEST(DeliverySvg, EscapesWhatMarkupGivesAMeaning) {
  // The five predefined entities of XML 1.0, 4.6; ' as a number because HTML 4 lacks its name.
  EXPECT_EQ(escape_markup("<a href=\"x\">'&'</a>"),
            "&lt;a href=&quot;x&quot;&gt;&#39;&amp;&#39;&lt;/a&gt;");
  EXPECT_EQ(escape_markup("22 µF"), "22 µF");
  EXPECT_EQ(escape_markup(std::string("a\0b\x1f\n", 5)), "a b  ");
  EXPECT_EQ(escape_markup("\xff<\xc3"), "\xEF\xBF\xBD&lt;\xEF\xBF\xBD");
}

TEST(DeliverySvg, LeavesNothingDangerousOfAnyByte) {
  for (int a = 0; a < 256; ++a)
    for (int b = 0; b < 256; b += 7) {
      const std::string text{static_cast<char>(a), static_cast<char>(b)};
      const std::string safe = escape_markup(text);
      EXPECT_TRUE(is_utf8(safe));
      EXPECT_EQ(safe.find_first_of("<>\"'"), std::string::npos) << a << ' ' << b;
    }
}

TEST(DeliverySvg, NumbersAreShortAndNeverExponents) {
  EXPECT_EQ(svg_number(1.0), "1");
  EXPECT_EQ(svg_number(-0.0001), "0");
  EXPECT_EQ(svg_number(0.1234567), "0.123");
  EXPECT_EQ(svg_number(1e6), "1000000");
  EXPECT_EQ(svg_number(std::nan("")), "0");
  EXPECT_EQ(svg_number(INFINITY), "0");
}

TEST(DeliverySvg, ElementsBalanceAndCarryATitle) {
  Svg svg(0, 0, 10, 20, "a < b & \"c\"");
  svg.open_group("fill=\"none\"");
  svg.line({0, 0}, {1, 2});
  svg.text({1, 1}, "<script>", 2);
  svg.close_group();
  const auto elements = test::read_markup(svg.finish());
  ASSERT_EQ(elements.size(), 5u);
  EXPECT_EQ(elements[0].attributes.at("viewBox"), "0 0 10 20");
  EXPECT_EQ(elements[0].attributes.at("aria-label"), "a &lt; b &amp; &quot;c&quot;");
  EXPECT_EQ(elements[4].text, "&lt;script&gt;");
}

TEST(DeliverySvg, AnUnbalancedGroupIsABug) {
  Svg svg(0, 0, 1, 1, "");
  EXPECT_THROW(svg.close_group(), InternalError);
  svg.open_group("fill=\"none\"");
  EXPECT_THROW(svg.finish(), InternalError);
}

}  // namespace
}  // namespace pb::delivery
