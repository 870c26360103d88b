// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What stands in the supply's lead and opens: a time-lag fuse, or a resettable one (a polymer whose
// resistance rises by decades where it melts), rated `supply.current_limit`.
//
//   fuse        the longest pre-arcing times of IEC 60127-2 sheet 3 (from memory), straight lines
//               of logarithms between them, constant I^2 t beyond
//   resettable  one thermal mass on one way to ambient, opening at 125 degC (from memory):
//               t = -tau ln(1 - (I_t/I)^2), with I_t twice the current it holds at 23 degC (common
//               practice, no source) and tau such that it opens within `supply.trip_time` at five
//               times that; both currents by the root of what ambient leaves to 125 degC
//
// Valid: currents that last. Left out: the spread of a part, which these limits stand for; what an
// opened polymer still lets through (about a watt, from memory). Tested by
// tests/unit/judgement_protection.cpp.
#pragma once

#include <optional>

#include "model/brief.h"

namespace pb {

/// Of the brief's supply, whether or not it has a rating.
struct Protection {
  bool resettable = false;
  double trip_s = 0, coldest_K = 0;

  explicit Protection(const Brief& brief);
  /// Longest time in which it opens on so many times its rating, as cold as the brief has it;
  /// nothing if it may never.
  std::optional<double> opens_within_s(double times_rating) const;
  /// The least multiple on which it opens for certain.
  double sure_to_open() const;
  /// The least multiple on which it opens within that time. [1]
  double opening_within(double most_s) const;
  /// The share of its rating that it carries for ever at an ambient. [1]
  double carries(double ambient_K) const;
  /// What it lets through at once without opening, rated 1 A. [A^2 s]
  double survives_A2s(double ambient_K) const;
};

}  // namespace pb
