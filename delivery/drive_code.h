// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The drive code as the firmware's author gets it: the two files of drive/, the same bytes that the
// proof was compiled from, and the design's tables. Tested by tests/unit/delivery_drive_code.cpp
// and by compiling it in tests/cli.
#pragma once

#include <string>
#include <vector>

#include "model/design.h"
#include "physics/plan.h"

namespace pb::delivery {

struct TextFile {
  std::string name, text;
};

/// pb_drive.h, pb_drive.c, pb_table.h, pb_table.c.
std::vector<TextFile> drive_code(const Design& design, double dead_time_s);

/// Every change of a pin of the plan as CSV: tick, pin, name, level; tick 0 is the first state of
/// the move.
std::string pin_writes_csv(const Design& design, const physics::Plan& plan);

}  // namespace pb::delivery
