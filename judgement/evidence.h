// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The runs a verdict is read from, at one point of the spread.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "judgement/proof.h"

namespace pb {

/// What stays the same over a proof.
struct Case {
  const Design& design;
  std::vector<physics::Spread> spreads;
  double dead_time_s = 0;
  int steps = 16;                                   // of the move that is run
  std::string hold_flow;                            // the state a frozen program stands in
  physics::DriveEdit drive_edit{};                  // see ProofOptions
  std::shared_ptr<physics::PeriodStore> periods{};  // of a chopped drive: see RunRequest
};

/// The state in which a program of this sequence freezes: with both windings on, if it has one.
std::string hold_flow_of(const std::string& sequence);
/// Without the dead time, which standing still does not need.
Case case_of(const Design& design);
/// The settings' dead time, else the computed one; NaN if a switch never turns off.
double dead_time_of(const Case& c);
/// The move that is run: what the drive code does with the design's tables.
physics::Plan move_plan(const Case& c);

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

/// One run of the scan: the brief's figures times these, and what became of it.
struct ScanPoint {
  double rate = 1, inertia = 1, load = 1, damping = 1;
  double lag_step = 0, lost_steps = 0, end_error_step = 0, peak_a_A = 0, peak_b_A = 0;
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

/// Where heating is taken to end before it is known.
struct HeatGuess {
  physics::Temperatures move, hold;
};
/// From where it ended at nominal, by what is known of resistances.
HeatGuess likely_heat(const Case& c, const physics::Point& p, const Evidence& nominal);

/// As gather() with heat, windows and the torque asked, for several units at once, each with a
/// guess of its heat. Units that can be are run in lockstep: what one of them shows depends, to the
/// runs' accuracy, on which others are with it.
std::vector<Evidence> gather_units(const Case& c, std::span<const physics::Point> points,
                                   std::span<const HeatGuess> guesses, const StopToken& stop);

/// What stands still: permanent hold, reset, one supply missing; each as its resting state, which
/// costs a hundredth of its run. The hold stands for the move as well, so only checks of what
/// stands still may be read off it. No capacitor has any part in it, nor how the move stops.
Evidence gather_standing(const Case& c, const physics::Point& point);

/// Permanent hold as the program does it: regulated where the brief asks for it.
physics::RunRequest holding_request(const Case& c, double tolerance);

/// A move of the design as it is: latch by latch where it measures its current and that tier knows
/// it, else as the request says.
physics::RunRequest on_latches(const Case& c, physics::RunRequest r);

/// Standing in the hold state with the pins frozen there.
physics::RunRequest standing_request(const Case& c, const physics::PowerUp& power, double hold_s,
                                     double tolerance);

/// Empty when every run of the evidence reached its end; else what stopped it.
std::string trouble_of(const Evidence& e);

}  // namespace pb
