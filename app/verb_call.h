// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Calling a verb: what the command line and the desk have in common. Tested by tests/cli.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/verb.h"

namespace pb::app {

/// The verb with its arguments, as the command line would read them.
Checked<Run> prepare(std::string_view verb, const std::vector<std::string>& arguments);

/// Runs the verb; nothing thrown gets past here.
Answer run_safely(const Run& run, Session& session);

/// A fault of this program.
Answer broken(const std::string& what);

}  // namespace pb::app
