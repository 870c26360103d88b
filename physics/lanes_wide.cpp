// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Lockstep for machines that work on four numbers at once.
#include "physics/lane_build.h"

namespace pb::physics {

Lockstep* lockstep_wide(System* const* units, const TransientOptions& options) {
  return new LaneRun<4>(units, options);
}

}  // namespace pb::physics
