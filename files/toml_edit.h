// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Changing one key of a TOML text in place, so that comments, order and spacing of everything else
// survive: a form and the text beside it stay in step through this. Tested by
// tests/unit/files_edit.cpp.
//
// Invariant: the text returned reads as the old one but for the key asked for.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"

namespace pb {

/// A key of the text with the value as it would be typed: without quotes.
struct TomlEntry {
  std::string key;  // full name, "motor.rate"
  std::string text;
  int line = 0, column = 0;  // of the value
};

/// Every scalar outside of lists, in the order of the file.
Checked<std::vector<TomlEntry>> toml_entries(const std::string& file, std::string_view text);

/// Gives `full_name` ("section.key", or "key" outside of sections) the text `value`, or takes the
/// key away if there is no value. A missing section is added at the end.
Checked<std::string> edit_toml(const std::string& file, std::string_view text,
                               std::string_view full_name, const std::optional<std::string>& value);

}  // namespace pb
