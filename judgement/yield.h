// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Virtual units: a design built many times from parts, motors and days as they come. Each unit runs
// the same windows as the proof, with its own heat, and is held to the same limits. Limits of data
// sheets are not a distribution: which one is assumed is an option and part of the answer.
// Invariants: a unit depends on the seed, its number and the names of its figures, so that it is
// the same bit for bit in any batch, on any number of threads; with no width every unit is the
// nominal one. Tested by tests/slow/yield.cpp.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "judgement/evidence.h"
#include "judgement/statistics.h"
#include "judgement/unit_heat.h"
#include "physics/lanes.h"

namespace pb {

/// Between a figure's limits: uniform; normal with the limits at three sigma, on either side of the
/// typical value; the same cut off at the limits. What is not of the parts or of the motor (supply,
/// logic, load, ambient) is always uniform: a unit meets any of it.
enum class Shape { uniform, normal, truncated };

struct YieldOptions {
  long units = 1000;
  std::uint64_t seed = 1;
  Shape shape = Shape::uniform;
  /// Correlation of one figure between the parts of one role on one board: they come from one reel.
  /// Common practice, no source; 0 makes them strangers, 1 twins.
  double lot = 0.5;
  double width = 1.0;  // of every spread about its typical value
  double confidence = 0.95;
  ParallelFor parallel = serial();
  StopToken stop;
  std::function<void(double)> progress;  // 0 to 1; may be empty
};

/// What unit number `unit` is made of.
physics::Point unit_of(const Case& c, const YieldOptions& options, long unit);

/// One check of one unit.
struct UnitCheck {
  std::string id, subject, unit;
  double value, limit, margin;
  /// Tried at its limit alone: the value says that it held there, or did not, and no more.
  bool by_trial = false;
};
struct UnitOutcome {
  bool fails = false;
  std::string undecided;  // what kept it from an answer; then there are no checks
  std::vector<UnitCheck> checks;
};
Evidence nominal_evidence(const Case& c, const StopToken& stop);
/// `nominal` is nominal_evidence() of the same case.
UnitOutcome judge_unit(const Case& c, const Evidence& nominal, const physics::Point& point,
                       const StopToken& stop);

/// What the units of a batch are seen against: each figure alone at either end of its spread, and
/// where the heat of a unit is sought from therefore.
struct SingleEffects {
  /// Margins are read off these; their order is that of the figures, the low end first.
  std::vector<FigureEnd> ends;
  std::vector<UnitOutcome> outcomes;  // one an end
  HeatByFigure heat;
};
SingleEffects single_effects(const Case& c, const Evidence& nominal, const YieldOptions& options);

/// Units 8 `group` to 8 `group` + 7, which run in lockstep: always these, however many are asked
/// for, so that a unit opened again is the same bit for bit.
std::vector<UnitOutcome> judge_group(const Case& c, const SingleEffects& effects,
                                     const YieldOptions& options, long group);

struct Driver {
  std::string figure;
  double rank_correlation;  // with the margin: negative where more of it hurts
};

/// One number of one check over all units, and what other methods say of its least margin.
struct CheckSpread {
  std::string id, subject, unit;
  double nominal_value = 0, nominal_margin = 0;
  Moments value, margin;
  Histogram margins;  // over the units
  double worst_value = 0, worst_margin = 0;
  long worst_unit = 0;
  /// Share of failures if the margins were normal: for those too rare to count. An extrapolation.
  /// kNotGiven where units were tried at the limit alone, whose margins have two values.
  double share_by_margin = 0;
  /// Least margin if every figure's own effect were summed, or summed in squares; and as simulated
  /// with every figure at its worse end.
  double sum_margin = 0, root_sum_square_margin = 0, corner_margin = 0;
  /// Some unit is worse than that corner, beyond what runs can tell apart. Never of what a proof
  /// scans, and never of shapes that go beyond the limits.
  bool worse_than_corner = false;
  std::vector<Driver> drivers;  // strongest first
};

struct YieldResult {
  long units = 0, failed = 0;
  std::vector<long> failed_units, undecided_units;
  double yield = 0;                      // of the units with an answer
  Interval interval;                     // undecided ones counted against either side
  std::map<std::string, long> by_check;  // units that fail it
  std::vector<CheckSpread> checks;       // tightest subject of each id, tightest first
  std::string undecided;                 // why there is no result at all
  bool cancelled = false;
};

/// Whether a unit was worse than the corner that every figure's own effect points to, by more than
/// what two runs may be off by and a twentieth of the margin left there: then a proof by corners
/// has missed something.
bool beyond_corner(const CheckSpread& s, Shape shape);

/// The design must be without faults_of().
YieldResult yield_of(const Design& design, const YieldOptions& options);

}  // namespace pb
