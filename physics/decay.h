// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where a chopped current goes: the drive state that a state of the sequence is left to decay in.
// Tested by tests/unit/physics_chop.cpp.
#pragma once

#include <string>

namespace pb::physics {

/// '+' and '-' of a flow with their current left to decay: both shorted ("slow"), open ("fast"), or
/// going on through one diode ("diode").
std::string relaxed_flow(const std::string& flow, const std::string& decay);

}  // namespace pb::physics
