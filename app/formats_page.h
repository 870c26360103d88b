// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The reference page of every file and command, from the tables of keys, classes and verbs.
// tests/unit/app_formats.cpp holds docs/formats.md to it.
#pragma once

#include <string>

namespace pb::app {

std::string formats_page();

}  // namespace pb::app
