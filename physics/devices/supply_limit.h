// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A source behind its resistance whose current is limited:
//   y = v/R, of a source that takes no current back y = b ln(1 + e^((v/R - 10 b)/b)), b = 1 mV/R
//   i = y - s ln(1 + e^((y - I)/s)),  s = I/100
// v/R below the limit I, I beyond it, and within a few s of it between: constant voltage that turns
// to constant current. What takes nothing back loses 10 mV, as the steep junction of
// physics/assembly.cpp does. The loss v i is the source's own: a switching supply has less. Source:
// definition of a supply regulated for constant voltage and constant current; the smooth bends are
// ours. Valid: slow against the supply's own regulation, which takes 10 us to 1 ms (from memory)
// and is left out. Tested by tests/unit/physics_supply_limit.cpp.
#pragma once

#include "physics/devices/mosfet.h"

namespace pb::physics {

/// A struct of nothing but numbers.
template <class R>
struct BasicSupplyLimit {
  R conductance_S = 1, limit_A = 1, soft_A = 0.01;
  R blocks_A = 0;  // b; 0: takes current back
};
using SupplyLimit = BasicSupplyLimit<double>;

inline SupplyLimit supply_limit_of(double resistance_ohm, double limit_A, bool can_sink) {
  constexpr double kSoft = 0.01, kBlocks_V = 1e-3;
  return {1.0 / resistance_ohm, limit_A, kSoft * limit_A,
          can_sink ? 0.0 : kBlocks_V / resistance_ohm};
}

template <class R>
struct BasicSupplyCurrent {
  R i_A, slope_S;
  R asked_A;  // what would flow without the limit
};

/// At v, source to load.
template <class R>
[[gnu::always_inline]] inline BasicSupplyCurrent<R> supply_current(const BasicSupplyLimit<R>& k,
                                                                   const R& v_V) {
  constexpr double kBack = 10.0;  // of b: what flows back is below 1e-4 of it
  R y = v_V * k.conductance_S, slope = k.conductance_S;
  if (any(k.blocks_A > R(0.0))) {
    const BasicValueSlope<R> on = kSoftplus(y / k.blocks_A - R(kBack));
    y = k.blocks_A * on.value, slope = slope * on.slope;
  }
  const BasicValueSlope<R> over = kSoftplus((y - k.limit_A) / k.soft_A);
  return {y - k.soft_A * over.value, slope * (1.0 - over.slope), y};
}

/// What a supply does that shuts off when it has limited for on_s without a pause, and tries again
/// after off_s. Each unit of a batch at its own times.
template <class R>
struct BasicHiccup {
  static constexpr double kNever = 1e300;
  static constexpr double kEdge_s = 10e-6;  // of its current, off and on; from memory
  double on_s = 0, off_s = 0;               // on_s 0: never shuts off
  R limits_since_s = kNever, off_since_s = kNever;

  bool acts() const { return on_s > 0.0; }
  void start() { limits_since_s = off_since_s = R(kNever); }

  /// 1 while it is on, 0 while it is off.
  R share(const R& t_s) const {
    const R since = t_s - off_since_s, back = since - R(off_s);
    const auto within = [](const R& x) { return minimum(maximum(x, R(0.0)), R(1.0)); };
    return 1.0 - within(since / R(kEdge_s)) + within(back / R(kEdge_s));
  }

  /// The next time at which something may change, after t.
  R next_turn(const R& t_s) const {
    const auto after = [&](const R& at) { return select(at > t_s, at, R(kNever)); };
    R next = after(limits_since_s + R(on_s));
    for (const double later : {0.0, kEdge_s, off_s, off_s + kEdge_s})
      next = minimum(next, after(off_since_s + R(later)));
    return next;
  }

  /// A step has ended at t, with this current asked for over what is given (above 1: it limits).
  void advance(const R& now, const R& asked) {
    const R never = R(kNever);
    const auto back = now >= off_since_s + R(off_s + kEdge_s);
    off_since_s = select(back, never, off_since_s);
    const R on = select(off_since_s < never, R(0.0), R(1.0));
    limits_since_s = select(on * asked > R(1.0), minimum(limits_since_s, now), never);
    const auto trips = now >= limits_since_s + R(on_s);
    off_since_s = select(trips, now, off_since_s);
    limits_since_s = select(trips, never, limits_since_s);
  }
};
using Hiccup = BasicHiccup<double>;

}  // namespace pb::physics
