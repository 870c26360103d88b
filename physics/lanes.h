// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Eight numbers that are worked on at once: one figure of eight units that run in lockstep. The
// laws and the integrator are written once, over a number type that is double or Lanes; the
// functions here are what both types understand. `kBuild` tells apart the builds for different
// instruction sets, which must not share a symbol; their results are the same bit for bit, for
// every operation is one of IEEE 754 on each lane. Tested by tests/unit/physics_lanes.cpp.
#pragma once

#include <cmath>

#include "base/math.h"

namespace pb::physics {

inline constexpr int kLanes = 8;

#define PB_LANE_OP [[gnu::always_inline]] friend inline

template <int kBuild>
struct alignas(32) Lanes {
  using Four = double __attribute__((vector_size(32)));
  using Bits = long long __attribute__((vector_size(32)));
  struct Mask {
    Bits low, high;
  };
  Four low, high;

  // Written out: the compiler would copy such a struct in pieces that no vector load can take over.
  Lanes() = default;
  ~Lanes() = default;
  // NOLINTNEXTLINE(modernize-use-equals-default)
  [[gnu::always_inline]] Lanes(const Lanes& o) : low(o.low), high(o.high) {}
  [[gnu::always_inline]] Lanes& operator=(const Lanes& o) {
    low = o.low, high = o.high;
    return *this;
  }
  [[gnu::always_inline]] Lanes(double x) : low{x, x, x, x}, high{x, x, x, x} {}  // NOLINT
  [[gnu::always_inline]] Lanes(const Four& l, const Four& h) : low(l), high(h) {}
  [[gnu::always_inline]] double operator[](int k) const { return k < 4 ? low[k] : high[k - 4]; }
  [[gnu::always_inline]] void set(int k, double x) {
    if (k < 4)
      low[k] = x;
    else
      high[k - 4] = x;
  }

  PB_LANE_OP Lanes operator+(const Lanes& x, const Lanes& y) {
    return {x.low + y.low, x.high + y.high};
  }
  PB_LANE_OP Lanes operator-(const Lanes& x, const Lanes& y) {
    return {x.low - y.low, x.high - y.high};
  }
  PB_LANE_OP Lanes operator*(const Lanes& x, const Lanes& y) {
    return {x.low * y.low, x.high * y.high};
  }
  PB_LANE_OP Lanes operator/(const Lanes& x, const Lanes& y) {
    return {x.low / y.low, x.high / y.high};
  }
  PB_LANE_OP Lanes operator-(const Lanes& x) { return {-x.low, -x.high}; }
  [[gnu::always_inline]] Lanes& operator+=(const Lanes& y) {
    low += y.low, high += y.high;
    return *this;
  }
  [[gnu::always_inline]] Lanes& operator-=(const Lanes& y) {
    low -= y.low, high -= y.high;
    return *this;
  }
  [[gnu::always_inline]] Lanes& operator*=(const Lanes& y) {
    low *= y.low, high *= y.high;
    return *this;
  }
  PB_LANE_OP Mask operator<(const Lanes& x, const Lanes& y) {
    return {x.low < y.low, x.high < y.high};
  }
  PB_LANE_OP Mask operator>(const Lanes& x, const Lanes& y) { return y < x; }
  PB_LANE_OP Mask operator>=(const Lanes& x, const Lanes& y) {
    return {x.low >= y.low, x.high >= y.high};
  }
  PB_LANE_OP Mask both(const Mask& m, const Mask& n) { return {m.low & n.low, m.high & n.high}; }
  PB_LANE_OP Mask either(const Mask& m, const Mask& n) { return {m.low | n.low, m.high | n.high}; }
  PB_LANE_OP Mask except(const Mask& m, const Mask& n) {
    return {m.low & ~n.low, m.high & ~n.high};
  }
  PB_LANE_OP bool of_lane(const Mask& m, int k) { return (k < 4 ? m.low[k] : m.high[k - 4]) != 0; }
  PB_LANE_OP bool any(const Mask& m) {
    const Bits b = m.low | m.high;
    return ((b[0] | b[1]) | (b[2] | b[3])) != 0;
  }
  PB_LANE_OP bool all(const Mask& m) {
    const Bits b = m.low & m.high;
    return ((b[0] & b[1]) & (b[2] & b[3])) != 0;
  }
  PB_LANE_OP Lanes select(const Mask& m, const Lanes& x, const Lanes& y) {
    return {m.low ? x.low : y.low, m.high ? x.high : y.high};
  }
  PB_LANE_OP Lanes absolute(const Lanes& x) {
    constexpr long long kNoSign = 0x7fffffffffffffff;
    const Bits m = {kNoSign, kNoSign, kNoSign, kNoSign};
    return {(Four)((Bits)x.low & m), (Four)((Bits)x.high & m)};  // NOLINT
  }
  PB_LANE_OP Lanes square_root(const Lanes& x) {
    Lanes y;
    for (int k = 0; k < 4; ++k)
      y.low[k] = __builtin_sqrt(x.low[k]), y.high[k] = __builtin_sqrt(x.high[k]);
    return y;
  }
  /// 2^k, of whole numbers from -1022 to 1023.
  PB_LANE_OP Lanes two_to(const Lanes& k) {
    constexpr double kBiased = 6755399441055744.0 + 1023.0;  // puts k + 1023 in the last bits
    return {(Four)((Bits)(k.low + kBiased) << 52),
            (Four)((Bits)(k.high + kBiased) << 52)};  // NOLINT
  }
  /// The greatest of the lanes; not finite if any lane is not.
  PB_LANE_OP double largest(const Lanes& x) {
    const Four m = x.low > x.high ? x.low : x.high;
    const double a = m[0] > m[1] ? m[0] : m[1], b = m[2] > m[3] ? m[2] : m[3];
    return a > b ? a : b;
  }
  template <class F>
  PB_LANE_OP Lanes each(F f, const Lanes& x) {
    Lanes y;
    for (int k = 0; k < kLanes; ++k) y.set(k, f(x[k]));
    return y;
  }
};

#undef PB_LANE_OP

// The same for one number.
inline bool both(bool m, bool n) { return m && n; }
inline bool either(bool m, bool n) { return m || n; }
inline bool except(bool m, bool n) { return m && !n; }
inline bool any(bool m) { return m; }
inline bool all(bool m) { return m; }
inline double select(bool m, double x, double y) { return m ? x : y; }
inline double absolute(double x) { return std::abs(x); }
inline double square_root(double x) { return std::sqrt(x); }
inline double largest(double x) { return x; }
template <class F>
double each(F f, double x) {
  return f(x);
}

/// Which of the lanes; of one number, whether.
template <class R>
using Which = decltype(R(0.0) < R(0.0));
template <class R>
[[gnu::always_inline]] inline Which<R> which(bool m) {
  return R(0.0) < R(m ? 1.0 : 0.0);
}
template <class R>
[[gnu::always_inline]] inline double least(const R& x) {
  return -largest(-x);
}

/// y where x is not greater, as for NaN.
template <class R>
[[gnu::always_inline]] inline R maximum(const R& x, const R& y) {
  return select(x > y, x, y);
}
template <class R>
[[gnu::always_inline]] inline R minimum(const R& x, const R& y) {
  return select(x < y, x, y);
}

}  // namespace pb::physics
