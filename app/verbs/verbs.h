// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The verbs, one function each, for the table in app/verbs.cpp. Tested by tests/cli.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "app/inputs.h"
#include "app/verb.h"
#include "judgement/proof.h"

namespace pb::app {

Run add_design(CLI::App& command);
Run add_check(CLI::App& command);
/// The verdict on a design already read, and the proof it came from.
Answer judge(const DesignInput& input, Session& session, Proof& proof);
Run add_simulate(CLI::App& command);
/// The figures of a run with the fields of the contract.
nlohmann::ordered_json figures_json(const physics::RunFigures& figures, double dead_time_s);
Run add_parts(CLI::App& command);
Run add_yield(CLI::App& command);
Run add_faults(CLI::App& command);
Run add_compare(CLI::App& command);
Run add_identify(CLI::App& command);
Run add_serve(CLI::App& command);
Run add_handoff(CLI::App& command);
Run add_formats(CLI::App& command);

}  // namespace pb::app
