// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What answers are made of: an object keeps the order in which its keys were given.
#pragma once

#include <nlohmann/json_fwd.hpp>

namespace pb::app {
using Json = nlohmann::ordered_json;
}  // namespace pb::app
