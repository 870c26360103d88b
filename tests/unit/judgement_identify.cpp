// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Motors of known figures, measured by a simulated instrument. The signals are closed forms, not
// the engine: i = V/R (1 - exp(-t R/L)) of a step, K w sin(theta) of a spin; a probe of finite
// bandwidth adds the two-exponential form. Noise, jitter, offset, drift and an eight to twelve bit
// converter are what an instrument adds.
#include "judgement/identify.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/math.h"
#include "base/random.h"

namespace pb {
namespace {

struct Bench {
  double V = 12, R = 30, L = 20e-3;
  double noise = 2e-3, offset = 4e-3, drift = 0.0, lag_s = 0, jitter_s = 0, step_A = 0,
         noise_V = 20e-3;
  int rows = 800;
  double before_s = 0.6e-3, dt_s = 5e-6;
};

/// A first-order probe behind a first-order rise.
double step_current(const Bench& b, double t) {
  if (t <= 0) return 0;
  const double tau = b.L / b.R;
  if (b.lag_s <= 0) return b.V / b.R * (1 - std::exp(-t / tau));
  return b.V / b.R *
         (1 - (tau * std::exp(-t / tau) - b.lag_s * std::exp(-t / b.lag_s)) / (tau - b.lag_s));
}

Capture capture_of(const Bench& b, std::uint64_t seed, bool with_voltage) {
  const Draws draws(seed, 0);
  Capture c;
  c.file = "bench.csv";
  c.channels.push_back({"current", "A", {}});
  if (with_voltage) c.channels.push_back({"voltage", "V", {}});
  // Where the trigger falls between two rows is chance.
  const double at = b.before_s + b.dt_s * draws.uniform("phase");
  for (int k = 0; k < b.rows; ++k) {
    const std::string n = std::to_string(k);
    const double t = k * b.dt_s, now = t - at + b.jitter_s * draws.normal("j" + n, 0, 1);
    double i = step_current(b, now) + b.offset + b.drift * t + draws.normal("i" + n, 0, b.noise);
    if (b.step_A > 0) i = std::round(i / b.step_A) * b.step_A;
    c.t_s.push_back(t);
    c.channels[0].y.push_back(i);
    if (with_voltage)
      c.channels[1].y.push_back((now > 0 ? b.V : 0.0) + draws.normal("v" + n, 0, b.noise_V));
  }
  return c;
}

const Parameter& named(const Identified& r, const std::string& name) {
  static const Parameter none{};
  for (const Parameter& p : r.parameters)
    if (p.name == name) return p;
  ADD_FAILURE() << "no " << name << " " << r.undecided;
  return none;
}

TEST(WindingCurrent, IsTheClosedFormOfStepAndRamp) {
  // Step: V/R (1 - exp(-t/tau)). Ramp s t: s/R (t - tau + tau exp(-t/tau)). Both from any textbook
  // on first-order circuits; linear, so that their sum holds too.
  const double R = 3, L = 0.012, tau = L / R;
  const std::vector<double> t = {-1e-3, 0, 1e-3, 4e-3, 9e-3};
  const auto step = winding_current(t, {-1, 0, 0, 1}, {0, 0, 6, 6}, R, L, 0);
  const auto ramp = winding_current(t, {-1, 0, 5e-3, 1}, {0, 0, 5, 5}, R, L, 0);
  const auto late = winding_current({3e-3}, {-1, 0, 0, 1}, {0, 0, 6, 6}, R, L, 2e-3);
  for (std::size_t k = 0; k < t.size(); ++k) {
    const double x = std::max(t[k], 0.0);
    EXPECT_NEAR(step[k], 2 * (1 - std::exp(-x / tau)), 1e-12);
    const auto ramped = [&](double s) {
      return s <= 0 ? 0.0 : 1000 / R * (s - tau + tau * std::exp(-s / tau));
    };
    EXPECT_NEAR(ramp[k], ramped(x) - ramped(x - 5e-3), 1e-12);
  }
  EXPECT_NEAR(late[0], 2 * (1 - std::exp(-1e-3 / tau)), 1e-12);
  EXPECT_NEAR(winding_current({5.0}, {0, 1}, {6, 6}, R, L, 0)[0], 2, 1e-12);  // it was at rest
}

/// How often the 95 % intervals hold the truth, and their median width.
struct Coverage {
  int resistance = 0, inductance = 0, runs = 0;
  std::vector<double> widths;
};
Coverage coverage(const Bench& b, int runs, bool with_voltage) {
  Coverage out;
  for (int k = 0; k < runs; ++k) {
    const auto r = identify(capture_of(b, static_cast<std::uint64_t>(k), with_voltage),
                            {.voltage_V = with_voltage ? kNotGiven : b.V});
    EXPECT_TRUE(r) << (r ? "" : to_lines(r.error()));
    if (!r) continue;
    const Parameter& R = named(*r, "winding_resistance");
    const Parameter& L = named(*r, "winding_inductance");
    out.resistance += R.low <= b.R && b.R <= R.high;
    out.inductance += L.low <= b.L && b.L <= L.high;
    out.widths.push_back(R.high - R.low);
    ++out.runs;
  }
  std::sort(out.widths.begin(), out.widths.end());
  return out;
}

TEST(Identify, IntervalsHoldTheTruthAsOftenAsTheySay) {
  Bench plain, quantised, bent;
  quantised.step_A = 0.4 / 256, quantised.noise = 1e-3;
  bent.lag_s = 15e-6, bent.drift = 0.4, bent.jitter_s = 1e-6, bent.step_A = 0.4 / 1024;
  constexpr int kRuns = 60;
  for (const auto& [bench, with_voltage] :
       {std::pair{plain, false}, {plain, true}, {quantised, true}, {bent, true}}) {
    const Coverage c = coverage(bench, kRuns, with_voltage);
    ASSERT_EQ(c.runs, kRuns);
    // 57 of 60 expected; binomial, fewer than 52 once in a hundred.
    for (int held : {c.resistance, c.inductance}) {
      EXPECT_GE(held, 52) << bench.lag_s << " " << with_voltage;
    }
  }
}

TEST(Identify, IntervalsAreNoWiderThanTheDataAllow) {
  // Cramér-Rao of the five unknowns R, L, delay, offset, drift, from derivatives of the closed
  // form.
  const Bench b;
  const double tau = b.L / b.R;
  double n[5][5] = {};
  for (int k = 0; k < b.rows; ++k) {
    const double t = k * b.dt_s - b.before_s, e = std::exp(-t / tau), I = b.V / b.R;
    const double on = t > 0;
    const double d[5] = {on * (-I / b.R * (1 - e) + I * e * t / b.L),
                         on * (-I * e * t * b.R / (b.L * b.L)), on * (-I / tau * e), 1, t};
    for (int i = 0; i < 5; ++i)
      for (int j = 0; j < 5; ++j) n[i][j] += d[i] * d[j] / (b.noise * b.noise);
  }
  // The variance of R is 1/(its information less what the others share): eliminate them.
  for (int p = 4; p > 0; --p)
    for (int i = 0; i < p; ++i)
      for (int j = 0; j < p; ++j) n[i][j] -= n[i][p] * n[p][j] / n[p][p];
  const double width = 2 * 1.96 / std::sqrt(n[0][0]);
  const Coverage c = coverage(b, 41, true);
  EXPECT_LE(c.widths[20], 1.5 * width);
  EXPECT_GE(c.widths[20], 0.8 * width);
}

TEST(Identify, BackEmfConstantOfARotorThatSlowsDown) {
  const double K = 0.25, teeth = 12;
  int held = 0;
  constexpr int kRuns = 40;
  for (int run = 0; run < kRuns; ++run) {
    const Draws draws(static_cast<std::uint64_t>(run), 1);
    Capture c;
    c.channels.push_back({"CH1", "V", {}});
    // Coasting against viscous friction: w = w0 exp(-t/T).
    const double w0 = 20, T = 0.4, phase = 6 * draws.uniform("phase");
    for (int k = 0; k < 4000; ++k) {
      const double t = k * 1e-4, w = w0 * std::exp(-t / T);
      const double angle = teeth * w0 * T * (1 - std::exp(-t / T)) + phase;
      const double v =
          K * w * std::sin(angle) + 0.02 + draws.normal("v" + std::to_string(k), 0, 0.05);
      c.t_s.push_back(t);
      c.channels[0].y.push_back(std::round(v / 0.04) * 0.04);
    }
    const auto r = identify(c, {.steps_per_turn = 4 * teeth});
    ASSERT_TRUE(r) << to_lines(r.error());
    const Parameter& p = named(*r, "back_emf_constant");
    EXPECT_NEAR(p.value, K, 0.01 * K);
    held += p.low <= K && K <= p.high;
  }
  EXPECT_GE(held, 34);  // of 40 at 95 %: binomial, fewer once in a hundred
}

TEST(Identify, RefusesWhatShowsNothing) {
  const auto found = [](const Capture& c, double voltage_V = 12) {
    const auto r = identify(c, {.voltage_V = voltage_V});
    EXPECT_FALSE(r);
    return r ? "" : to_lines(r.error());
  };
  Bench b;
  Capture still = capture_of(b, 1, false);
  for (double& y : still.channels[0].y) y = 0.1;
  EXPECT_NE(found(still).find("does not move"), std::string::npos);
  b.V = 1e-9;
  EXPECT_NE(found(capture_of(b, 1, false)).find("does not move"), std::string::npos);
  Capture cut = capture_of({}, 1, false);
  for (double& y : cut.channels[0].y) y = std::min(y, 0.2);
  EXPECT_NE(found(cut).find("cut off at 0.2"), std::string::npos);
  EXPECT_NE(found(capture_of({}, 1, false), kNotGiven).find("--voltage"), std::string::npos);
  Capture turned = capture_of({}, 1, true);
  for (double& y : turned.channels[0].y) y = -y;
  EXPECT_NE(found(turned).find("other way"), std::string::npos);
  EXPECT_NE(found({}).find("no channel"), std::string::npos);
}

}  // namespace
}  // namespace pb
