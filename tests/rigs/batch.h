// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Eight units in lockstep against the same units one by one.
#pragma once

#include <array>
#include <functional>
#include <memory>
#include <vector>

#include "physics/lockstep.h"
#include "tests/rigs/circuit.h"

namespace pb::rigs {

/// Units `circuit(k)`, started from `x(k)`, at these times: no unknown differs by more than `by`.
inline void expect_batch_as_one_by_one(const std::function<Circuit(int)>& circuit,
                                       const std::function<std::vector<double>(int)>& x,
                                       const std::vector<double>& times_s, double by) {
  std::vector<std::unique_ptr<System>> units;
  std::array<System*, kLanes> eight{};
  std::array<std::vector<double>, kLanes> from;
  for (int k = 0; k < kLanes; ++k) {
    const auto u = static_cast<std::size_t>(k);
    units.push_back(std::make_unique<System>(circuit(k)));
    eight[u] = units.back().get();
    from[u] = x(k);
  }
  const auto batch = lockstep(eight, tight());
  ASSERT_NE(batch, nullptr);
  batch->start(0.0, from);
  for (const double at : times_s) {
    ASSERT_EQ(batch->run_to(at, {}), Outcome::reached_end);
    for (int k = 0; k < kLanes; ++k) {
      Transient one(*eight[static_cast<std::size_t>(k)], tight());
      one.start(0.0, from[static_cast<std::size_t>(k)]);
      ASSERT_EQ(one.run_to(at), Outcome::reached_end);
      for (std::size_t m = 0; m < one.state().size(); ++m)
        EXPECT_NEAR(batch->value(k, static_cast<int>(m)), one.state()[m], by)
            << k << ' ' << at << ' ' << m;
    }
  }
}

}  // namespace pb::rigs
