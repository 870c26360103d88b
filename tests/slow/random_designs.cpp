// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Designs nobody would draw: any shipped wiring with any parts of the right classes, driven into
// any motor from any supply. Most of them are hopeless, and that is what is asked: each must end in
// numbers or in a named outcome, its books closed.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <regex>
#include <string>

#include "base/math.h"
#include "base/parallel.h"
#include "base/random.h"
#include "judgement/proof.h"
#include "tests/slow/small_design.h"

namespace pb {
namespace {

/// Draws of one design.
class Dice {
 public:
  explicit Dice(std::uint64_t unit) : draws_(20260101, unit) {}

  double within(const std::string& name, double low, double high) const {  // log-uniform
    return std::exp(draws_.uniform(name, std::log(low), std::log(high)));
  }
  template <class T>
  const T& one_of(const std::string& name, const std::vector<T>& list) const {
    return list[static_cast<std::size_t>(draws_.uniform(name) * static_cast<double>(list.size()))];
  }
  bool chance(const std::string& name, double share) const { return draws_.uniform(name) < share; }

 private:
  Draws draws_;
};

/// What a brief may leave out, each now and then: ramps, iron, a magnet that saturates, a gear with
/// play, an end stop, what a supply does at its limit, chopping (by duty, which takes a second or
/// two and is drawn least).
void add_optional(const Dice& dice, Brief& b) {
  MotorBrief& m = b.motor;
  const double full_A = b.supply.voltage_V / m.winding_resistance_ohm;
  const auto now_and_then = [&](const char* what) { return dice.chance(what, 0.2); };
  if (now_and_then("ramp?")) {
    b.motion.start_rate_steps_s =
        std::max(b.motion.rate_steps_s * dice.within("start", 0.2, 1), 0.1);
    b.motion.ramp_steps_s2 = dice.within("ramp", 1e2, 1e5);
  }
  if (now_and_then("saturates?")) m.saturation_current_A = full_A * dice.within("I_s", 0.3, 5);
  if (now_and_then("iron?"))
    m.iron_loss_resistance_ohm =
        std::max(m.winding_resistance_ohm * dice.within("iron", 3, 300), 1.0);
  if (now_and_then("stop?")) b.load.end_stop_rad = dice.within("stop", 0.02, 5);
  if (now_and_then("play?")) b.load.backlash_rad = dice.within("play", 1e-3, 0.3);
  if (b.load.backlash_rad > 0)
    b.load.inertia_kgm2 = m.rotor_inertia_kgm2 * dice.within("J load", 0.1, 10);
  if (now_and_then("sinks?")) b.supply.can_sink = "yes";
  if (now_and_then("limit?")) {
    b.supply.current_limit_A = full_A * dice.within("limit", 0.3, 5);
    b.supply.limit_behaviour =
        dice.one_of<std::string>("behaviour", {"checked", "constant-current", "hiccup"});
  }
  if (dice.chance("chops?", 0.01)) {
    b.regulation.kind = "duty";
    // Where every edge is simulated, slow moves are ten thousands of periods, all alike.
    b.motion.rate_steps_s = std::max(b.motion.rate_steps_s, 400.0);
    b.regulation.current_A = full_A * dice.within("I chopped", 0.1, 0.9);
    b.regulation.frequency_Hz = dice.within("f", 2e3, 15e3);
    b.motion.move_steps = std::min(b.motion.move_steps, 12.0);
  }
}

/// The usual brief with another motor, supply and rate, and a third of its defaults moved.
Brief any_brief(const Dice& dice, Brief b) {
  for (const BriefKey& k : brief_keys()) {
    if (!k.number || k.need != Need::defaulted || k.section == "build") continue;
    double& x = k.number(b);
    const std::string name = full_name(k);
    if (x > 0 && k.dim == dim::temperature) continue;  // kelvin do not scale
    if (dice.chance(name + "?", 0.3))
      x = std::clamp(x * dice.within(name, 0.3, 3.0), k.low, k.high);
  }
  b.motion.microsteps = std::round(b.motion.microsteps);
  MotorBrief& m = b.motor;
  m.winding_resistance_ohm = dice.within("R", 1.5, 200);
  m.winding_inductance_H = m.winding_resistance_ohm * dice.within("L/R", 2e-4, 1e-2);
  m.steps_per_turn = dice.one_of<double>("steps", {20, 24, 48, 100, 200, 400});
  m.holding_torque_Nm = kNotGiven;
  m.back_emf_constant_Vs = dice.within("K", 0.005, 0.5);
  m.rotor_inertia_kgm2 = dice.within("J", 1e-8, 1e-4);
  b.supply.voltage_V = dice.within("V", 2.5, 36);
  b.controller.logic_voltage_V = dice.one_of<double>("logic", {1.8, 3.3, 5.0, 12.0});
  b.motion.rate_steps_s = dice.within("rate", 5, 3000);
  b.motion.move_steps = std::round(dice.within("move", 4, 60));
  b.motion.hold = dice.one_of<std::string>("hold", {"on", "off"});
  b.motion.rest_s = dice.one_of<double>("rest", {0.0, 0.0, 0.5, 5.0, 60.0});
  b.controller.reset = dice.one_of<std::string>("reset", {"floating", "pull-up", "pull-down"});
  add_optional(dice, b);
  return b;
}

Design any_design(std::uint64_t unit) {
  static const std::vector<Template> wirings = test::shipped();
  const Dice dice(unit);
  const Template* wiring = &dice.one_of("wiring", wirings);
  // Every edge of a clock is simulated: one such design costs ten others.
  if (clock_of(*wiring) > 0 && !dice.chance("clocked", 0.2)) wiring = &wirings.front();
  Design d = test::small_design(*wiring);
  d.brief = any_brief(dice, d.brief);
  d.parts.clear(), d.settings = {};
  for (const Role& r : d.wiring.roles) {
    std::vector<Part> fit;
    for (const Part& p : test::starter())
      if (p.part_class == r.part_class) fit.push_back(p);
    if (fit.empty() || (r.optional && dice.chance(r.name + "?", 0.5))) continue;
    d.parts[r.name] = dice.one_of(r.name, fit);
    if (!r.values.empty()) d.settings.value[r.name] = dice.one_of(r.name + " value", r.values);
  }
  std::vector<std::string> sequences;
  std::vector<const char*> known = {"one-phase", "two-phase", "half"};
  if (chops_by_duty(d.brief)) known.push_back("micro");
  for (const char* s : known)
    if (physics::supports(d.wiring, s)) sequences.emplace_back(s);
  d.settings.sequence = dice.one_of("sequence", sequences);
  d.settings.stop = dice.one_of<std::string>("stop", {"brake", "coast"});
  std::vector<std::string> decays;
  for (const char* s : {"slow", "fast", "diode"})
    if (physics::supports_decay(d.wiring, d.settings.sequence, s)) decays.emplace_back(s);
  if (decays.empty()) {  // it cannot be chopped
    d.brief.regulation.kind = "none";
    if (d.settings.sequence == "micro") d.settings.sequence = sequences.front();
  } else {
    d.settings.decay = dice.one_of("decay", decays);
  }
  return d;
}

/// How the proof of one design ended.
struct Ending {
  std::string trouble;  // what is wrong with it; empty if nothing
  bool legal = true, decided = false;
};

/// Whether an outcome says which number of which part, or at what time, ended it.
bool names_what_and_where(const std::string& why) {
  static const std::regex known(
      "(no convergence|oscillates by itself: \\d+ steps) at t = -?[0-9.e+-]+ s, .+"
      "|[a-z_]+ of \\S.* has no number: .+"
      "|dead time: .+|no state to start from.*|no resting state found|no mean over a period of the "
      "chopping.*");
  return std::regex_match(why, known);
}

Ending ending_of(const Design& d) {
  Ending out;
  out.legal = contradictions(d.brief).empty() && faults_of(d).empty();
  if (!out.legal) return out;
  ProofOptions o;
  o.depth = Depth::trial;
  const Verdict v = prove(d, o).verdict;
  out.decided = v.undecided.empty();
  for (const std::string& why : v.undecided)  // books always close
    if (!names_what_and_where(why) || why.find("ledger") != std::string::npos) out.trouble = why;
  if (!(v.energy_residual <= 1e-3)) out.trouble = "energy residual";
  for (const Check& c : v.checks)
    if (!std::isfinite(c.value) || !std::isfinite(c.margin) || c.passes != (c.margin >= 0))
      out.trouble = c.id + " of " + c.subject;
  if (v.checks.empty() && out.decided) out.trouble = "nothing was judged";
  return out;
}

/// A tool that gives up on everything has survived nothing: most must be decided.
void expect_endings(std::size_t from, std::size_t n) {
  std::vector<Ending> endings(n);
  threads(0)(n, [&](std::size_t k) { endings[k] = ending_of(any_design(from + k)); });
  std::size_t legal = 0, decided = 0;
  for (std::size_t k = 0; k < n; ++k) {
    legal += endings[k].legal ? 1 : 0, decided += endings[k].decided ? 1 : 0;
    EXPECT_EQ(endings[k].trouble, "")
        << "unit " << from + k << ", " << any_design(from + k).wiring.id;
  }
  EXPECT_GT(legal, n * 9 / 10);
  EXPECT_GT(decided, legal * 6 / 10);  // clamps without a rated pulse leave many open
  testing::Test::RecordProperty("legal", std::to_string(legal));
  testing::Test::RecordProperty("decided", std::to_string(decided));
  std::printf("%zu legal, %zu decided\n", legal, decided);
}

TEST(RandomDesigns, EachEndsInNumbersOrANamedOutcome) { expect_endings(0, 200); }

constexpr std::size_t kThousand = 1000;
class LongRandomDesigns : public testing::TestWithParam<std::size_t> {};

TEST_P(LongRandomDesigns, EachEndsInNumbersOrANamedOutcome) {
  expect_endings(GetParam() * kThousand, kThousand);
}
INSTANTIATE_TEST_SUITE_P(Thousands, LongRandomDesigns, testing::Range<std::size_t>(0, 10));

}  // namespace
}  // namespace pb
