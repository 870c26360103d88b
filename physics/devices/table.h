// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Functions of one variable read from tables by cubics that meet with equal slopes: value and slope
// in one pass, without a branch, for one number or for lanes.
#pragma once

#include <cstring>

#include "physics/lanes.h"

namespace pb::physics {

/// The function at an end of an interval; the slope is over one interval.
struct Knot {
  double value, slope;
};

/// Cubic through two knots at u in [0, 1]; slope over one interval.
template <class R>
[[gnu::always_inline]] inline BasicValueSlope<R> cubic(const R& value_a, const R& slope_a,
                                                       const R& value_b, const R& slope_b,
                                                       const R& u) {
  const R rise = value_b - value_a;
  // value(u) = a + s u + (c + d u) u^2
  const R d = slope_a + slope_b - 2.0 * rise, c = rise - slope_a - d;
  return {value_a + u * (slope_a + u * (c + u * d)), slope_a + u * (2.0 * c + 3.0 * u * d)};
}

/// `at`: which interval, and where in it; never negative, never NaN, below the last knot.
[[gnu::always_inline]] inline ValueSlope look_up(const Knot* knots, double at) {
  const int k = static_cast<int>(at);
  const Knot &a = knots[k], &b = knots[k + 1];
  return cubic(a.value, a.slope, b.value, b.slope, at - k);
}

namespace detail {

/// Two neighbouring knots of each of four lanes, as four vectors.
template <class Four>
struct FourKnots {
  Four value_a, slope_a, value_b, slope_b, u;
};
template <class Four>
[[gnu::always_inline]] inline void four_knots(const Knot* knots, const Four& at,
                                              FourKnots<Four>& out) {
  using Index = int __attribute__((vector_size(16)));
  const Index k = __builtin_convertvector(at, Index);
  out.u = at - __builtin_convertvector(k, Four);
  Four r[4];
  for (int i = 0; i < 4; ++i) std::memcpy(&r[i], knots + k[i], sizeof(Four));
  const Four v01 = __builtin_shufflevector(r[0], r[1], 0, 4, 2, 6),
             s01 = __builtin_shufflevector(r[0], r[1], 1, 5, 3, 7),
             v23 = __builtin_shufflevector(r[2], r[3], 0, 4, 2, 6),
             s23 = __builtin_shufflevector(r[2], r[3], 1, 5, 3, 7);
  out.value_a = __builtin_shufflevector(v01, v23, 0, 1, 4, 5);
  out.slope_a = __builtin_shufflevector(s01, s23, 0, 1, 4, 5);
  out.value_b = __builtin_shufflevector(v01, v23, 2, 3, 6, 7);
  out.slope_b = __builtin_shufflevector(s01, s23, 2, 3, 6, 7);
}

}  // namespace detail

template <int kBuild>
[[gnu::always_inline]] inline BasicValueSlope<Lanes<kBuild>> look_up(const Knot* knots,
                                                                     const Lanes<kBuild>& at) {
  using R = Lanes<kBuild>;
  detail::FourKnots<typename R::Four> l, h;
  detail::four_knots(knots, at.low, l);
  detail::four_knots(knots, at.high, h);
  return cubic(R{l.value_a, h.value_a}, R{l.slope_a, h.slope_a}, R{l.value_b, h.value_b},
               R{l.slope_b, h.slope_b}, R{l.u, h.u});
}

}  // namespace pb::physics
