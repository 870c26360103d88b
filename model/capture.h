// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A capture: a recording from the bench. One time axis, any number of channels on it, all in SI.
// Invariant: time never runs backwards; every channel has one value a time, NaN where there was
// none. Tested by tests/unit/files_capture.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace pb {

struct CaptureChannel {
  std::string name;  // without the unit: "winding_a"
  std::string unit;  // "V" "A" "rad" "rad_s" "Nm"; empty where the file does not say
  std::vector<double> y;
};

struct Capture {
  std::string file;
  std::vector<double> t_s;
  std::vector<CaptureChannel> channels;
  std::string time_unit;           // as it stands in the file
  bool time_unit_guessed = false;  // from the step between rows: nothing in the file says it
  std::size_t skipped_rows = 0;    // of text, amid the numbers
  std::size_t gaps = 0;            // cells without a number
  std::vector<std::string> notes;  // what the reader took for granted, for people
};

/// By its name, case ignored, and its unit where the file says one. Null if there is none.
const CaptureChannel* find_channel(const Capture& capture, std::string_view name,
                                   std::string_view unit);

/// Channels the instrument could not follow: a stretch at the greatest or least value that begins
/// while the signal still moves. Only sound for currents of windings, which cannot jump.
bool is_clipped(const CaptureChannel& channel);

/// Standard deviation of what changes from row to row without the signal: from third differences,
/// which a smooth signal does not have. 0 for a channel without noise.
double noise_of(const CaptureChannel& channel);

}  // namespace pb
