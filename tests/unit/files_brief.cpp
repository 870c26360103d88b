// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief as a file: defaults, round trips, and every way of getting it wrong.
#include "files/toml_brief.h"

#include <gtest/gtest.h>

#include "base/text.h"
#include "files/load.h"
#include "tests/unit/files_samples.h"

namespace pb {
namespace {

using test::kLeastBrief;
using test::OneWrong;

Problems problems_of(const std::string& text) {
  const auto read = read_brief("b.toml", text);
  return read ? Problems{} : read.error();
}

bool mentions(const Problems& problems, const std::string& piece) {
  return to_lines(problems).find(piece) != std::string::npos;
}

TEST(FilesBrief, CountsNeedNoUnitAndARateMayBeTheShaftsSpeed) {
  for (const char* steps : {"48", "\"48\"", "\"48 steps\""})
    for (const char* rate : {"\"120 rpm\"", "\"2 turn/s\"", "\"96 steps/s\""}) {
      std::string text = replace_all(kLeastBrief, "\"48 step\"", steps);
      text = replace_all(text, "rate = \"100 step/s\"", std::string("rate = ") + rate);
      const auto read = read_brief("b.toml", text);
      ASSERT_TRUE(read) << to_lines(read.error());
      EXPECT_EQ(read->brief.motor.steps_per_turn, 48.0);
      EXPECT_NEAR(read->brief.motion.rate_steps_s, 96.0, 1e-12);
    }
  // Without the steps of a turn there is no way from one to the other; out of range is out of
  // range.
  std::string text = replace_all(kLeastBrief, "rate = \"100 step/s\"", "rate = \"120 rpm\"");
  EXPECT_TRUE(mentions(problems_of(replace_all(text, "\"48 step\"", "\"0 step\"")), "motion.rate"));
  EXPECT_TRUE(mentions(problems_of(replace_all(text, "120 rpm", "9e9 rpm")), "motion.rate"));
}

TEST(FilesBrief, LeastBriefAssumesEveryDefault) {
  const auto read = read_brief("b.toml", kLeastBrief);
  ASSERT_TRUE(read) << to_lines(read.error());
  std::size_t defaults = 0;
  for (const BriefKey& key : brief_keys()) defaults += key.need == Need::defaulted ? 1 : 0;
  EXPECT_EQ(read->assumed.size(), defaults);
  EXPECT_EQ(read->brief.motor.steps_per_turn, 48.0);
  EXPECT_DOUBLE_EQ(read->brief.ambient.max_K, 323.15);  // 50 degC
  for (const Assumed& a : read->assumed)
    if (a.key == "ambient.max") {
      EXPECT_EQ(a.value, "50");
      EXPECT_EQ(a.unit, "degC");
    }
}

TEST(FilesBrief, WritesBackToTheSameBits) {
  std::vector<std::string> texts{kLeastBrief};
  for (const std::string& path : test::files_below("examples", "brief.toml"))
    texts.push_back(load_text(path).value());
  ASSERT_GE(texts.size(), 4u);
  for (const std::string& text : texts) {
    const auto first = read_brief("b.toml", text);
    ASSERT_TRUE(first) << to_lines(first.error());
    const std::string written = to_text(first->brief);
    const auto second = read_brief("written", written);
    ASSERT_TRUE(second) << to_lines(second.error()) << written;
    EXPECT_TRUE(second->assumed.empty());
    Brief a = first->brief, b = second->brief;
    for (const BriefKey& key : brief_keys()) {
      if (key.text)
        EXPECT_EQ(key.text(a), key.text(b)) << full_name(key);
      else if (given(key.number(a)))
        EXPECT_EQ(key.number(a), key.number(b)) << full_name(key);
      else
        EXPECT_FALSE(given(key.number(b))) << full_name(key);
    }
  }
}

TEST(FilesBrief, EmptyBriefNamesAllRequiredKeys) {
  const Problems problems = problems_of("");
  for (const BriefKey& key : brief_keys())
    EXPECT_EQ(mentions(problems, full_name(key) + ": expected"), key.need == Need::required)
        << full_name(key);
}

class FilesBriefBad : public testing::TestWithParam<test::OneWrong> {};

TEST_P(FilesBriefBad, OneClearProblemWithItsPlace) {
  const Problems problems = problems_of(GetParam().in(kLeastBrief));
  ASSERT_EQ(problems.size(), 1u) << to_lines(problems);
  GetParam().expect_in(problems);
  EXPECT_EQ(problems[0].file, "b.toml");
}

INSTANTIATE_TEST_SUITE_P(
    Table, FilesBriefBad,
    testing::Values(
        OneWrong{"\"50 ohm\"", "\"12 V\"",
                 "b.toml:3:22: motor.winding_resistance: expected a resistance"},
        OneWrong{"\"50 ohm\"", "50", "write text with a unit"},
        OneWrong{"\"50 ohm\"", "\"-50 ohm\"", "50 mohm to 100 kohm, found -50 ohm"},
        OneWrong{"\"50 ohm\"", "\"nan ohm\"", "motor.winding_resistance: expected a resistance"},
        OneWrong{"\"50 ohm\"", "[\"50 ohm\"]", "found a list"},
        OneWrong{"\"48 step\"", "\"0 step\"", "motor.steps_per_turn: expected"},
        OneWrong{"\"48 step\"", "\"50 step\"", "a multiple of 4, found 50"},
        OneWrong{"1000", "nan", "build.quantity: expected"},
        OneWrong{"1000", "inf", "build.quantity: expected"},
        OneWrong{"1000", "-5", "build.quantity: expected"}, OneWrong{"1000", "true", "found true"},
        OneWrong{"1000", "1979-05-27", "found a date"},
        OneWrong{"[motion]", "[motion]\nsequence = \"haif\"", "did you mean \"half\"?"},
        OneWrong{"[motion]", "[motion]\nraet = \"5 step/s\"", "did you mean motion.rate?"},
        OneWrong{"[motion]", "[lood]\n[motion]", "did you mean load?"},
        OneWrong{"[motion]", "[motion]\nstart_rate = \"200 step/s\"", "at most motion.rate"},
        OneWrong{"[motion]", "[load]\nbacklash = \"1 deg\"\n[motion]",
                 "load.inertia: expected above 0"},
        OneWrong{"[supply]", "[supply]\nlimit_behaviour = \"hiccup\"",
                 "supply.current_limit: expected the current"},
        OneWrong{"back_emf_constant = \"0.07 V s/rad\"", "", "found neither"},
        OneWrong{"format = 1", "format = 2", "format: expected 1, found 2"},
        OneWrong{"format = 1", "load = 5", "load: expected a table, found 5"},
        OneWrong{"[motion]", "[motion", "not TOML"},
        OneWrong{"[motion]", "title = \"\"\"\nµ \\\"\"\"\" # µ\n[motion]\nsµop = 1",
                 "b.toml:10:2: not TOML"},
        OneWrong{"[motion]", "[ ~]\n[motion]", "b.toml:7:1: not TOML"},
        OneWrong{"[motion]", "[motion]\nhold = \"\\u0007\"", "\\x07"}));

TEST(FilesBrief, AllProblemsAtOnce) {
  std::string text = replace_all(kLeastBrief, "\"50 ohm\"", "\"x\"");
  text = replace_all(text, "\"30 mH\"", "3");
  text = replace_all(text, "\"5 V\"", "\"5 A\"");
  EXPECT_EQ(problems_of(text).size(), 4u) << to_lines(problems_of(text));
}

TEST(FilesBrief, SetKeyFollowsTheRulesOfTheFile) {
  Brief brief = read_brief("b.toml", kLeastBrief)->brief;
  EXPECT_TRUE(set_key(brief, "supply.voltage", "12 V").empty());
  EXPECT_EQ(brief.supply.voltage_V, 12.0);
  EXPECT_TRUE(set_key(brief, "build.quantity", "500").empty());
  EXPECT_EQ(set_key(brief, "supply.voltage", "12 A").size(), 1u);
  EXPECT_TRUE(mentions(set_key(brief, "supply.voltag", "12 V"), "did you mean supply.voltage?"));
  brief = read_brief("b.toml", kLeastBrief)->brief;
  EXPECT_TRUE(mentions(set_key(brief, "motion.start_rate", "300 step/s"), "at most motion.rate"));
}

}  // namespace
}  // namespace pb
