// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Parallel loops: each index once, results and exceptions independent of the number of threads.
#include "base/parallel.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <memory>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "base/random.h"

namespace pb {
namespace {

std::vector<std::pair<const char*, ParallelFor>> all_kinds() {
  return {{"serial", serial()},
          {"1", threads(1)},
          {"2", threads(2)},
          {"8", threads(8)},
          {"machine", threads(0)}};
}

TEST(Parallel, RunsEachIndexOnce) {
  for (const auto& [name, run] : all_kinds())
    for (const std::size_t n : {0u, 1u, 2u, 7u, 1000u}) {
      std::vector<std::atomic<int>> counts(n);
      run(n, [&](std::size_t i) { ++counts[i]; });
      for (const auto& c : counts) EXPECT_EQ(c, 1) << name;
    }
}

TEST(Parallel, GivesTheSameResultForAnyNumberOfThreads) {
  std::vector<std::vector<double>> results;
  for (const auto& [name, run] : all_kinds()) {
    std::vector<double> slots(500);
    run(slots.size(), [&](std::size_t i) { slots[i] = Draws(1, i).normal("x", 0, 1); });
    results.push_back(slots);
  }
  for (const auto& r : results) EXPECT_EQ(r, results[0]);
}

TEST(Parallel, RethrowsTheLowestThrower) {
  for (const auto& [name, run] : all_kinds())
    for (int repeat = 0; repeat < 50; ++repeat) {
      std::string what;
      try {
        run(200, [](std::size_t i) {
          if (i % 10 == 7) throw std::runtime_error(std::to_string(i));
        });
      } catch (const std::runtime_error& e) {
        what = e.what();
      }
      EXPECT_EQ(what, "7") << name;
      std::atomic<int> count = 0;
      run(10, [&](std::size_t) { ++count; });  // still usable
      EXPECT_EQ(count, 10);
    }
}

// Both bodies run and both throw; which throws first is forced, and must not matter.
TEST(Parallel, LowestThrowerWinsWhoeverIsFirst) {
  for (const std::size_t late : {0u, 1u}) {
    std::atomic<int> started = 0;
    std::string what;
    try {
      threads(2)(2, [&](std::size_t i) {
        ++started;
        while (started < 2) std::this_thread::yield();
        if (i == late) std::this_thread::sleep_for(std::chrono::milliseconds(20));
        throw std::runtime_error(std::to_string(i));
      });
    } catch (const std::runtime_error& e) {
      what = e.what();
    }
    EXPECT_EQ(what, "0") << late;
  }
}

TEST(Parallel, NestedLoopStaysOnItsThread) {
  const auto outer = threads(2), inner = threads(2);
  std::atomic<int> elsewhere = 0;
  outer(2, [&](std::size_t) {
    const auto here = std::this_thread::get_id();
    inner(50, [&](std::size_t) {
      std::this_thread::sleep_for(std::chrono::microseconds(100));  // time for another to take one
      if (std::this_thread::get_id() != here) ++elsewhere;
    });
  });
  EXPECT_EQ(elsewhere, 0);
}

TEST(Parallel, NestsWithoutDeadlock) {
  const auto run = threads(3);
  std::atomic<int> count = 0;
  run(20, [&](std::size_t) { run(20, [&](std::size_t) { ++count; }); });
  EXPECT_EQ(count, 400);
}

TEST(Parallel, ServesSeveralCallersAtOnce) {
  const auto run = threads(3);
  std::atomic<int> count = 0;
  std::vector<std::thread> callers;
  callers.reserve(4);
  for (int k = 0; k < 4; ++k)
    callers.emplace_back([&] {
      for (int repeat = 0; repeat < 50; ++repeat) run(20, [&](std::size_t) { ++count; });
    });
  for (auto& c : callers) c.join();
  EXPECT_EQ(count, 4000);
}

// Two bodies that each wait for the other finish only if they really run at the same time.
TEST(Parallel, ReallyUsesThreads) {
  const auto run = threads(2);
  std::atomic<int> arrived = 0;
  run(2, [&](std::size_t) {
    ++arrived;
    while (arrived < 2) std::this_thread::yield();
  });
  EXPECT_EQ(arrived, 2);
}

TEST(Parallel, CopiesShareThreadsAndOutliveTheOriginal) {
  auto original = std::make_unique<ParallelFor>(threads(4));
  const ParallelFor copy = *original;
  original.reset();
  std::atomic<int> count = 0;
  copy(100, [&](std::size_t) { ++count; });
  EXPECT_EQ(count, 100);
}

}  // namespace
}  // namespace pb
