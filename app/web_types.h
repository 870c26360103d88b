// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The names the desk's page may use, as TypeScript, from the tables that the readers follow.
// tests/unit/app_formats.cpp holds web/src/keys.ts to them.
#pragma once

#include <string>

namespace pb::app {

std::string web_types();

}  // namespace pb::app
