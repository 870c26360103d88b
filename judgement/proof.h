// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The proof of one design: every check at nominal, at the corner its own sensitivities point to,
// and at the neighbours of that corner. docs/checks.md explains each id.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "model/design.h"
#include "model/verdict.h"
#include "physics/run.h"

namespace pb {

/// How far a proof goes. Only the whole one proves; each of the others can only refute.
enum class Depth {
  standing,  // resting states alone
  trial,     // nominal and the corners of `try_first`
  corners,   // the corners its own sensitivities point to as well
  whole      // the scan of rate and load, and the patterns of the pins, as well
};

struct ProofOptions {
  Depth depth = Depth::whole;
  ParallelFor parallel = serial();
  StopToken stop;
  /// Stop at the first check that fails (a search wants to know only that).
  bool fail_first = false;
  /// Corners of a similar design's proof, to be tried right after nominal: what killed or nearly
  /// killed that one.
  std::vector<std::map<std::string, std::string>> try_first;
  /// Applied to the drive code's tables before they are run; may be empty. A proof must notice
  /// tables that are not the design's own.
  physics::DriveEdit drive_edit;
  /// 0 to 1, never going back; may be empty.
  std::function<void(double)> progress;
};

struct Proof {
  Verdict verdict;
  physics::RunFigures nominal;  // the move at typical values, with waveforms
  physics::Plan plan;           // of that move
  double dead_time_s = 0;
  bool cancelled = false;
  bool standing = false;  // refuted by resting states alone: see gather_standing
  std::vector<std::map<std::string, std::string>>
      corners;  // run, those of the tightest checks first
};

/// Margin of one check of what stands still, at one corner; infinite where it has no number.
double standing_margin(const Design& design, const std::map<std::string, std::string>& corner,
                       const std::string& id, const std::string& subject);

/// The design must be without faults_of().
Proof prove(const Design& design, const ProofOptions& options);

}  // namespace pb
