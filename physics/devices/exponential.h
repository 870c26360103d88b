// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The exponential of lanes, all at once: libm takes them one by one. Tested by
// tests/unit/physics_lanes.cpp.
#pragma once

#include <algorithm>
#include <cmath>

#include "physics/lanes.h"

namespace pb::physics {

/// e^x within 4e-16 of itself, x taken for no less than -700 and no more than 700; not a number for
/// -700. e^x = 2^k e^r with k whole and |r| at most ln(2)/2, e^r by its power series.
template <class R>
[[gnu::always_inline]] inline R exponential(const R& x) {
  constexpr double kMost = 700.0, kRound = 6755399441055744.0;  // 1.5 2^52
  constexpr double kPerTurn = 1.4426950408889634;               // 1/ln(2)
  // ln(2) in two pieces; k times the first is exact.
  constexpr double kTurn = 0x1.62e42feep-1, kTurnRest = 0x1.a39ef35793c76p-33;
  const R in = minimum(maximum(x, R(-kMost)), R(kMost));
  const R k = (in * kPerTurn + kRound) - kRound;
  const R r = (in - k * kTurn) - k * kTurnRest;
  const R r2 = r * r, r4 = r2 * r2;
  const R low = (1.0 + r) + r2 * (1.0 / 2 + r * (1.0 / 6)),
          middle = (1.0 / 24 + r * (1.0 / 120)) + r2 * (1.0 / 720 + r * (1.0 / 5040)),
          high = (1.0 / 40320 + r * (1.0 / 362880)) + r2 * (1.0 / 3628800 + r * (1.0 / 39916800));
  return (low + r4 * (middle + r4 * (high + r4 * (1.0 / 479001600)))) * two_to(k);
}
/// The same of one number.
inline double exponential(double x) { return std::exp(std::clamp(x, -700.0, 700.0)); }

}  // namespace pb::physics
