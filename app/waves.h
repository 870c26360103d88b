// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Waveforms as a file, whole; and cut to what a screen can show: every stretch keeps its least and
// greatest value, so no spike is lost. Tested by tests/unit/app_server.cpp.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "app/json.h"
#include "physics/run.h"

namespace pb::app {

struct WaveRange {
  double from_s = -HUGE_VAL, to_s = HUGE_VAL;
  int points = 600;    // stretches; twice as many values a series at most
  bool losses = true;  // of parts, too
};

/// {from_s, to_s, rows, t: [], series: [{name, unit, y: []}]}.
Json waves_json(const physics::Waveforms& waves, const WaveRange& range);

/// waveforms.csv: every row of the run from one time to another, columns as `simulate` writes them.
std::string waveforms_csv(const physics::Waveforms& waves, double from_s = -HUGE_VAL,
                          double to_s = HUGE_VAL);

/// A line over a time that others share; a gap is NaN, and null in JSON.
struct Series {
  std::string name, unit;
  const std::vector<double>* y;
};
/// The same object of any lines.
Json series_json(const std::vector<double>& t_s, const std::vector<Series>& series, int points);

}  // namespace pb::app
