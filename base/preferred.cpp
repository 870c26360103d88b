// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Preferred values of IEC 60063 (2015). Every lower series is every second value of the next, so
// two tables hold them all.
#include "base/preferred.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "base/check.h"
#include "base/decimal.h"
#include "base/math.h"

namespace pb {
namespace {

constexpr std::array<int, 24> kE24 = {100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300,
                                      330, 360, 390, 430, 470, 510, 560, 620, 680, 750, 820, 910};
constexpr std::array<int, 96> kE96 = {
    100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143,
    147, 150, 154, 158, 162, 165, 169, 174, 178, 182, 187, 191, 196, 200, 205, 210,
    215, 221, 226, 232, 237, 243, 249, 255, 261, 267, 274, 280, 287, 294, 301, 309,
    316, 324, 332, 340, 348, 357, 365, 374, 383, 392, 402, 412, 422, 432, 442, 453,
    464, 475, 487, 499, 511, 523, 536, 549, 562, 576, 590, 604, 619, 634, 649, 665,
    681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887, 909, 931, 953, 976};

template <std::size_t N, std::size_t M>
constexpr std::array<int, N> every(const std::array<int, M>& table) {
  static_assert(M % N == 0);
  std::array<int, N> out{};
  for (std::size_t i = 0; i < N; ++i) out[i] = table[i * (M / N)];
  return out;
}

constexpr auto kE3 = every<3>(kE24);
constexpr auto kE6 = every<6>(kE24);
constexpr auto kE12 = every<12>(kE24);
constexpr auto kE48 = every<48>(kE96);

// A value computed as 0.1 * 47 should still count as 4.7; neighbours in E96 are 2 % apart.
constexpr double kSameValue = 1e-9;

bool same(double a, double b) { return relative_difference(a, b) <= kSameValue; }

// The neighbours below and above, both equal to the value if it is preferred.
struct Bracket {
  double below, above;
};

Bracket bracket(double value, Series series) {
  PB_CHECK(std::isfinite(value) && value > 0.0, value);
  const auto table = preferred_mantissas(series);
  const int decade = static_cast<int>(std::floor(std::log10(value)));
  double below = 0.0;
  // One decade more at each side: log10 may round across a power of ten.
  for (int d = decade - 1; d <= decade + 1; ++d)
    for (const int m : table) {
      const double x = from_decimal(std::to_string(m), d - 2);
      if (same(x, value)) return {x, x};
      if (x > value) return {below, x};
      below = x;
    }
  PB_CHECK(false, value, below);
  return {};
}

}  // namespace

std::span<const int> preferred_mantissas(Series series) {
  switch (series) {
    case Series::E3:
      return kE3;
    case Series::E6:
      return kE6;
    case Series::E12:
      return kE12;
    case Series::E24:
      return kE24;
    case Series::E48:
      return kE48;
    case Series::E96:
      return kE96;
  }
  PB_CHECK(false, static_cast<int>(series));
  return {};
}

double nearest_preferred(double value, Series series) {
  const auto [below, above] = bracket(value, series);
  return value / below <= above / value ? below : above;
}

double preferred_at_most(double value, Series series) { return bracket(value, series).below; }

double preferred_at_least(double value, Series series) { return bracket(value, series).above; }

bool is_preferred(double value, Series series) {
  if (!(std::isfinite(value) && value > 0.0)) return false;
  const auto [below, above] = bracket(value, series);
  return below == above;
}

}  // namespace pb
