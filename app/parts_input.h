// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where a verb's parts come from: catalogue files, the user's store, the starter catalogue. Tested
// by tests/cli/test_parts.py.
#pragma once

#include <string>
#include <vector>

#include "app/verb.h"
#include "base/problem.h"
#include "model/part.h"

namespace pb::app {

/// $XDG_DATA_HOME/pennybridge/parts.db, or its default (XDG Base Directory Specification 0.8);
/// empty if there is neither that variable nor $HOME.
std::string default_store();

struct PartSources {
  std::vector<std::string> files;  // these and nothing else, if any
  std::string store;               // else this store, or the default one if it is there
};

struct PartsInput {
  std::vector<Part> parts;
  Problems notes;      // rows found twice
  std::string hashed;  // what the parts depend on
};

/// Without files: the store's parts, and those of the starter catalogue whose numbers the store
/// does not have. No part at all is a problem.
std::expected<PartsInput, Answer> read_parts(const PartSources& sources);

}  // namespace pb::app
