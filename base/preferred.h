// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Preferred values of IEC 60063: what resistors and capacitors are made in. Tested by
// tests/unit/base_preferred.cpp.
#pragma once

#include <span>

namespace pb {

/// Number of values a decade.
enum class Series : int { E3 = 3, E6 = 6, E12 = 12, E24 = 24, E48 = 48, E96 = 96 };

/// The values of one decade, rising, times 100: 100, 220, 470 for E3.
std::span<const int> preferred_mantissas(Series series);

/// The preferred value nearest to `value` by ratio, as tolerances are ratios; of two
/// equally near, the lower. `value` must be positive and finite.
double nearest_preferred(double value, Series series);
/// The largest preferred value <= `value`, and the smallest one >= `value`. A value equal to a
/// preferred one up to rounding of the last bits is that value.
double preferred_at_most(double value, Series series);
double preferred_at_least(double value, Series series);
/// True if `value` is a preferred value, up to rounding of the last bits.
bool is_preferred(double value, Series series);

}  // namespace pb
