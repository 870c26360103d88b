// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/lockstep.h"

#include <algorithm>

namespace pb::physics {

// Of lanes_widest.cpp, lanes_wide.cpp and lanes_plain.cpp: raw pointers, for nothing inline may be
// shared with them.
Lockstep* lockstep_widest(System* const* units, const TransientOptions& options);
Lockstep* lockstep_wide(System* const* units, const TransientOptions& options);
Lockstep* lockstep_plain(System* const* units, const TransientOptions& options);

Lockstep::~Lockstep() = default;

std::unique_ptr<Lockstep> lockstep(const std::array<System*, kLanes>& units,
                                   const TransientOptions& options) {
  if (!std::all_of(units.begin(), units.end(), [&](const System* s) {
        return same_wiring(s->numbering(), units[0]->numbering());
      }))
    return nullptr;
#if defined(__x86_64__)
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
      __builtin_cpu_supports("avx512vl"))
    return std::unique_ptr<Lockstep>(lockstep_widest(units.data(), options));
  if (__builtin_cpu_supports("avx2"))
    return std::unique_ptr<Lockstep>(lockstep_wide(units.data(), options));
#endif
  return std::unique_ptr<Lockstep>(lockstep_plain(units.data(), options));
}

}  // namespace pb::physics
