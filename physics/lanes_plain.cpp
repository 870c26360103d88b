// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Lockstep for any machine.
#include "physics/lane_build.h"

namespace pb::physics {

Lockstep* lockstep_plain(System* const* units, const TransientOptions& options) {
  return new LaneRun<2>(units, options);
}

}  // namespace pb::physics
