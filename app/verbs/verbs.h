// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The verbs, one function each, for the table in app/verbs.cpp. Tested by tests/cli.
#pragma once

#include <cstdint>
#include <string>

#include "app/inputs.h"
#include "app/json.h"
#include "app/verb.h"
#include "judgement/compare.h"
#include "judgement/identify.h"
#include "judgement/proof.h"

namespace pb::app {

Run add_design(Command& command);
Run add_check(Command& command);
/// The verdict on a design already read, and the proof it came from.
Answer judge(const DesignInput& input, Session& session, Proof& proof);
Run add_simulate(Command& command);
/// The figures of a run with the fields of the contract.
Json figures_json(const physics::RunFigures& figures, double dead_time_s);
Run add_parts(Command& command);
Run add_yield(Command& command);
struct YieldAsked {
  std::string shape = "uniform";
  long units = 1000, unit = -1;  // unit: this one alone, unless negative
  std::uint64_t seed = 1;
  double lot = 0.5;
};
/// Virtual units of a design already read.
Answer answer_yield(const DesignInput& input, const YieldAsked& asked, Session& session);
Run add_faults(Command& command);
/// What single faults do to a design already read; of one part if it is named.
Answer answer_faults(const DesignInput& input, const std::string& part, Session& session);
Run add_compare(Command& command);
/// A capture against a design already read; `found` is filled if there is an answer.
Answer answer_compare(const DesignInput& input, const Capture& capture, CompareOptions options,
                      Session& session, Comparison& found);
Run add_identify(Command& command);
/// What a capture tells of its motor, written into the brief of that file if it is not empty;
/// `found` is filled if there is an answer.
Answer answer_identify(const Capture& capture, IdentifyOptions options,
                       const std::string& brief_file, Identified& found);
Run add_serve(Command& command);
Run add_handoff(Command& command);
Run add_formats(Command& command);

}  // namespace pb::app
