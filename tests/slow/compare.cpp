// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Captures of a bench whose fault is known: the design with one thing changed, seen through probes
// with noise, a trigger at any time and a converter. The cause that was planted must come first.
#include "judgement/compare.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>

#include "base/random.h"
#include "judgement/causes.h"
#include "judgement/evidence.h"
#include "physics/run.h"
#include "tests/slow/small_design.h"

namespace pb {
namespace {

/// A design of two whole bridges, every switch on a pin of its own: plugs can be crossed.
Design some_design() {
  for (const Template& t : test::shipped()) {
    bool low = false, high = false, shifted = false;
    for (const Role& r : t.roles) {
      low = low || r.part_class == "n-mosfet";
      high = high || r.part_class == "p-mosfet";
      shifted = shifted || r.part_class == "npn";
    }
    if (t.pins.size() < 8 || !low || !high || shifted || t.winding_a[1] == t.winding_b[1]) continue;
    Design d = test::small_design(t);
    if (faults_of(d).empty() && physics::supports(d.wiring, d.settings.sequence)) return d;
  }
  ADD_FAILURE() << "no such template";
  return {};
}

bool has_role(const Template& t, const std::string& part_class, bool needed = false) {
  return std::any_of(t.roles.begin(), t.roles.end(), [&](const Role& r) {
    return r.part_class == part_class && !(needed && r.optional);
  });
}

/// A small design of the first shipped wiring that is so.
Design design_where(const std::function<bool(const Template&)>& is_so) {
  for (const Template& t : test::shipped()) {
    if (!is_so(t)) continue;
    Design d = test::small_design(t);
    if (faults_of(d).empty() && physics::supports(d.wiring, d.settings.sequence)) return d;
  }
  ADD_FAILURE() << "no such template";
  return {};
}

/// What a recorder makes of a variant of `base`, whose figures its point is made of.
Capture capture_of(const Design& base, const Variant& v, double rate_Hz = 20e3,
                   double trigger_s = 0.0137) {
  Case c = case_of(base);
  c.dead_time_s = dead_time_of(c);
  c.steps = static_cast<int>(v.design.brief.motion.move_steps);
  physics::RunRequest r;
  r.plan = physics::plan_move(
      v.design, physics::drive_table(v.design, v.design.settings.sequence, c.dead_time_s), c.steps);
  r.record = true;
  physics::Temperatures cold;
  cold.winding_K = physics::value_of(c.spreads, v.point, "ambient");
  const auto f = physics::run(v.design, c.spreads, v.point, cold, r);
  EXPECT_EQ(f.outcome, physics::Outcome::reached_end);
  Capture out;
  out.file = "bench.csv";
  struct Probe {
    const char *name, *unit;
    double lsb;
  };
  const Probe probes[] = {{"winding_a", "A", 1e-3},
                          {"winding_b", "A", 1e-3},
                          {"rail", "V", 5e-3},
                          {"supply", "A", 1e-3}};
  const auto& rows = f.waves.rows;
  const Draws draws(3, 0);
  for (int p = 0; p < 4; ++p) {
    CaptureChannel channel{probes[p].name, probes[p].unit, {}};
    std::size_t k = 0;
    for (double t = 0.002; t < rows.back()[0]; t += 1 / rate_Hz) {
      while (k + 2 < rows.size() && rows[k + 1][0] <= t) ++k;
      const double share = (t - rows[k][0]) / std::max(rows[k + 1][0] - rows[k][0], 1e-12);
      const auto at = [&](int column) {
        const auto q = static_cast<std::size_t>(column);
        return (1 - share) * rows[k][q] + share * rows[k + 1][q];
      };
      double y = p < 2 ? v.see[p][0] * at(1) + v.see[p][1] * at(2) : at(p + 1);
      y += draws.normal(std::to_string(p) + std::to_string(t), 0, probes[p].lsb);
      channel.y.push_back(std::round(y / probes[p].lsb) * probes[p].lsb);
      if (p == 0) out.t_s.push_back(t - trigger_s);
    }
    out.channels.push_back(std::move(channel));
  }
  return out;
}

Variant as_designed(const Design& d) {
  return {d, physics::typical(physics::spreads_of(d)), {{1, 0}, {0, 1}}};
}

double& figure(Variant& v, const std::string& name) {
  const auto spreads = physics::spreads_of(v.design);
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (spreads[k].name == name) return v.point.value[k];
  ADD_FAILURE() << name;
  return v.point.value[0];
}

CompareOptions options() {
  CompareOptions o;
  o.parallel = threads(0);
  return o;
}

std::string listing(const Comparison& c) {
  std::string out = "outside " + std::to_string(c.outside) + "\n";
  for (const Cause& k : c.causes)
    out +=
        k.key + " " + std::to_string(k.fitted) + " explains " + std::to_string(k.explains) + "\n";
  return out;
}

TEST(Compare, ACleanCaptureIsInsideTheBandAndLinedUp) {
  const Design d = some_design();
  const Capture capture = capture_of(d, as_designed(d));
  const auto c = compare(d, capture, options());
  ASSERT_TRUE(c) << to_lines(c.error());
  EXPECT_TRUE(c->inside_band) << listing(*c);
  EXPECT_TRUE(c->causes.empty());
  EXPECT_NEAR(c->aligned_s, 0.0137, 2e-5);
  EXPECT_EQ(c->overlays.size(), 4u);
}

struct Planted {
  const char* key;
  std::function<void(Variant&)> plant;
  double truth, tolerance;
};

TEST(Compare, ThePlantedCauseComesFirst) {
  const Design d = some_design();
  const double R = d.brief.motor.winding_resistance_ohm, L = d.brief.motor.winding_inductance_H;
  const Planted planted[] = {
      {"supply.resistance", [](Variant& v) { v.design.brief.supply.resistance_ohm += 6; },
       d.brief.supply.resistance_ohm + 6, 0.5},
      {"motor.winding_resistance",
       [&](Variant& v) { figure(v, "motor.winding_resistance") = 1.2 * R; }, 1.2 * R, 0.03 * R},
      {"motor.winding_inductance",
       [&](Variant& v) { figure(v, "motor.winding_inductance") = 1.8 * L; }, 1.8 * L, 0.15 * L}};
  for (const Planted& p : planted) {
    Variant v = as_designed(d);
    p.plant(v);
    const auto c = compare(d, capture_of(d, v), options());
    ASSERT_TRUE(c) << to_lines(c.error());
    ASSERT_FALSE(c->causes.empty()) << p.key;
    EXPECT_EQ(c->causes[0].key, p.key) << listing(*c);
    EXPECT_NEAR(c->causes[0].fitted, p.truth, p.tolerance) << listing(*c);
    EXPECT_GT(c->causes[0].explains, 0.8) << listing(*c);
  }
}

/// The candidate of this key, planted at x.
Comparison planted(const Design& d, const std::string& key, double x, std::string* list) {
  for (const Candidate& k : candidates_of(d, physics::spreads_of(d))) {
    if (k.key != key) continue;
    Variant v = as_designed(d);
    k.apply(v, x);
    const auto c = compare(d, capture_of(d, v), options());
    EXPECT_TRUE(c) << to_lines(c.error());
    *list = listing(*c);
    return *c;
  }
  ADD_FAILURE() << "no candidate " << key;
  return {};
}

TEST(Compare, AWeakSwitchComesFirst) {
  // High sides that follow their gates lose what their threshold is.
  const Design d = design_where([](const Template& t) {
    return has_role(t, "n-mosfet") && !has_role(t, "p-mosfet") && !has_role(t, "npn") &&
           !has_role(t, "pnp");
  });
  std::string list, key;
  double typ = 0;
  for (const Candidate& k : candidates_of(d, physics::spreads_of(d)))
    if (k.key.starts_with("high_side") && k.key.ends_with(".threshold"))
      key = k.key, typ = k.nominal;
  ASSERT_NE(key, "");
  constexpr double kMore_V = 0.7;
  const Comparison c = planted(d, key, typ + kMore_V, &list);
  ASSERT_FALSE(c.causes.empty()) << list;
  EXPECT_EQ(c.causes[0].key, key) << list;
  EXPECT_NEAR(c.causes[0].fitted, typ + kMore_V, 0.15) << list;
}

TEST(Compare, AMissingFreewheelPathComesFirst) {
  // Bipolar high sides have no body diode: without the diode across them the winding has no way.
  // (A clocked pump has diodes that are no way for it.)
  const Design d = design_where(
      [](const Template& t) { return has_role(t, "diode", true) && clock_of(t) == 0; });
  std::string list, key;
  for (const Candidate& k : candidates_of(d, physics::spreads_of(d)))
    if (k.key.ends_with(".missing") && key.empty()) key = k.key;
  ASSERT_NE(key, "") << "the design has freewheeling diodes";
  const Comparison c = planted(d, key, 1, &list);
  ASSERT_FALSE(c.causes.empty()) << list;
  EXPECT_EQ(c.causes[0].key, key) << list;
}

TEST(Compare, AWindingTheOtherWayRoundComesFirst) {
  std::string list;
  const Comparison c = planted(some_design(), "winding_b.reversed", 1, &list);
  ASSERT_FALSE(c.causes.empty()) << list;
  EXPECT_EQ(c.causes[0].key, "winding_b.reversed") << list;
}

TEST(Compare, CrossedPlugsComeFirst) {
  const Design d = some_design();
  for (const Candidate& k : candidates_of(d, physics::spreads_of(d))) {
    if (k.key != "windings.interleaved") continue;
    Variant v = as_designed(d);
    k.apply(v, 1);
    const auto c = compare(d, capture_of(d, v), options());
    ASSERT_TRUE(c) << to_lines(c.error());
    ASSERT_FALSE(c->causes.empty());
    EXPECT_EQ(c->causes[0].key, k.key) << listing(*c);
    EXPECT_FALSE(c->inside_band);
    EXPECT_FALSE(c->deviations.empty());
    return;
  }
  FAIL() << "no such candidate";
}

TEST(Compare, RefusesWhatCannotBeTheseSignals) {
  const Design d = some_design();
  const Capture good = capture_of(d, as_designed(d));
  const auto refusal = [&](const Capture& capture) {
    const auto c = compare(d, capture, options());
    EXPECT_FALSE(c);
    return c ? "" : to_lines(c.error());
  };
  Capture dead = good;
  for (double& y : dead.channels[1].y) y = 0.001;
  EXPECT_NE(refusal(dead).find("winding_b_A: expected a channel that moves"), std::string::npos);
  Capture cut = good;
  for (double& y : cut.channels[0].y) y = std::min(y, 0.02);
  EXPECT_NE(refusal(cut).find("cut off"), std::string::npos);
  Capture columns = good;
  std::swap(columns.channels[2].y, columns.channels[3].y);
  EXPECT_NE(refusal(columns).find("exchanged"), std::string::npos);
  Capture unnamed = good;
  for (CaptureChannel& c : unnamed.channels) c.name = "CH";
  EXPECT_NE(refusal(unnamed).find("winding_a_A"), std::string::npos);
}

}  // namespace
}  // namespace pb
