// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A capture of the bench held to what the design should do: lined up in time, judged against the
// band that units within their limits make, and, where it leaves the band, explained by the one
// cause that brings the simulation nearest to it. Tested by tests/slow/compare.cpp.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/problem.h"
#include "base/stop.h"
#include "model/capture.h"
#include "model/design.h"

namespace pb {

struct CompareOptions {
  int units = 32;  // that make the band
  std::uint64_t seed = 1;
  ParallelFor parallel = serial();
  StopToken stop;
  std::function<void(double)> progress;  // 0 to 1; may be empty
};

/// A stretch outside of the band.
struct Deviation {
  std::string channel, unit;
  double from_s, to_s;                      // of the design's time
  double at_s, value, low, high, expected;  // where it is farthest outside
};

/// One cause, fitted alone. A cause that is there or not has fitted 1, nominal 0, unit "1".
struct Cause {
  std::string key, unit;
  double nominal, fitted;
  double explains;  // share of the squared deviation from nominal that it takes away
};

/// A channel over the time it shares with the simulation.
struct Overlay {
  std::string channel, unit;
  std::vector<double> t_s, measured, expected, low, high;
};

struct Comparison {
  double aligned_s = 0;  // the design's time less the capture's
  double likeness = 0;   // correlation of the channels then, -1 to 1
  bool inside_band = false;
  double outside = 0;                 // share of the readings
  std::vector<Deviation> deviations;  // farthest first
  std::vector<Cause> causes;          // best first; none where nothing has to be explained
  std::vector<Overlay> overlays;
  std::vector<std::string> notes;
  std::string undecided;  // why there is no answer
  bool cancelled = false;
};

/// Channels are those of waveforms.csv. The design must be without faults_of().
Checked<Comparison> compare(const Design& design, const Capture& capture,
                            const CompareOptions& options);

}  // namespace pb
