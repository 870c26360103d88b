// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the verbs read, and the head that every JSON answer has. Tested by tests/cli.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

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

/// `sets` are KEY=QTY changes of the brief, applied in order.
Checked<DesignInput> read_design_input(const std::string& path,
                                       const std::vector<std::string>& sets);

/// input_sha256 and assumed, as every answer has them.
nlohmann::ordered_json answer_head(const DesignInput& input);

}  // namespace pb::app
