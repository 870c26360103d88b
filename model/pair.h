// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two transistors in one package. Electrically they are two parts; their heat takes one way out:
//   T_1 = T_a + R_1 P_1 + M P_2,   T_2 = T_a + R_2 P_2 + M P_1
// with R_k [K/W] junction to ambient of one half while the other is idle, and M [K/W] the mutual
// thermal resistance. Tested by tests/unit/judgement_pairs.cpp.
#pragma once

#include <cstddef>

#include "model/part.h"

namespace pb {

/// M over the lesser R, where a catalogue does not say: dual transistors in small packages are
/// rated for about a quarter more with both halves heated alike than with one, 2 R/(R + M) = 1.25.
/// From memory.
inline constexpr double kMutualShare = 0.6;

/// One half (0 or 1) as a part of its own class, with the pair's number, package and price. Two of
/// them are still one purchase: what is priced is the pair.
Part half_of(const Part& pair, std::size_t which);

/// M: as given, else kMutualShare of the lesser R. Never more than that R, past which the halves
/// would heat each other more than themselves.
double mutual_K_W(const Part& pair);

}  // namespace pb
