// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The smallest change that would save a near miss, on a miss made by hand: a chip whose inputs ask
// for more than the logic gives.
#include "judgement/saves.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/slow/small_design.h"
#include "tests/slow/small_world.h"

namespace pb::test {
namespace {

/// A passing board with a chip, from the first small world that has one.
Design passing_chip() {
  for (std::uint64_t seed = 20;; ++seed) {
    WorldSize size;
    size.templates = 0, size.chips = 2, size.others = 2;
    const World w = small_world(seed, size);
    SearchOptions o;
    o.top = 1;
    const SearchResult r = search(w.brief, {}, w.templates, w.parts, o);
    for (const ChipOffer& c : r.chips)
      if (c.passes) return c.design;
  }
}

Part& chip_of(Design& d) {
  for (auto& [role, part] : d.parts)
    if (is_driver_chip(*find_part_class(part.part_class))) return part;
  ADD_FAILURE();
  return d.parts.begin()->second;
}

TEST(LongSaves, FindTheLogicVoltageThatWasTakenAway) {
  NearMiss miss;
  miss.design = passing_chip();
  // Between what 3.3 V and 5 V give for certain.
  Part& chip = chip_of(miss.design);
  const PartClass& k = *find_part_class(chip.part_class);
  chip.figures[static_cast<std::size_t>(figure_index(k, "input_high_min"))] = 3.4;
  miss.design.brief.controller.logic_voltage_V = 3.3;
  ProofOptions o;
  o.fail_first = true;
  const Proof p = prove(miss.design, o);
  ASSERT_FALSE(p.verdict.passes);
  for (const Check& c : p.verdict.checks)
    if (!c.passes) miss.check_id = c.id, miss.subject = c.subject, miss.corner = c.corner;
  EXPECT_EQ(miss.check_id, "gate_drive_on");
  const std::vector<Save> saves{smallest_save(miss, {})};
  ASSERT_EQ(saves.size(), 1u);
  ASSERT_TRUE(saves[0].found);
  EXPECT_TRUE(saves[0].proven);
  EXPECT_EQ(saves[0].change.key, "controller.logic_voltage");
  EXPECT_EQ(saves[0].change.text, "controller logic voltage 5 V instead of 3.3 V");
  EXPECT_TRUE(prove(saves[0].change.design, {}).verdict.passes);
}

TEST(Saves, ChangesAreOneThingEachAndSmallestFirst) {
  const Design d = small_design(shipped().front());
  const std::vector<Change> all = changes_of(d, "gate_drive_on", d.wiring.legs[0].high[0]);
  ASSERT_GT(all.size(), 20u);
  double before = 0;
  for (const Change& c : all) {
    EXPECT_GE(c.size, before) << c.text;
    before = c.size;
    EXPECT_NE(c.from, c.to) << c.text;
    EXPECT_TRUE(faults_of(c.design).empty()) << c.text;
    int different = 0;
    for (const BriefKey& key : brief_keys()) {
      Design was = d, is = c.design;
      if (!key.number) continue;
      const double a = key.number(was.brief), b = key.number(is.brief);
      different += a != b && !(std::isnan(a) && std::isnan(b));
    }
    for (const auto& [role, part] : c.design.parts)
      different += part.figures != d.parts.at(role).figures &&
                   part.number == d.parts.at(role).number && c.key.starts_with(role + ".");
    EXPECT_EQ(different, 1) << c.text;
  }
}

}  // namespace
}  // namespace pb::test
