// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Eight units of one wiring run at once, each with steps of its own length: the numbers of all
// eight stand side by side, so that one instruction works on four or eight. They wait for each
// other where they land. Results depend on which units are together, not on the machine or on
// anything that runs beside. Tested by
// tests/unit/physics_lanes.cpp.
#pragma once

#include <array>
#include <functional>
#include <memory>
#include <vector>

#include "physics/lanes.h"
#include "physics/system.h"
#include "physics/transient.h"

namespace pb::physics {

class Lockstep {
 public:
  virtual ~Lockstep();

  /// As Transient::start; `x` of every unit.
  virtual void start(double t0_s) = 0;
  virtual void start(double t0_s, const std::array<std::vector<double>, kLanes>& x) = 0;
  /// As Transient::expect, of every unit.
  virtual void expect(int unknown, double peak) = 0;
  virtual Outcome run_to(double t_end_s, const StopToken& stop) = 0;
  /// Of the one that is there last; after run_to, of all.
  virtual double time_s() const = 0;
  /// An unknown of one unit, and its dx/dt as Transient::slope.
  virtual double value(int unit, int unknown) const = 0;
  virtual double slope(int unit, int unknown) const = 0;
  virtual Ledger ledger(int unit) = 0;
  virtual int worst_unknown() const = 0;
  /// Steps, each of as many units as could; of no unit more.
  virtual long accepted() const = 0;
  /// Copies what unit `unit` is like now: its state, its readings into its own system, its sums.
  virtual void show(int unit, std::vector<double>& x, System& system,
                    std::vector<ElementSums>& sums) const = 0;

  /// After each accepted step of a unit.
  std::function<void(int unit, double t_s)> on_step;
  /// Extra times to land on, rising; before start.
  std::vector<double> landings_s;
};

/// Null if these systems differ in more than values. They must outlive it.
std::unique_ptr<Lockstep> lockstep(const std::array<System*, kLanes>& units,
                                   const TransientOptions& options);

}  // namespace pb::physics
