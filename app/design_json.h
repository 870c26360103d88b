// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The outcome of a search as JSON, with the fields of the contract. Tested by tests/cli.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "judgement/search.h"

namespace pb::app {

/// designs, nothing_cheaper, claim, undecided, rejected, space, impossible. `design_file` of a
/// design is left null.
nlohmann::ordered_json to_json(const SearchResult& result, const std::string& currency);

/// The check with the least margin; nullptr if there is none.
const Check* tightest(const Verdict& verdict);

}  // namespace pb::app
