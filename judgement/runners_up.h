// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Other drivers that pass: those one switch or diode away from one that does, cheapest first. With
// them found, the visit by cost knows where to end. Tested by tests/slow/search_soundness.cpp.
#pragma once

#include "judgement/core_judge.h"

namespace pb {

/// Until `top` drivers have been found, enough have been tried, or it is late.
void find_runners_up(CoreJudge& judge, const SearchOptions& options);

}  // namespace pb
