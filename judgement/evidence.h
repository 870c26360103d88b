// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The runs a verdict is read from, at one point of the spread.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "judgement/case.h"
#include "judgement/heat_guess.h"
#include "judgement/motion_scan.h"

namespace pb {

// A leg that conducts through while nothing moves heats for ever; 10 mA is a hundredth of what any
// of these switches carries, and far above any leakage.
inline constexpr double kStandingCross_A = 10e-3;

/// A leg over the patterns of the pins that steer it, each held.
struct LegPatterns {
  int patterns = 0, passed = 0, shorting = 0;  // looked at; passed through by the program; above
                                               // kStandingCross_A
  double worst_A = 0, worst_passed_A = 0;      // through both switches
  bool unknown = false;                        // a run did not end
};

struct Evidence {
  physics::HeatedRun move, hold;  // start, ramp, cruise, stop, release; permanent hold
  physics::RunFigures reset, rail_only,
      logic_only;  // power-up with pins in reset (rail plugged in hot); one supply missing
  bool has_windows = false;                     // reset, rail_only and logic_only were run
  std::optional<double> torque_factor;          // load torque that was carried, over the load's
  std::vector<ScanPoint> scan;                  // empty: not asked
  std::map<std::string, LegPatterns> patterns;  // by output; empty: not asked
};

struct EvidenceWanted {
  bool heat = true;  // iterate to consistent temperatures; else use `temperatures`
  bool windows = true, torque = false, scan = false, patterns = false, waveforms = false;
  /// Only whether the torque margin asked is carried: one run. torque_factor is then that or 1.
  bool torque_asked = false;
  /// With `torque`: a factor that matters only if this point carries less. One run tells that it
  /// does not, and torque_factor is then this.
  std::optional<double> torque_known{};
  double tolerance = 1;                   // of the runs, over the usual one
  bool every_edge = false;                // of a chopped drive too; else it goes by means
  const ParallelFor* parallel = nullptr;  // for the scan; null: on the calling thread
  const Evidence* nominal = nullptr;      // heat starts from its; must be given without heat
};

Evidence gather(const Case& c, const physics::Point& point, const EvidenceWanted& wanted,
                const StopToken& stop);

/// As gather() with heat, windows and the torque asked, for several units at once, each with a
/// guess of its heat. Units that can be are run in lockstep: what one of them shows depends, to the
/// runs' accuracy, on which others are with it.
std::vector<Evidence> gather_units(const Case& c, std::span<const physics::Point> points,
                                   std::span<const HeatGuess> guesses, const StopToken& stop);

/// What stands still: permanent hold, reset, one supply missing; each as its resting state, which
/// costs a hundredth of its run. A hold, between rests as hot as they let it get, stands for the
/// move as well, so only checks of what stands still may be read off it. No capacitor has any part
/// in it, nor how the move stops.
Evidence gather_standing(const Case& c, const physics::Point& point);

/// Empty when every run of the evidence reached its end; else what stopped it.
std::string trouble_of(const Evidence& e);

}  // namespace pb
