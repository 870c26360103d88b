// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Problems as lines, and "did you mean".
#include "base/problem.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

TEST(Problem, ReadsAsOneLine) {
  EXPECT_EQ(to_line({"b.toml", 3, 8, "motor.rate", "a step rate", "\"12 V\"", ""}),
            "b.toml:3:8: motor.rate: expected a step rate, found \"12 V\"");
  EXPECT_EQ(to_line({"b.toml", 3, 8, "k", "x", "y", "hint"}),
            "b.toml:3:8: k: expected x, found y (hint)");
  EXPECT_EQ(to_line({"b.toml", 3, 0, "", "", "", "cannot be read"}), "b.toml:3: cannot be read");
  EXPECT_EQ(to_line({"", 0, 0, "k", "", "", "odd"}), "k: odd");
  EXPECT_EQ(to_line({"a\nb", 0, 0, "k\x1b[2J", "x", "", ""}), "a\\nb: k\\x1b[2J: expected x");
  EXPECT_EQ(to_lines({{"a", 1, 2, "", "x", "y", ""}, {"", 0, 0, "", "", "y", ""}}),
            "a:1:2: expected x, found y\nfound y\n");
}

TEST(Problem, AppendsInOrder) {
  Problems all = {{.key = "a"}};
  append(all, {{.key = "b"}, {.key = "c"}});
  ASSERT_EQ(all.size(), 3u);
  EXPECT_EQ(all[2].key, "c");
}

// Distances by hand; kitten/sitting is the example of the textbooks on the subject.
TEST(Problem, CountsEdits) {
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3);
  EXPECT_EQ(edit_distance("", "abc"), 3);
  EXPECT_EQ(edit_distance("abc", ""), 3);
  EXPECT_EQ(edit_distance("rate", "raet"), 1);  // neighbours swapped
  EXPECT_EQ(edit_distance("Rate", "rATE"), 0);
  EXPECT_EQ(edit_distance("ca", "abc"), 3);  // restricted: 2 in the unrestricted distance
}

TEST(Problem, FindsTheNearestWord) {
  const std::vector<std::string> keys = {"winding_resistance", "winding_inductance", "rate", "ramp",
                                         "rest"};
  EXPECT_EQ(nearest("winding_resistence", keys), "winding_resistance");
  EXPECT_EQ(nearest("rat", keys), "rate");
  EXPECT_EQ(nearest("inductance", keys), "winding_inductance");
  EXPECT_EQ(nearest("colour", keys), "");
  EXPECT_EQ(nearest("", keys), "");
  EXPECT_EQ(nearest(std::string(100000, 'x'), keys), "");
  EXPECT_EQ(nearest("rams", keys), "ramp");
}

}  // namespace
}  // namespace pb
