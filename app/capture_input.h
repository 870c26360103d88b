// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How a verb takes a capture. Tested by tests/cli.
#pragma once

#include <string>
#include <vector>

#include "app/command.h"
#include "app/json.h"
#include "base/problem.h"
#include "model/capture.h"

namespace pb::app {

struct CaptureArguments {
  std::string file, time_unit;
  std::vector<std::string> columns;  // OURS=THEIRS
};
void add_capture_arguments(Command& command, CaptureArguments& arguments);
Checked<Capture> read_capture_input(const CaptureArguments& arguments);

/// capture{rows, from_s, to_s, time_unit, channels[], notes[]}.
Json capture_json(const Capture& capture);
/// The notes, one a line, for people.
std::string capture_notes(const std::vector<std::string>& notes);

}  // namespace pb::app
