// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Lockstep for machines that work on eight numbers at once; nothing where they are not made.
#if defined(__AVX512F__)
#include "physics/lane_build.h"
#include "physics/lanes_eight.h"

namespace pb::physics {

Lockstep* lockstep_widest(System* const* units, const TransientOptions& options) {
  return new LaneRun<8>(units, options);
}

}  // namespace pb::physics
#endif
