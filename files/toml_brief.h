// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief as a TOML file, driven by the table of keys alone. read(to_text(b)) is b, bit for bit.
// Tested by tests/unit/files_brief.cpp and fuzz/brief.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "model/brief.h"

namespace pb {

struct ReadBrief {
  Brief brief;
  std::vector<Assumed> assumed;  // keys the text does not give and a default stands for
};

/// All problems of the text at once, each with its place; `file` only names it.
Checked<ReadBrief> read_brief(const std::string& file, std::string_view text);

/// Every key that has a value.
std::string to_text(const Brief& brief);

/// Sets one key, by its full name ("motion.rate"), from text as the file would have it. The whole
/// brief is then checked again for contradictions.
Problems set_key(Brief& brief, const std::string& full_name, const std::string& value);

}  // namespace pb
