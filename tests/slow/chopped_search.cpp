// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The search for the driver of a chopped motor comes to an end: on a catalogue of few kinds it
// refutes one chip by heat, proves the next, and needs to prove nothing that costs more.
#include <gtest/gtest.h>

#include <algorithm>

#include "judgement/chips.h"
#include "judgement/search.h"
#include "tests/slow/small_design.h"

namespace pb::test {
namespace {

bool has(const Part& p, std::string_view name, double least, double most) {
  const double x = figure(p, name);
  return x >= least && x <= most;
}

/// Of the starter catalogue what may stand on 24 V, without the kinds in between.
std::vector<Part> few() {
  std::vector<Part> out;
  for (const Part& p : starter()) {
    const std::string& c = p.part_class;
    const bool keep = c == "bridge-chip" ? has(p, "supply_max", 30, 60)
                      : c == "electrolytic"
                          ? has(p, "voltage_max", 35, 40) && has(p, "capacitance", 90e-6, 110e-6)
                      : c == "ceramic"
                          ? has(p, "voltage_max", 50, 60) && has(p, "capacitance", 0.9e-7, 1.1e-7)
                          : false;
    if (keep) out.push_back(p);
  }
  return out;
}

TEST(ChoppedSearch, ComesToAnEndAndSaysWhichChipToBuy) {
  const auto text = load_text(kTree + "/examples/carriage-feed/brief.toml");
  ASSERT_TRUE(text);
  const auto read = read_brief("brief.toml", *text);
  ASSERT_TRUE(read);
  Brief restless = read->brief;  // with its rests the smaller chip stays cool enough
  restless.motion.rest_s = 0;
  std::vector<Template> chips = shipped();
  std::erase_if(chips, [](const Template& t) { return !is_bought(t); });
  SearchOptions o;
  o.enough = [] { return true; };
  const SearchResult r = search(restless, {}, chips, few(), o);
  EXPECT_TRUE(r.undecided.empty()) << r.undecided.front();
  ASSERT_TRUE(chip_wins(r));
  EXPECT_TRUE(r.chips.front().proof.verdict.passes);
  EXPECT_TRUE(r.rejected.contains("switch_junction"));
  EXPECT_NE(r.claim.find("would cost less than the cheapest chip"), std::string::npos) << r.claim;
}

}  // namespace
}  // namespace pb::test
