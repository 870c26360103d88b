// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The runs a verdict is read from, at one point of the spread.
#pragma once

#include <vector>

#include "judgement/proof.h"

namespace pb {

/// What stays the same over a proof.
struct Case {
  const Design& design;
  std::vector<physics::Spread> spreads;
  double dead_time_s = 0;
  int steps = 16;         // of the move that is run
  std::string hold_flow;  // the state a frozen program stands in
};

/// Without the dead time, which standing still does not need.
Case case_of(const Design& design);
/// The settings' dead time, else the computed one; NaN if a switch never turns off.
double dead_time_of(const Case& c);

struct Evidence {
  physics::HeatedRun move, hold;  // start, ramp, cruise, stop, release; permanent hold
  physics::RunFigures reset, rail_only,
      logic_only;  // power-up with pins in reset (rail plugged in hot); one supply missing
  bool has_windows = false;  // reset, rail_only and logic_only were run
  double torque_factor = 0;  // load torque that was carried, over the load's; 0: not asked
  std::vector<double>
      scan_lag_step;  // greatest lag at the points of the resonance scan; empty: not asked
};

struct EvidenceWanted {
  bool heat = true;  // iterate to consistent temperatures; else use `temperatures`
  bool windows = true, torque = false, scan = false, waveforms = false;
  const Evidence* nominal = nullptr;  // temperatures to start from when heat is false
};

Evidence gather(const Case& c, const physics::Point& point, const EvidenceWanted& wanted,
                const StopToken& stop);

/// Permanent hold only: a hundredth of the whole evidence, and what kills most candidates that
/// cannot work. Its run stands for the move as well, so only checks of what stands still may be
/// read off it.
Evidence gather_hold(const Case& c, const physics::Point& point, const StopToken& stop);

/// Empty when every run of the evidence reached its end; else what stopped it.
std::string trouble_of(const Evidence& e);

}  // namespace pb
