// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Changing one key of a text leaves every other byte of it alone.
#include <fmt/core.h>
#include <gtest/gtest.h>

#include "files/load.h"
#include "files/toml_edit.h"
#include "tests/unit/files_samples.h"

namespace pb {
namespace {

constexpr const char* kText = R"(# a head
format = 1
title = 'Old "name"'  # said so

[motor]
winding_resistance = "30 Ω"   # measured, µ-exact
rate = 2000

# the end
[load]
torque = "30 mN m"
)";

std::string edited(const std::string& text, const char* key, const std::optional<std::string>& v) {
  const auto out = edit_toml("t", text, key, v);
  EXPECT_TRUE(out) << (out ? "" : to_lines(out.error()));
  return out ? *out : "";
}

/// The text with one piece of it replaced.
std::string with(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos);
  return text.replace(at, from.size(), to);
}

TEST(EditToml, ReplacesTheValueAndNothingElse) {
  EXPECT_EQ(edited(kText, "motor.winding_resistance", "4k7"), with(kText, "\"30 Ω\"", "\"4k7\""));
  EXPECT_EQ(edited(kText, "title", "New \"one\""),
            with(kText, "'Old \"name\"'", "\"New \\\"one\\\"\""));
  EXPECT_EQ(edited(kText, "load.torque", "1 N m"), with(kText, "\"30 mN m\"", "\"1 N m\""));
}

TEST(EditToml, WholeNumbersStayBare) {
  EXPECT_EQ(edited(kText, "motor.rate", "300"), with(kText, "2000", "300"));
  EXPECT_EQ(edited(kText, "motor.rate", "300 step/s"), with(kText, "2000", "\"300 step/s\""));
}

TEST(EditToml, AddsBehindTheLastKeyOfTheSection) {
  EXPECT_EQ(edited(kText, "motor.inertia", "1 g cm2"),
            with(kText, "rate = 2000\n", "rate = 2000\ninertia = \"1 g cm2\"\n"));
  EXPECT_EQ(edited(kText, "supply.voltage", "12 V"),
            fmt::format("{}\n[supply]\nvoltage = \"12 V\"\n", kText));
  EXPECT_EQ(edited("", "supply.voltage", "12 V"), "[supply]\nvoltage = \"12 V\"\n");
  EXPECT_EQ(edited("[supply]", "supply.voltage", "12 V"), "[supply]\nvoltage = \"12 V\"\n");
}

TEST(EditToml, TakesTheWholeLineAway) {
  EXPECT_EQ(edited(kText, "motor.rate", std::nullopt), with(kText, "rate = 2000\n", ""));
  EXPECT_EQ(edited(kText, "title", std::nullopt),
            with(kText, "title = 'Old \"name\"'  # said so\n", ""));
  EXPECT_EQ(edited(kText, "motor.nothing", std::nullopt), kText);
}

TEST(EditToml, OtherWaysOfWritingTables) {
  EXPECT_EQ(edited("a.b = 1 # c\n", "a.b", "2"), "a.b = 2 # c\n");
  EXPECT_EQ(edited("a = {b = \"x\", c = 1}\n", "a.b", "y"), "a = {b = \"y\", c = 1}\n");
  EXPECT_EQ(edited("t = \"\"\"\none\n\"\"\" # end\n", "t", "two"), "t = \"two\" # end\n");
  // Where the text has no line of its own for the key, it says so and changes nothing.
  EXPECT_FALSE(edit_toml("t", "a = {b = 1, c = 2}\n", "a.b", std::nullopt));
  EXPECT_FALSE(edit_toml("t", "a = [1]\n", "a", "2"));
  EXPECT_FALSE(edit_toml("t", "a = \n", "a", "2"));
}

TEST(EditToml, EveryKeyOfTheExamplesThereAndBack) {
  for (const std::string& file : test::files_below("examples", "brief.toml")) {
    const auto text = load_text(file);
    ASSERT_TRUE(text);
    const auto entries = toml_entries("t", *text);
    ASSERT_TRUE(entries);
    ASSERT_GT(entries->size(), 10u);
    for (const TomlEntry& e : *entries) {
      const std::string once = edited(*text, e.key.c_str(), "17 x");
      EXPECT_NE(once, *text) << e.key;
      EXPECT_EQ(edited(once, e.key.c_str(), e.text), with(once, "\"17 x\"", "\"" + e.text + "\""));
    }
  }
}

}  // namespace
}  // namespace pb
