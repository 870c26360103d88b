// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Counter-based random numbers: a draw depends on (seed, unit, name of the parameter) and on
// nothing else, so any thread may draw any part in any order, and adding a parameter leaves the
// others' draws alone. Tested by tests/unit/base_random.cpp.
#pragma once

#include <cstdint>
#include <string_view>

namespace pb {

/// 64-bit finaliser. Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014 (constants: Stafford's variant 13, as the paper's SplittableRandom uses).
constexpr std::uint64_t mix64(std::uint64_t z) {
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

/// FNV-1a, 64 bit. Source: Fowler, Noll, Vo; IETF draft-eastlake-fnv.
constexpr std::uint64_t fnv1a(std::string_view text) {
  std::uint64_t h = 0xcbf29ce484222325u;
  for (const char c : text) h = (h ^ static_cast<unsigned char>(c)) * 0x00000100000001b3u;
  return h;
}

/// The draws of one virtual unit. `name` is the full name of what is drawn: "q3.threshold_V".
class Draws {
 public:
  constexpr Draws(std::uint64_t seed, std::uint64_t unit) : seed_(seed), unit_(unit) {}

  constexpr std::uint64_t bits(std::string_view name) const {
    // The odd constant (golden ratio · 2^64) spreads neighbouring hashes; mixing twice decouples
    // seed and unit.
    return mix64(mix64(seed_ ^ mix64(unit_ + 0x9e3779b97f4a7c15u * (fnv1a(name) | 1u))) ^
                 fnv1a(name));
  }

  /// In (0, 1), neither end: safe for a quantile or a logarithm.
  double uniform(std::string_view name) const;
  double uniform(std::string_view name, double low, double high) const;
  double normal(std::string_view name, double mean, double sigma) const;
  /// Normal, conditioned on [low, high]; the shape is kept, nothing piles up at the ends. Needs low
  /// <= high.
  double truncated_normal(std::string_view name, double mean, double sigma, double low,
                          double high) const;

 private:
  std::uint64_t seed_, unit_;
};

}  // namespace pb
