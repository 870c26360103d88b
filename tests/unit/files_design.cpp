// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Designs as files: the tree's own read cleanly and round-trip, embedded or with a named wiring.
#include "files/toml_design.h"

#include <gtest/gtest.h>

#include <fstream>

#include "base/text.h"
#include "files/load.h"
#include "files/toml_template.h"
#include "tests/unit/files_samples.h"

namespace pb {
namespace {

using test::OneWrong;
const std::string kTemplates = (test::kRoot / "templates").string();

std::string any_design() {
  return load_text(test::files_below("examples", "design.toml")[0]).value();
}

TEST(FilesDesign, ExamplesReadCleanlyAndWriteBackTheSame) {
  const auto paths = test::files_below("examples", "design.toml");
  ASSERT_FALSE(paths.empty());
  for (const std::string& path : paths) {
    const auto d = load_design(path, kTemplates);
    ASSERT_TRUE(d) << to_lines(d.error());
    const std::string written = to_text(*d);
    const auto again = read_design("written", written, "nowhere");
    ASSERT_TRUE(again) << to_lines(again.error());
    EXPECT_EQ(to_text(*again), written);
    EXPECT_EQ(again->assumed.size(), d->assumed.size());
    for (const auto& [role, part] : d->parts) {
      const Part& other = again->parts.at(role);
      EXPECT_EQ(part.number, other.number);
      EXPECT_EQ(part.price_breaks, other.price_breaks);
      for (std::size_t i = 0; i < part.figures.size(); ++i)
        EXPECT_TRUE(part.figures[i] == other.figures[i] || !given(part.figures[i]));
    }
  }
}

TEST(FilesDesign, NamedWiringIsFoundBesideTheDesignAndInTheTemplates) {
  auto d = read_design("d.toml", any_design(), kTemplates);
  ASSERT_TRUE(d) << to_lines(d.error());
  const std::string text = to_text(*d);
  const std::size_t from = text.find("\n[wiring]"), to = text.find("\n[part.");
  const auto folder = std::filesystem::path(testing::TempDir()) / "named-wiring";
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "mine.toml") << to_text(d->wiring);
  for (const char* name : {"mine", "mine.toml"}) {
    std::string named = text;
    named.replace(from, to - from, "");
    named =
        replace_all(named, "format = 1\n", "format = 1\nwiring = \"" + std::string(name) + "\"\n");
    const auto beside = read_design((folder / "d.toml").string(), named, "nowhere");
    ASSERT_TRUE(beside) << to_lines(beside.error());
    EXPECT_EQ(to_text(*beside), text);
    EXPECT_TRUE(read_design("/d.toml", named, folder.string()));
    EXPECT_FALSE(read_design("/d.toml", named, "/nowhere"));
  }
  std::filesystem::remove_all(folder);
}

class FilesDesignBad : public testing::TestWithParam<test::OneWrong> {};

TEST_P(FilesDesignBad, IsRefusedWithItsPlace) {
  const auto read = read_design("d.toml", GetParam().in(any_design()), kTemplates);
  ASSERT_FALSE(read);
  GetParam().expect_in(read.error());
}

INSTANTIATE_TEST_SUITE_P(
    Table, FilesDesignBad,
    testing::Values(
        OneWrong{"[part.bulk]", "[part.bluk]", "part.bulk"},
        OneWrong{"vds_max = \"30 V\"", "vds_mx = \"30 V\"",
                 "did you mean part.high_side.figures.vds_max?"},
        OneWrong{"vds_max = \"30 V\"", "vds_max = \"30 A\"", "expected a voltage"},
        OneWrong{"threshold_max = \"2 V\"", "threshold_max = \"1.2 V\"",
                 "threshold_typ: expected at most threshold_max 1.2 V, found 1.5 V"},
        OneWrong{"1:0.09;1000:0.04", "1000:0.09;1:0.04", "rising quantities"},
        OneWrong{"gate_resistor = \"360 ohm\"", "gate = \"360 ohm\"", "settings.value.gate"},
        OneWrong{"sequence = \"two-phase\"", "sequence = \"five-phase\"", "one of"},
        OneWrong{"winding_resistance = \"28 ohm\"", "", "brief.motor.winding_resistance"},
        OneWrong{"steps_per_turn = \"48 step\"", "steps_per_turn = \"50 step\"",
                 "d.toml:15:18: brief.motor.steps_per_turn"},
        OneWrong{"class = \"electrolytic\"\npackage", "class = \"diode\"\npackage", "part.bulk"}));

}  // namespace
}  // namespace pb
