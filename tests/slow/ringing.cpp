// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A driver that oscillates by itself is a driver that fails: of the switches that are meant to be
// off some are not. Small transistors in a stage whose P gates are crossed, pulled up far more
// weakly than its template says (docs/wirings.md).
#include <gtest/gtest.h>

#include <algorithm>

#include "judgement/checks.h"
#include "judgement/proof.h"
#include "judgement/yield.h"
#include "tests/slow/small_design.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

Part row(const std::string& number) {
  const auto at = std::ranges::find(test::starter(), number, &Part::number);
  EXPECT_NE(at, test::starter().end()) << number;
  return at == test::starter().end() ? Part{} : *at;
}

Design crossed(double pull_up_ohm) {
  const auto wiring = load_template(test::kTree + "/templates", "p-over-n-crossed");
  EXPECT_TRUE(wiring);
  Design d = test::small_design(*wiring);
  const auto text = load_text(test::kTree + "/examples/vent-flap/brief.toml");
  const auto brief = read_brief("brief.toml", text ? *text : "");
  EXPECT_TRUE(brief);
  d.brief = brief->brief;
  d.settings.sequence = "one-phase", d.settings.stop = "coast";
  d.parts["high_side"] = row("PFET-30V-500mR-SOT323-a");
  d.parts["low_side"] = row("NFET-20V-1R-SOT323-a");
  d.settings.value["gate_pull_up"] = pull_up_ohm;
  for (const Role& r : d.wiring.roles)
    if (r.optional) d.parts.erase(r.name);
  return d;
}

void expect_rings(const std::string& id, double value, double limit) {
  EXPECT_EQ(id, "gate_off");
  EXPECT_GT(value, limit);
}

TEST(Ringing, FailsByTheSwitchesThatItTurnsOn) {
  const Design d = crossed(22e3);
  const Verdict v = prove(d, {}).verdict;
  EXPECT_EQ(v.undecided, std::vector<std::string>{});
  EXPECT_FALSE(v.passes);
  ASSERT_FALSE(v.checks.empty());
  for (const Check& c : v.checks) {
    expect_rings(c.id, c.value, c.limit);
    EXPECT_FALSE(c.passes);
    EXPECT_EQ(c.facts.at("oscillates_1"), 1);
  }
  // A P gate that swings with the opposite output is pulled as far as the supply reaches.
  EXPECT_GT(std::ranges::max_element(v.checks, {}, &Check::value)->value, 6.0);
}

// A driver that works and is only stopped early, at an edge, has turned on nothing again and again.
TEST(Ringing, IsNotARunThatIsCutShort) {
  const Design d = judgement_samples::sound();
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  const physics::Point typ = physics::typical(c.spreads);
  for (const long most : {500, 700, 900, 1100, 1300}) {
    physics::RunRequest r;
    r.plan = move_plan(c);
    r.options.max_steps = most;
    Evidence e;
    e.move.figures = physics::run(d, c.spreads, typ, {}, r);
    ASSERT_EQ(e.move.figures.outcome, physics::Outcome::too_many_steps) << most;
    EXPECT_TRUE(turned_on_by_ringing(c, typ, e).empty()) << most;
  }
}

TEST(Ringing, IsAUnitThatFails) {
  const Design d = crossed(22e3);
  Case c = case_of(d);
  c.dead_time_s = dead_time_of(c);
  const Evidence nominal = nominal_evidence(c, {});
  const UnitOutcome unit = judge_unit(c, nominal, physics::typical(c.spreads), {});
  EXPECT_TRUE(unit.fails);
  EXPECT_EQ(unit.undecided, "");
  for (const UnitCheck& k : unit.checks) expect_rings(k.id, k.value, k.limit);
}

}  // namespace
}  // namespace pb
