// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reads the CSV of any oscilloscope or logging supply: lines of any text before the numbers,
// separator comma, semicolon, tab or blank, decimal point or comma, times as numbers of any unit or
// as clock times, several channels, columns of text beside them, cells and rows missing. Nothing of
// that is asked of the user; what was guessed is said in the capture's notes.
// Ten million rows take a few seconds: the file is mapped, not copied, and gone through once.
// Tested by tests/unit/files_capture.cpp and fuzz/capture.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "model/capture.h"

namespace pb {

/// Column `theirs` (its name, or its number from 1) is our column `ours`, after `times`.
struct CaptureColumn {
  std::string ours, theirs;
  double times = 1;
};
/// "supply_A=CH2", "winding_a_A=CH1*-10" (a probe of 10 A/V, the wrong way round).
Checked<CaptureColumn> read_capture_column(const std::string& text);

struct CaptureOptions {
  std::vector<CaptureColumn> columns;  // "time" is the time axis
  std::string time_unit;               // overrides what the file says
};

Checked<Capture> read_capture(const std::string& file, std::string_view text,
                              const CaptureOptions& options = {});
/// From a file of any size.
Checked<Capture> load_capture(const std::string& path, const CaptureOptions& options = {});

}  // namespace pb
