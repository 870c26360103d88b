// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design to fall back on, where a passing one is not among the cheapest: from a core that has
// most going for it, cheaper role by role. Tested by tests/slow/search_soundness.cpp.
#pragma once

#include "judgement/core_judge.h"

namespace pb {

/// In one space, until something has been found to pass or it is late.
void fall_back(CoreJudge& judge, const Brief& brief, std::size_t space,
               const ParallelFor& parallel);

}  // namespace pb
