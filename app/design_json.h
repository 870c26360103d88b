// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The outcome of a search as JSON, with the fields of the contract. Tested by tests/cli.
#pragma once

#include "app/json.h"
#include "judgement/cost_study.h"
#include "judgement/search.h"

namespace pb::app {

/// designs, nothing_cheaper, claim, undecided, rejected, space, impossible. `design_file` of a
/// design is left null.
Json to_json(const SearchResult& result, const std::string& currency);

/// id, subject and margin of the tightest check that a corner can change; null without checks.
Json tightest_json(const Verdict& verdict);

/// ladder, tornado, pareto, alternatives and why_not_cheaper. `design_file` of a point is left
/// null.
void add_study(Json& answer, const SearchResult& result, const CostStudy& study);

}  // namespace pb::app
