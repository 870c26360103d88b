// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The verbs, one function each, for the table in app/verbs.cpp. Tested by tests/cli.
#pragma once

#include "app/verb.h"

namespace pb::app {

Run add_design(CLI::App& command);
Run add_check(CLI::App& command);
Run add_simulate(CLI::App& command);
Run add_parts(CLI::App& command);
Run add_yield(CLI::App& command);
Run add_formats(CLI::App& command);

}  // namespace pb::app
