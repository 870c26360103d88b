// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Lanes for machines that work on eight numbers at once: what lanes.h says, in one register. Of
// lanes_widest.cpp alone.
#pragma once

#include <cstring>

#include "physics/devices/table.h"
#include "physics/lanes.h"

namespace pb::physics {

#define PB_LANE_OP [[gnu::always_inline]] friend inline

template <>
struct alignas(64) Lanes<8> {
  using Eight = double __attribute__((vector_size(64)));
  using Bits = long long __attribute__((vector_size(64)));
  struct Mask {
    Bits is;
  };
  Eight all_of;

  Lanes() = default;
  ~Lanes() = default;
  // NOLINTNEXTLINE(modernize-use-equals-default)
  [[gnu::always_inline]] Lanes(const Lanes& o) : all_of(o.all_of) {}
  // NOLINTNEXTLINE(modernize-use-equals-default)
  [[gnu::always_inline]] Lanes& operator=(const Lanes& o) {
    all_of = o.all_of;
    return *this;
  }
  [[gnu::always_inline]] Lanes(double x) : all_of{x, x, x, x, x, x, x, x} {}  // NOLINT
  [[gnu::always_inline]] explicit Lanes(const Eight& x) : all_of(x) {}
  [[gnu::always_inline]] double operator[](int k) const { return all_of[k]; }
  [[gnu::always_inline]] void set(int k, double x) { all_of[k] = x; }

  PB_LANE_OP Lanes operator+(const Lanes& x, const Lanes& y) { return Lanes(x.all_of + y.all_of); }
  PB_LANE_OP Lanes operator-(const Lanes& x, const Lanes& y) { return Lanes(x.all_of - y.all_of); }
  PB_LANE_OP Lanes operator*(const Lanes& x, const Lanes& y) { return Lanes(x.all_of * y.all_of); }
  PB_LANE_OP Lanes operator/(const Lanes& x, const Lanes& y) { return Lanes(x.all_of / y.all_of); }
  PB_LANE_OP Lanes operator-(const Lanes& x) { return Lanes(-x.all_of); }
  [[gnu::always_inline]] Lanes& operator+=(const Lanes& y) {
    all_of += y.all_of;
    return *this;
  }
  [[gnu::always_inline]] Lanes& operator-=(const Lanes& y) {
    all_of -= y.all_of;
    return *this;
  }
  [[gnu::always_inline]] Lanes& operator*=(const Lanes& y) {
    all_of *= y.all_of;
    return *this;
  }
  PB_LANE_OP Mask operator<(const Lanes& x, const Lanes& y) { return {x.all_of < y.all_of}; }
  PB_LANE_OP Mask operator>(const Lanes& x, const Lanes& y) { return {x.all_of > y.all_of}; }
  PB_LANE_OP Mask operator>=(const Lanes& x, const Lanes& y) { return {x.all_of >= y.all_of}; }
  PB_LANE_OP Mask both(const Mask& m, const Mask& n) { return {m.is & n.is}; }
  PB_LANE_OP Mask either(const Mask& m, const Mask& n) { return {m.is | n.is}; }
  PB_LANE_OP Mask except(const Mask& m, const Mask& n) { return {m.is & ~n.is}; }
  PB_LANE_OP bool of_lane(const Mask& m, int k) { return m.is[k] != 0; }
  PB_LANE_OP bool any(const Mask& m) { return __builtin_ia32_cvtq2mask512(m.is) != 0; }
  PB_LANE_OP bool all(const Mask& m) { return __builtin_ia32_cvtq2mask512(m.is) == 0xff; }
  PB_LANE_OP Lanes select(const Mask& m, const Lanes& x, const Lanes& y) {
    return Lanes(m.is ? x.all_of : y.all_of);
  }
  PB_LANE_OP Lanes absolute(const Lanes& x) {
    constexpr long long kNoSign = 0x7fffffffffffffff;
    const Bits m = {kNoSign, kNoSign, kNoSign, kNoSign, kNoSign, kNoSign, kNoSign, kNoSign};
    return Lanes((Eight)((Bits)x.all_of & m));  // NOLINT
  }
  PB_LANE_OP Lanes square_root(const Lanes& x) {
    Lanes y;
    for (int k = 0; k < kLanes; ++k) y.all_of[k] = __builtin_sqrt(x.all_of[k]);
    return y;
  }
  PB_LANE_OP Lanes two_to(const Lanes& k) {
    constexpr double kBiased = 6755399441055744.0 + 1023.0;
    return Lanes((Eight)((Bits)(k.all_of + kBiased) << 52));  // NOLINT
  }
  PB_LANE_OP double largest(const Lanes& x) {
    double m[kLanes];
    std::memcpy(m, &x.all_of, sizeof m);
    for (int half = kLanes / 2; half > 0; half /= 2)
      for (int k = 0; k < half; ++k) m[k] = m[k] > m[k + half] ? m[k] : m[k + half];
    return m[0];
  }
  template <class F>
  PB_LANE_OP Lanes each(F f, const Lanes& x) {
    Lanes y;
    for (int k = 0; k < kLanes; ++k) y.set(k, f(x[k]));
    return y;
  }
};

#undef PB_LANE_OP

[[gnu::always_inline]] inline BasicValueSlope<Lanes<8>> look_up(const Knot* knots,
                                                                const Lanes<8>& at) {
  using R = Lanes<8>;
  using Eight = R::Eight;
  using Four = double __attribute__((vector_size(32)));
  using Index = int __attribute__((vector_size(32)));
  const Index k = __builtin_convertvector(at.all_of, Index);
  // Four numbers of each lane: of lanes 0 and 4, 1 and 5, 2 and 6, 3 and 7 side by side.
  Eight r[4];
  for (int i = 0; i < 4; ++i) {
    Four low, high;
    std::memcpy(&low, knots + k[i], sizeof low);
    std::memcpy(&high, knots + k[i + 4], sizeof high);
    r[i] = __builtin_shufflevector(low, high, 0, 1, 2, 3, 4, 5, 6, 7);
  }
  const Eight v01 = __builtin_shufflevector(r[0], r[1], 0, 8, 2, 10, 4, 12, 6, 14),
              s01 = __builtin_shufflevector(r[0], r[1], 1, 9, 3, 11, 5, 13, 7, 15),
              v23 = __builtin_shufflevector(r[2], r[3], 0, 8, 2, 10, 4, 12, 6, 14),
              s23 = __builtin_shufflevector(r[2], r[3], 1, 9, 3, 11, 5, 13, 7, 15);
  return cubic(R(__builtin_shufflevector(v01, v23, 0, 1, 8, 9, 4, 5, 12, 13)),
               R(__builtin_shufflevector(s01, s23, 0, 1, 8, 9, 4, 5, 12, 13)),
               R(__builtin_shufflevector(v01, v23, 2, 3, 10, 11, 6, 7, 14, 15)),
               R(__builtin_shufflevector(s01, s23, 2, 3, 10, 11, 6, 7, 14, 15)),
               R(at.all_of - __builtin_convertvector(k, Eight)));
}

}  // namespace pb::physics
