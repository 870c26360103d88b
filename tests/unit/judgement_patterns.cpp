// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Which pins belong together, and which of their patterns a program passes through.
#include "judgement/patterns.h"

#include <gtest/gtest.h>

#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

using Patterns = std::vector<std::string>;

TEST(PinGroups, ALegAndItsPinsInEveryTemplate) {
  for (const Template& t : test::all_templates()) {
    const Design d = test::design_of(t, true);
    std::size_t pins = 0, outputs = 0;
    for (const PinGroup& g : pin_groups(d)) pins += g.pins.size(), outputs += g.outputs.size();
    // No pattern shorts what a driver chip keeps apart inside: without legs there is no group.
    EXPECT_EQ(pins, t.legs.empty() ? 0u : t.pins.size()) << t.id;
    EXPECT_EQ(outputs, t.legs.size()) << t.id;
  }
}

TEST(PinGroups, APartBetweenTwoLegsMakesThemOne) {
  Design d = judgement_samples::sound();
  EXPECT_EQ(pin_groups(d).size(), 4u);
  d.wiring.places.push_back({"R99", "pull_down", {"pin_a1h", "pin_b1h"}});
  EXPECT_EQ(pin_groups(d).size(), 3u);
}

TEST(PassedPatterns, OffBeforeOnNeverHasBothOn) {
  const Design d = judgement_samples::sound();
  for (const PinGroup& g : pin_groups(d))
    // Forward, reverse, both off between them, brake: of two active-high pins never "11".
    EXPECT_EQ(passed_patterns(d, g), (Patterns{"00", "01", "10"}));
}

TEST(PassedPatterns, WithoutAnOffLevelAnyOrderMayCome) {
  Design d = judgement_samples::sound();
  for (Pin& p : d.wiring.pins) p.off = '-';
  for (const PinGroup& g : pin_groups(d))
    EXPECT_EQ(passed_patterns(d, g), (Patterns{"00", "01", "10", "11"}));
}

}  // namespace
}  // namespace pb
