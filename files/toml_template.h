// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A template as a TOML file. read(to_text(t)) is t. Tested by tests/unit/files_template.cpp.
#pragma once

#include <string>
#include <string_view>

#include "base/problem.h"
#include "model/template.h"

namespace pb {

/// All problems at once, those of faults_of() included, with their places.
Checked<Template> read_template(const std::string& file, std::string_view text);

std::string to_text(const Template& wiring);

/// Reads TEMPLATES/ID.toml.
Checked<Template> load_template(const std::string& folder, const std::string& id);
/// Every .toml file of the folder, by name; the problems of all unreadable ones.
Checked<std::vector<Template>> load_templates(const std::string& folder);

}  // namespace pb
