// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The command line: finds the verb, runs it, prints its answer, returns the exit status. Tested by
// tests/cli.
#pragma once

#include "base/stop.h"

namespace pb::app {

/// Standard output gets the answer and nothing else; with --json exactly one object, whatever
/// happens.
int run_command_line(int argc, const char* const* argv, const StopToken& stop);

}  // namespace pb::app
