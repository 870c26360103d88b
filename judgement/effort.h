// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How much may be spent on proving changed designs anew: a whole proof takes seconds, and what asks
// for many of them goes without some.
#pragma once

#include <functional>

#include "base/parallel.h"
#include "base/stop.h"

namespace pb {

struct Effort {
  ParallelFor parallel = serial();
  StopToken stop{};
  // May be empty, and are asked from any thread. Once true, nothing more is tried, or no whole
  // proof is begun.
  std::function<bool()> out_of_time{}, trials_only{};

  bool late() const { return stop.stop_requested() || (out_of_time && out_of_time()); }
  bool has_time_for_a_proof() const { return !late() && !(trials_only && trials_only()); }
};

}  // namespace pb
