// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Runs at guessed temperatures, again and again until they follow from the run's own losses. Of
// physics/run.cpp and physics/run_units.cpp. Tested by tests/unit/physics_run.cpp.
#pragma once

#include "physics/run.h"

namespace pb::physics {

class HeatRounds {
 public:
  /// From `start` if given, else from ambient. `rest`: see RunRequest.
  HeatRounds(const Design& design, double ambient_K, double settled_K, const Rest* rest,
             const Temperatures* start);

  bool over() const { return over_; }
  /// What the next run is to be made at.
  const Temperatures& at() const { return at_; }
  /// That run.
  void take(RunFigures figures);
  /// Once over.
  HeatedRun result() { return std::move(out_); }

 private:
  void finish();

  const Design& design_;
  double ambient_K_, settled_K_;
  const Rest* rest_;
  Temperatures at_;
  HeatedRun out_;
  int rounds_ = 0;
  bool over_ = false;
  // The windings' temperature decides the current, and with it all others: where it meets what
  // follows from it is sought along the line through the last two rounds.
  double asked_K_ = kNotGiven, followed_K_ = kNotGiven;
};

}  // namespace pb::physics
