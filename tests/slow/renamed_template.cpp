// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Names mean nothing: a template with every node, role, ref, pin and id renamed and every list
// shuffled is the same driver and gets the same verdict.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <sstream>

#include "judgement/proof.h"
#include "physics/assembly.h"
#include "physics/canonical.h"
#include "tests/slow/small_design.h"

namespace pb {
namespace {

/// New names in an order unlike the old one; names with a meaning stay.
class Renaming {
 public:
  explicit Renaming(unsigned seed) : random_(seed) {}

  Design apply(Design d) {
    Template& t = d.wiring;
    t.id = "another-id", t.title = "Another title";
    for (Role& r : t.roles) name(r.name);
    for (Place& p : t.places) name(p.ref), name(p.role), names(p.nodes);
    for (Pin& p : t.pins) name(p.name), name(p.node);
    names(t.winding_a), names(t.winding_b);
    for (DriveGroup& g : t.groups) {
      names(g.pins);
      for (DriveState& s : g.states) {
        for (std::string& n : s.on) n = of(n);  // a ref, or an input of the chip of that ref
        shuffle(s.on);
      }
      shuffle(g.states);
      shuffle_pins(g);
    }
    for (Leg& l : t.legs) name(l.output), names(l.high), names(l.low), shuffle(l.high);
    for (Measure& m : t.measures) {
      name(m.sense), name(m.reference);
      if (!m.reached.empty()) name(m.reached);
    }
    shuffle(t.roles), shuffle(t.places), shuffle(t.pins), shuffle(t.groups), shuffle(t.legs);
    // That clocked pins come last is the format's.
    std::ranges::stable_partition(t.pins, [](const Pin& p) { return p.clock_Hz == 0; });
    d.parts = keyed(std::move(d.parts));
    d.settings.value = keyed(std::move(d.settings.value));
    return d;
  }

  /// Words parted by spaces, and role names ahead of a dot.
  std::string of(const std::string& text) const {
    std::istringstream in(text);
    std::string out, word;
    while (in >> word) {
      const std::size_t dot = word.find('.');
      const auto known = to_.find(word.substr(0, dot));
      if (known != to_.end())
        word = known->second + (dot == std::string::npos ? "" : word.substr(dot));
      out += (out.empty() ? "" : " ") + word;
    }
    return out;
  }

 private:
  void name(std::string& n) {
    if (n == kGround || n == kRail || n == kLogic) return;
    auto& to = to_[n];
    if (to.empty()) to = "n" + std::to_string(random_()) + "_" + std::to_string(to_.size());
    n = to;
  }
  void names(std::vector<std::string>& list) {
    for (std::string& n : list) name(n);
  }
  template <class T>
  void shuffle(std::vector<T>& list) {
    std::shuffle(list.begin(), list.end(), random_);
  }
  /// Pins of a group and the levels of its states move together.
  void shuffle_pins(DriveGroup& g) {
    std::vector<std::size_t> order(g.pins.size());
    for (std::size_t k = 0; k < order.size(); ++k) order[k] = k;
    shuffle(order);
    const DriveGroup before = g;
    for (std::size_t k = 0; k < order.size(); ++k) {
      g.pins[k] = before.pins[order[k]];
      for (std::size_t s = 0; s < g.states.size(); ++s)
        g.states[s].levels[k] = before.states[s].levels[order[k]];
    }
  }
  template <class T>
  std::map<std::string, T> keyed(std::map<std::string, T> before) {
    std::map<std::string, T> after;
    for (auto& [key, value] : before) after[of(key)] = std::move(value);
    return after;
  }

  std::mt19937 random_;
  std::map<std::string, std::string> to_;
};

/// The verdict promises nine digits; nothing less is let through.
void expect_close(double a, double b, const std::string& what) {
  if (std::isnan(a) && std::isnan(b)) return;
  EXPECT_NEAR(a, b, 1e-9 * std::max(std::abs(a), std::abs(b))) << what;
}

void expect_same(const Verdict& before, const Verdict& after, const Renaming& renamed) {
  EXPECT_EQ(before.passes, after.passes);
  EXPECT_EQ(before.undecided.size(), after.undecided.size());
  expect_close(before.energy_residual, after.energy_residual, "energy residual");
  ASSERT_EQ(before.checks.size(), after.checks.size());
  std::map<std::pair<std::string, std::string>, const Check*> found;
  for (const Check& c : after.checks) found[{c.id, c.subject}] = &c;
  for (const Check& a : before.checks) {
    const std::string what = a.id + " " + a.subject;
    const auto b = found.find({a.id, renamed.of(a.subject)});
    ASSERT_NE(b, found.end()) << what;
    expect_close(a.value, b->second->value, what + " value");
    expect_close(a.nominal, b->second->nominal, what + " nominal");
    expect_close(a.limit, b->second->limit, what + " limit");
    expect_close(a.margin, b->second->margin, what + " margin");
    expect_close(a.hand_value, b->second->hand_value, what + " by hand");
    EXPECT_EQ(a.grade, b->second->grade) << what;
    for (const auto& [key, value] : a.facts) {
      ASSERT_TRUE(b->second->facts.contains(key)) << what;
      expect_close(value, b->second->facts.at(key), what + " " + key);
    }
    ASSERT_EQ(a.inputs.size(), b->second->inputs.size()) << what;
    for (std::size_t k = 0; k < a.inputs.size(); ++k) {
      const Input& other = b->second->inputs[k];
      EXPECT_EQ(renamed.of(a.inputs[k].figure), other.figure) << what;
      EXPECT_EQ(a.inputs[k].end, other.end) << what;
      expect_close(a.inputs[k].margin_change, other.margin_change, what + " input");
    }
    std::map<std::string, std::string> corner;
    for (const auto& [figure, side] : a.corner) corner[renamed.of(figure)] = side;
    EXPECT_EQ(corner, b->second->corner) << what;
  }
}

class RenamedTemplate : public testing::TestWithParam<std::size_t> {};

TEST_P(RenamedTemplate, GetsTheSameVerdict) {
  const Design original = test::small_design(test::shipped().at(GetParam()));
  Renaming renaming(1);
  const Design renamed = renaming.apply(original);
  ASSERT_TRUE(faults_of(renamed).empty()) << to_lines(faults_of(renamed));
  ProofOptions o;
  if (clock_of(original.wiring) > 0)
    o.depth = Depth::trial;  // a whole proof of each takes a minute
  const Proof before = prove(original, o), after = prove(renamed, o);
  EXPECT_TRUE(before.verdict.undecided.empty()) << before.verdict.undecided.front();
  EXPECT_GT(before.verdict.checks.size(), 50u);  // there is something to compare
  expect_close(before.dead_time_s, after.dead_time_s, "dead time");
  expect_same(before.verdict, after.verdict, renaming);
}

INSTANTIATE_TEST_SUITE_P(Shipped, RenamedTemplate,
                         testing::Range(std::size_t{0}, test::shipped().size()));

/// The circuit itself, element by element: bit for bit the same numbers in the same places.
TEST(RenamedTemplates, MakeTheSameCircuit) {
  ASSERT_GE(test::shipped().size(), 5u);
  const auto circuit = [](const Design& d) {
    const auto spreads = physics::spreads_of(d);
    return physics::assemble(
        d, spreads, physics::typical(spreads), {},
        physics::plan_hold(
            d, physics::standing_table(d, physics::flows_of(d.settings.sequence).at(0), 100e-6),
            0.01),
        {});
  };
  unsigned seed = 100;
  for (const Template& t : test::shipped()) {
    SCOPED_TRACE(t.title);
    const Design original = test::small_design(t);
    const physics::Circuit a = circuit(original);
    for (int k = 0; k < 20; ++k) {
      const physics::Circuit b = circuit(Renaming(seed++).apply(original));
      ASSERT_EQ(a.nodes.size(), b.nodes.size());
      ASSERT_EQ(a.resistors.size(), b.resistors.size());
      for (std::size_t e = 0; e < a.resistors.size(); ++e) {
        ASSERT_EQ(a.resistors[e].a, b.resistors[e].a);
        ASSERT_EQ(a.resistors[e].b, b.resistors[e].b);
        ASSERT_EQ(a.resistors[e].conductance_S, b.resistors[e].conductance_S);
      }
      ASSERT_EQ(a.mosfets.size(), b.mosfets.size());
      for (std::size_t e = 0; e < a.mosfets.size(); ++e) {
        ASSERT_EQ(a.mosfets[e].gate, b.mosfets[e].gate);
        ASSERT_EQ(a.mosfets[e].drain, b.mosfets[e].drain);
      }
      ASSERT_EQ(a.pins.size(), b.pins.size());
      for (std::size_t e = 0; e < a.pins.size(); ++e) ASSERT_EQ(a.pins[e].node, b.pins[e].node);
    }
  }
}

// A lone name must not decide: with one level of one pin changed the orders differ, so the order
// does come from what is connected to what.
TEST(RenamedTemplates, OrderFollowsTheWiring) {
  const std::vector<Template> templates = test::shipped();
  ASSERT_FALSE(templates.empty());
  Design d = test::small_design(templates.front());
  const auto before = physics::canonical_order(d);
  std::swap(d.wiring.winding_a[0], d.wiring.winding_a[1]);
  const auto after = physics::canonical_order(d);
  EXPECT_NE(before.pins, after.pins);
}

}  // namespace
}  // namespace pb
