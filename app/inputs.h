// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the verbs read, and the head that every JSON answer has. Tested by tests/cli.
#pragma once

#include <string>
#include <vector>

#include "app/command.h"
#include "app/json.h"
#include "base/problem.h"
#include "model/design.h"

namespace pb::app {

/// The folder NAME that comes with the program ("templates", "parts"): in $PENNYBRIDGE_DATA, beside
/// the binary or one above it, or where the program was built.
std::string data_folder(const std::string& name);

struct DesignInput {
  Design design;
  std::string sha256;  // of the file's bytes and of the settings made on the command line
};

/// Makes one KEY=QTY change of the brief.
Problems apply_set(Design& design, const std::string& set);

/// Settings that the wiring has no states for, its sequence or the decay of a regulated drive, and
/// microsteps of a drive that is not regulated.
Problems unsupported_settings(const Design& design, const std::string& file = "");

/// What every verb about one design takes.
struct DesignArguments {
  std::string file;
  std::vector<std::string> sets;  // KEY=QTY changes of the brief, applied in order
};
void add_design_arguments(Command& command, DesignArguments& arguments);

/// A design that can be simulated: its wiring has the states of its sequence.
Checked<DesignInput> read_design_input(const DesignArguments& arguments);

/// input_sha256 and assumed, as every answer has them.
Json answer_head(const DesignInput& input);

}  // namespace pb::app
