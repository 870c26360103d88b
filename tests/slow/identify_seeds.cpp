// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Identification against a motor and instruments that share nothing with it: recordings of
// SUNDIALS CVODE through probes of finite bandwidth, a jittering clock, a drifting offset, noise
// and a converter. Over 200 seeds the 95 % intervals must hold the truth neither too seldom nor too
// often, and be little wider than any unbiased estimate's.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>

#include "base/parallel.h"
#include "judgement/identify.h"
#include "tests/ref/bench_ref.h"

namespace pb {
namespace {

constexpr int kSeeds = 200;
// Of 200 at 95 %, 190 are expected; fewer than 180 or more than 198 happens twice in a thousand.
constexpr int kFewest = 180, kMost = 198;
constexpr double kWiderThanLeast = 1.5;

struct Found {
  double low = 0, high = 0;
};
/// Each of the parameters over all seeds.
std::vector<std::vector<Found>> over_seeds(const std::vector<std::string>& names,
                                           const IdentifyOptions& options,
                                           const std::function<Capture(std::uint64_t)>& capture) {
  std::vector<std::vector<Found>> out(names.size(), std::vector<Found>(kSeeds));
  threads(0)(kSeeds, [&](std::size_t k) {
    const auto r = identify(capture(k + 1), options);
    if (!r) return;
    for (const Parameter& p : r->parameters)
      for (std::size_t n = 0; n < names.size(); ++n)
        if (p.name == names[n]) out[n][k] = {p.low, p.high};
  });
  return out;
}

void expect_honest(const std::vector<Found>& found, double truth, double least_deviation) {
  constexpr double kBothSides = 2 * 1.959964;  // of a normal distribution at 95 %
  int held = 0;
  std::vector<double> widths;
  for (const Found& f : found) {
    held += f.low <= truth && truth <= f.high;
    widths.push_back(f.high - f.low);
  }
  std::sort(widths.begin(), widths.end());
  const double share = widths[widths.size() / 2] / (kBothSides * least_deviation);
  EXPECT_GE(held, kFewest);
  EXPECT_LE(held, kMost);
  EXPECT_LE(share, kWiderThanLeast);
  EXPECT_GE(share, 0.9);  // no one can do better
  std::printf("held %d of %d, median width %.3f of the least\n", held, kSeeds, share);
}

Capture step_capture(const ref::StepBench& bench, std::uint64_t seed) {
  ref::Recording r = ref::record(bench, seed);
  Capture out;
  out.file = "step.csv", out.t_s = std::move(r.t_s);
  out.channels = {{"current", "A", std::move(r.current_A)},
                  {"voltage", "V", std::move(r.voltage_V)}};
  return out;
}

void expect_honest_step(const ref::StepBench& bench) {
  const auto capture = [&](std::uint64_t seed) { return step_capture(bench, seed); };
  const ref::StepBound least = ref::least_deviation(bench);
  const auto found = over_seeds({"winding_resistance", "winding_inductance"}, {}, capture);
  expect_honest(found[0], bench.winding_ohm, least.winding_ohm);
  expect_honest(found[1], bench.winding_H, least.winding_H);
}

void expect_honest_spin(const ref::SpinBench& bench) {
  const auto capture = [&](std::uint64_t seed) {
    ref::Recording r = ref::record(bench, seed);
    Capture out;
    out.file = "spin.csv", out.t_s = std::move(r.t_s);
    out.channels = {{"CH1", "V", std::move(r.voltage_V)}};
    return out;
  };
  constexpr int kTerms = 5;  // of the rotor's way that the fit leaves open
  const auto found = over_seeds({"back_emf_constant"}, {.steps_per_turn = 4 * bench.Nr}, capture);
  expect_honest(found[0], bench.Km_Vs_rad, ref::least_deviation(bench, kTerms));
}

/// A shunt on a recorder of twelve bits.
ref::StepBench twelve_bits() {
  ref::StepBench b;
  b.clock = {-1.5e-3, 16e-6, 0.4e-6, 700};
  b.current = {60e3, 1.2e-3, 0.25e-3, 2e-3, 0.15};
  b.voltage = {2e6, 10e-3, 6e-3, 5e-3, 0};
  return b;
}

/// A clip-on probe on an oscilloscope of eight bits whose clock is no good.
ref::StepBench eight_bits() {
  ref::StepBench b = twelve_bits();
  b.clock.jitter_s = 2e-6;
  b.current = {20e3, 2e-3, 4e-3, 2e-3, 0.15};
  b.voltage = {2e6, 20e-3, 60e-3, 5e-3, 0};
  return b;
}

/// A disc on the shaft, spun by hand, one winding on an oscilloscope of eight bits.
ref::SpinBench spun() {
  ref::SpinBench b;
  b.clock = {0, 40e-6, 2e-6, 1300};
  b.voltage = {200e3, 120e-3, 0.12, 20e-3, 0.1};
  return b;
}

TEST(IdentifySeeds, ResistanceAndInductanceOfAStep) { expect_honest_step(eight_bits()); }

TEST(IdentifySeeds, BackEmfConstantOfASpin) { expect_honest_spin(spun()); }

TEST(LongIdentifySeeds, OtherInstrumentsAndAnotherMotor) {
  ref::StepBench fine = twelve_bits();
  expect_honest_step(fine);
  fine.clock.step_s = 8e-6, fine.clock.rows = 1400;
  expect_honest_step(fine);
  ref::StepBench small = twelve_bits();
  small.supply_V = 5, small.winding_ohm = 22, small.winding_H = 8e-3;
  small.clock = {-0.5e-3, 2e-6, 0.1e-6, 1500};
  expect_honest_step(small);
  ref::SpinBench slow = spun();
  slow.voltage = {200e3, 50e-3, 8e-3, 20e-3, 0.1};
  slow.clock = {0, 20e-6, 0.5e-6, 2600};
  expect_honest_spin(slow);
}

}  // namespace
}  // namespace pb
