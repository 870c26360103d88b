// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Virtual units: drawn as they should be, the same however they are run, and with the mean, the
// variance and the share of failures that closed forms give where a figure has one.
#include "judgement/yield.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "tests/slow/small_design.h"

namespace pb {
namespace {

double hold_current_A(const Case& c, const physics::Point& p) {
  const physics::Plan plan = physics::plan_hold(
      c.design, physics::standing_table(c.design, c.hold_flow, c.dead_time_s), 0.02);
  physics::RunRequest r;
  r.plan = plan;
  r.settled_K = 0.5;
  return physics::run(c.design, c.spreads, p, {}, r).winding_a.rms_A;
}

/// Of the shipped templates the one that drops least: its hold current is nearly Ohm's law.
const Design& design() {
  static const Design best = [] {
    Design found;
    double most_A = 0;
    for (const Template& t : test::shipped()) {
      const Design d = test::small_design(t);
      const Case c = case_of(d);
      const double i_A = hold_current_A(c, physics::typical(c.spreads));
      if (i_A > most_A) most_A = i_A, found = d;
    }
    return found;
  }();
  return best;
}

Case small_case() {
  Case c = case_of(design());
  c.dead_time_s = dead_time_of(c);
  return c;
}

std::size_t index_of(const Case& c, const std::string& name) {
  for (std::size_t k = 0; k < c.spreads.size(); ++k)
    if (c.spreads[k].name == name) return k;
  ADD_FAILURE() << name;
  return 0;
}

/// A figure that two or more parts of one role have, and the names of two of them.
struct Shared {
  const physics::Spread* spread = nullptr;
  std::string first, second;
};
Shared shared_figure(const Case& c) {
  for (const physics::Spread& s : c.spreads) {
    Shared out{&s, "", ""};
    for (const Place& p : c.design.wiring.places)
      if (!s.role.empty() && p.role == s.role && s.max > s.min)
        (out.first.empty() ? out.first : out.second) = p.ref + s.name.substr(s.role.size());
    if (!out.second.empty()) return out;
  }
  ADD_FAILURE() << "no role with two places";
  return {};
}

// Moments of the distributions, with limits a apart from the middle: uniform a^2/3; normal with the
// limits at three sigma a^2/9; the same cut off there a^2/9 (1 - 6 phi(3)/(2 Phi(3) - 1)).
TEST(Yield, DrawsHaveTheShapeAsked) {
  Case c = small_case();
  const std::size_t at = index_of(c, "motor.winding_resistance");
  physics::Spread& s = c.spreads[at];
  s.min = 45, s.typ = 50, s.max = 55;
  const double phi3 = std::exp(-4.5) / std::sqrt(2 * kPi), inside = 2 * normal_cdf(3) - 1;
  const struct {
    Shape shape;
    double variance;
  } rows[] = {{Shape::uniform, 25.0 / 3},
              {Shape::normal, 25.0 / 9},
              {Shape::truncated, 25.0 / 9 * (1 - 6 * phi3 / inside)}};
  constexpr long kUnits = 20000;
  for (const auto& row : rows) {
    YieldOptions o;
    o.shape = row.shape;
    std::vector<double> x;
    for (long u = 0; u < kUnits; ++u) x.push_back(unit_of(c, o, u).value[at]);
    const Moments m = moments_of(x);
    // Four standard errors; of a variance at most sqrt(2/n) of itself here.
    EXPECT_NEAR(m.mean, 50, 4 * std::sqrt(row.variance / kUnits));
    EXPECT_NEAR(square(m.deviation), row.variance, 4 * std::sqrt(2.0 / kUnits) * row.variance);
    if (row.shape != Shape::normal) {
      EXPECT_GE(*std::min_element(x.begin(), x.end()), 45);
      EXPECT_LE(*std::max_element(x.begin(), x.end()), 55);
    }
    o.width = 0.5;  // of every spread, about its typical value
    EXPECT_NEAR(unit_of(c, o, 7).value[at] - 50, 0.5 * (x[7] - 50), 1e-12);
  }
}

TEST(Yield, PartsOfOneReelAreAlikeAsAsked) {
  const Case c = small_case();
  const Shared figure = shared_figure(c);
  for (double lot : {0.0, 0.5, 1.0}) {
    YieldOptions o;
    o.lot = lot;
    constexpr long kUnits = 4000;
    std::vector<double> a, b;
    for (long u = 0; u < kUnits; ++u) {
      const physics::Point p = unit_of(c, o, u);
      a.push_back(p.own.at(figure.first)), b.push_back(p.own.at(figure.second));
    }
    // Ranks of two normal scores with correlation r: (6/pi) asin(r/2). K. Pearson, 1907.
    const double expected = 6 / kPi * std::asin(lot / 2);
    EXPECT_NEAR(rank_correlation(a, b), expected, 4 / std::sqrt(1.0 * kUnits)) << lot;
    EXPECT_EQ(a == b, lot == 1.0);
  }
}

TEST(Yield, DrawsDependOnNamesNotOnTheirOrder) {
  const Case c = small_case();
  Case turned = c;
  std::reverse(turned.spreads.begin(), turned.spreads.end());
  turned.spreads.pop_back();
  const YieldOptions o;
  YieldOptions other;
  other.seed = 2;
  const physics::Point a = unit_of(c, o, 5), b = unit_of(turned, o, 5);
  EXPECT_EQ(a.own, b.own);
  for (std::size_t k = 0; k < turned.spreads.size(); ++k)
    EXPECT_EQ(b.value[k], a.value[index_of(c, turned.spreads[k].name)]);
  EXPECT_NE(a.own, unit_of(c, other, 5).own);
  EXPECT_NE(a.own, unit_of(c, o, 6).own);
}

YieldOptions few(long units) {
  YieldOptions o;
  o.units = units;
  return o;
}

TEST(Yield, TheSameOnAnyNumberOfThreadsAndOpenedAgain) {
  const YieldResult one = yield_of(design(), few(10));
  ASSERT_TRUE(one.undecided.empty()) << one.undecided;
  ASSERT_FALSE(one.checks.empty());
  YieldOptions o = few(10);
  o.parallel = threads(3);
  const YieldResult three = yield_of(design(), o);
  EXPECT_EQ(one.failed_units, three.failed_units);
  EXPECT_EQ(one.by_check, three.by_check);
  ASSERT_EQ(one.checks.size(), three.checks.size());
  for (std::size_t k = 0; k < one.checks.size(); ++k) {
    const CheckSpread &a = one.checks[k], &b = three.checks[k];
    EXPECT_EQ(a.id + a.subject, b.id + b.subject);
    EXPECT_EQ(a.margin.mean, b.margin.mean);
    EXPECT_EQ(a.margin.deviation, b.margin.deviation);
    EXPECT_EQ(a.worst_value, b.worst_value);
    EXPECT_EQ(a.corner_margin, b.corner_margin);
  }
  // The worst unit, opened alone: bit for bit what the batch saw.
  const Case c = small_case();
  const SingleEffects effects = single_effects(c, nominal_evidence(c, {}), few(10));
  const CheckSpread& worst = one.checks.front();
  const UnitOutcome again = judge_group(
      c, effects, few(10),
      worst.worst_unit /
          physics::kLanes)[static_cast<std::size_t>(worst.worst_unit % physics::kLanes)];
  bool found = false;
  for (const UnitCheck& k : again.checks)
    if (k.id == worst.id && k.subject == worst.subject) {
      found = true;
      EXPECT_EQ(k.value, worst.worst_value);
      EXPECT_EQ(k.margin, worst.worst_margin);
    }
  EXPECT_TRUE(found);
  // Of torque a unit is only asked whether it carries what the rules want.
  long tried = 0;
  for (const UnitCheck& k : again.checks) {
    if (!k.by_trial) continue;
    ++tried;
    EXPECT_EQ(k.id, "torque_margin");
    EXPECT_EQ(k.value, k.margin < 0 ? 0.0 : k.limit);
  }
  EXPECT_EQ(tried, 1);
}

TEST(Yield, NoWidthIsNominal) {
  const Case c = small_case();
  const Evidence nominal = nominal_evidence(c, {});
  const UnitOutcome typ = judge_unit(c, nominal, physics::typical(c.spreads), {});
  YieldOptions o;
  o.width = 0;
  const UnitOutcome unit = judge_group(c, single_effects(c, nominal, o), o, 0)[3];
  ASSERT_EQ(typ.checks.size(), unit.checks.size());
  for (std::size_t k = 0; k < typ.checks.size(); ++k)
    EXPECT_NEAR(unit.checks[k].value, typ.checks[k].value,
                1e-3 * std::abs(typ.checks[k].value) + 1e-9)
        << typ.checks[k].id << ' ' << typ.checks[k].subject;
}

/// Hold current of units of which only the winding's resistance is spread, simulated; the rest of
/// the loop is one resistance r that the nominal unit shows: I = V/(R + r).
struct HoldCurrents {
  std::vector<double> ampere;
  double volt, low_ohm, high_ohm;  // with r
};
HoldCurrents hold_currents(long units) {
  Case c = small_case();
  for (physics::Spread& s : c.spreads)
    if (s.name != "motor.winding_resistance") s.min = s.max = s.typ;
  const std::size_t at = index_of(c, "motor.winding_resistance");
  physics::Spread& s = c.spreads[at];
  s.min = 0.9 * s.typ, s.max = 1.1 * s.typ;
  const auto current = [&](const physics::Point& p) { return hold_current_A(c, p); };
  HoldCurrents out;
  out.volt = physics::value_of(c.spreads, physics::typical(c.spreads), "supply.voltage");
  const double rest = out.volt / current(physics::typical(c.spreads)) - s.typ;
  out.low_ohm = s.min + rest, out.high_ohm = s.max + rest;
  const YieldOptions o;
  for (long u = 0; u < units; ++u) out.ampere.push_back(current(unit_of(c, o, u)));
  return out;
}

// R uniform in [a, b]: mean of 1/R is ln(b/a)/(b - a), of 1/R^2 1/(a b).
TEST(Yield, HoldCurrentHasTheMeanAndVarianceOfTheClosedForm) {
  constexpr long kUnits = 400;
  const HoldCurrents h = hold_currents(kUnits);
  const double a = h.low_ohm, b = h.high_ohm, mean = h.volt * std::log(b / a) / (b - a);
  const double variance = square(h.volt) / (a * b) - square(mean);
  const Moments m = moments_of(h.ampere);
  EXPECT_NEAR(m.mean, mean, 4 * std::sqrt(variance / kUnits));
  EXPECT_NEAR(square(m.deviation), variance, 4 * std::sqrt(0.8 / kUnits) * variance);
  // The switches' drop is not quite a resistance: each unit by itself within a thousandth.
  EXPECT_GE(*std::min_element(h.ampere.begin(), h.ampere.end()), 0.999 * h.volt / b);
  EXPECT_LE(*std::max_element(h.ampere.begin(), h.ampere.end()), 1.001 * h.volt / a);
  // A limit that a known share exceeds: the counted share's 99 % interval holds it.
  for (double share : {0.02, 0.1, 0.5}) {
    const double limit = h.volt / (a + share * (b - a));
    const long hits =
        std::count_if(h.ampere.begin(), h.ampere.end(), [&](double x) { return x > limit; });
    const Interval i = exact_interval(hits, kUnits, 0.99);
    EXPECT_LE(i.low, share);
    EXPECT_GE(i.high, share);
  }
}

TEST(Yield, SaysWhatFailsAndWhatDrivesIt) {
  Design d = design();
  // Limit of the winding's RMS current: one and a half times rated. Here it lies where about half
  // of the units are.
  d.brief.motor.rated_current_A = d.brief.supply.voltage_V / d.brief.motor.winding_resistance_ohm;
  const Case c = case_of(d);
  const Evidence nominal = nominal_evidence(c, {});
  d.brief.motor.rated_current_A =
      std::max(nominal.move.figures.winding_a.rms_A, nominal.hold.figures.winding_a.rms_A) / 1.5;
  YieldOptions o = few(60);
  o.parallel = threads(0);
  const YieldResult r = yield_of(d, o);
  ASSERT_TRUE(r.undecided.empty()) << r.undecided;
  EXPECT_EQ(r.failed, static_cast<long>(r.failed_units.size()));
  EXPECT_GE(r.by_check.at("winding_rms"), 10);
  EXPECT_LE(r.by_check.at("winding_rms"), 50);
  EXPECT_GE(r.failed, r.by_check.at("winding_rms"));
  EXPECT_NEAR(r.yield, 1.0 - static_cast<double>(r.failed) / 60.0, 1e-12);
  const Interval exact = exact_interval(60 - r.failed, 60, 0.95);
  EXPECT_EQ(r.interval.low, exact.low);
  EXPECT_EQ(r.interval.high, exact.high);
  const auto s = std::find_if(r.checks.begin(), r.checks.end(),
                              [](const CheckSpread& k) { return k.id == "winding_rms"; });
  ASSERT_NE(s, r.checks.end());
  // Half fail by count; by margin about half, too.
  EXPECT_NEAR(s->share_by_margin, 0.5, 0.2);
  // Ohm's law names the drivers.
  std::vector<std::string> strongest;
  for (std::size_t k = 0; k < 3; ++k) strongest.push_back(s->drivers[k].figure);
  std::sort(strongest.begin(), strongest.end());
  EXPECT_EQ(strongest,
            (std::vector<std::string>{"ambient", "motor.winding_resistance", "supply.voltage"}));
  // Ordered as theory has it: squares less severe than the sum, no unit beyond the corner.
  EXPECT_LT(s->sum_margin, s->root_sum_square_margin);
  EXPECT_LT(s->root_sum_square_margin, s->nominal_margin);
  EXPECT_LT(s->corner_margin, s->worst_margin);
  EXPECT_FALSE(s->worse_than_corner);
}

}  // namespace
}  // namespace pb
