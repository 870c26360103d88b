// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Templates as files: the tree's own are sound and round-trip; broken ones are refused with a
// place.
#include "files/toml_template.h"

#include <gtest/gtest.h>

#include <set>

#include "base/text.h"
#include "files/load.h"
#include "tests/unit/files_samples.h"

namespace pb {
namespace {

using test::OneWrong;
std::string any_template() {
  return load_text(test::files_below("templates", "*.toml")[0]).value();
}

TEST(FilesTemplate, EveryTemplateIsSoundAndWritesBackTheSame) {
  const auto all = load_templates((test::kRoot / "templates").string());
  ASSERT_TRUE(all) << to_lines(all.error());
  ASSERT_GE(all->size(), 5u);
  for (const Template& t : *all) {
    EXPECT_TRUE(faults_of(t).empty()) << t.id;
    const std::string written = to_text(t);
    const auto again = read_template("written", written);
    ASSERT_TRUE(again) << to_lines(again.error());
    EXPECT_EQ(to_text(*again), written) << t.id;
    EXPECT_EQ(again->roles.size(), t.roles.size());
    EXPECT_EQ(again->places.size(), t.places.size());
    EXPECT_EQ(again->roles.front().name, t.roles.front().name) << "the order of the file is kept";
  }
}

TEST(FilesTemplate, EveryFileIsNamedAfterItsId) {
  for (const std::string& path : test::files_below("templates", "*.toml")) {
    const auto t = read_template(path, load_text(path).value());
    ASSERT_TRUE(t) << to_lines(t.error());
    EXPECT_EQ(std::filesystem::path(path).stem(), t->id);
  }
}

TEST(FilesTemplate, NoTwoPartsAreDrawnOnTopOfEachOther) {
  constexpr double kSymbol = 4;  // a symbol and its text take a square of this many grid steps
  const auto all = load_templates((test::kRoot / "templates").string());
  ASSERT_TRUE(all);
  for (const Template& t : *all)
    for (const Place& a : t.places)
      for (const Place& b : t.places) {
        const bool apart = std::abs(a.x - b.x) >= kSymbol || std::abs(a.y - b.y) >= kSymbol;
        EXPECT_TRUE(apart || a.ref == b.ref) << t.id << ": " << a.ref << " and " << b.ref;
      }
}

TEST(FilesTemplate, BrakeStatesAndDrivenStatesNameTheSwitchesOfTheLegs) {
  const auto all = load_templates((test::kRoot / "templates").string());
  ASSERT_TRUE(all);
  for (const Template& t : *all) {
    std::set<std::string> in_legs;
    for (const Leg& l : t.legs) {
      in_legs.insert(l.high.begin(), l.high.end());
      in_legs.insert(l.low.begin(), l.low.end());
    }
    for (const DriveGroup& g : t.groups)
      for (const DriveState& s : g.states)
        for (const std::string& ref : s.on)  // or an input of a driver chip
          EXPECT_TRUE(in_legs.contains(ref) || (!find_place(t, ref) && find_switched(t, ref)))
              << t.id << ref;
  }
}

class FilesTemplateBad : public testing::TestWithParam<test::OneWrong> {};

TEST_P(FilesTemplateBad, IsRefusedWithItsPlace) {
  const auto read = read_template("t.toml", GetParam().in(any_template()));
  ASSERT_FALSE(read);
  GetParam().expect_in(read.error());
}

INSTANTIATE_TEST_SUITE_P(
    Table, FilesTemplateBad,
    testing::Values(
        OneWrong{"class = \"n-mosfet\"", "class = \"n-mosfett\"", "did you mean \"n-mosfet\"?"},
        OneWrong{"drain = \"rail\"", "drian = \"rail\"", "drain: expected text, found nothing"},
        OneWrong{"source = \"a1\"", "source = \"nowhere\"", "it floats"},
        OneWrong{"role = \"high_side\"", "role = \"top\"", "a role of this template"},
        OneWrong{"at = [20, 12]", "at = [20]", "[x, y]"},
        OneWrong{"off = \"0\"", "off = \"2\"", "pin.off: expected one of"},
        OneWrong{"levels = \"1001\"", "levels = \"10x1\"", "4 levels of 0 1 z"},
        OneWrong{"windings = \"a\"", "windings = \"b\"", "each in one group"},
        OneWrong{"optional = true", "optional = \"yes\"", "true or false"},
        OneWrong{"\"360R\"", "\"360 V\"", "a resistance"},
        OneWrong{"ref = \"Q1\"", "ref = \"supply\"", "supply (taken)"},
        OneWrong{"ref = \"Q1\"", "ref = \"a1h\"", "a1h twice"},
        OneWrong{"[winding]", "[windnig]", "did you mean winding?"}));

/// A shipped template with a clocked pin.
std::string clocked_text() {
  const auto all = load_templates((test::kRoot / "templates").string());
  for (const Template& t : *all)
    if (clock_of(t) > 0) return to_text(t);
  ADD_FAILURE() << "none has a clock";
  return {};
}

// The drive code numbers the pins it sets, a timer has one frequency, and no state sets its pins.
TEST(FilesTemplate, ClockedPinsHaveRulesOfTheirOwn) {
  const std::string text = clocked_text();
  ASSERT_TRUE(read_template("t.toml", text));
  const std::size_t at = text.find("clock = ");
  const std::string own = text.substr(at, text.find('\n', at) - at);
  for (const auto& [put, message] : {std::pair{"clock = \"5 Hz\"", "clock: expected"},
                                     std::pair{"clock = \"1000.5 Hz\"", "a whole number of hertz"},
                                     std::pair{"", "a drive group that sets it"}}) {
    std::string broken = text;
    broken.replace(at, own.size(), put);
    const auto read = read_template("t.toml", broken);
    ASSERT_FALSE(read) << put;
    EXPECT_NE(to_lines(read.error()).find(message), std::string::npos) << to_lines(read.error());
  }
  std::string early = text;  // the first pin that the drive sets
  const std::size_t first = early.find("off = ", early.find("[[pin]]"));
  early.insert(early.find('\n', first) + 1, own + "\n");
  const auto read = read_template("t.toml", early);
  ASSERT_FALSE(read);
  const std::string lines = to_lines(read.error());
  EXPECT_NE(lines.find("clocked pins after all others"), std::string::npos) << lines;
  EXPECT_NE(lines.find("a pin that no drive group sets"), std::string::npos) << lines;
}

}  // namespace
}  // namespace pb
