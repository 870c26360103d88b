// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design as one self-contained TOML file. read(to_text(d)) is d, but that parts without the hash
// of their catalogue row are given it. Tested by tests/unit/files_design.cpp.
#pragma once

#include <string>
#include <string_view>

#include "base/problem.h"
#include "model/design.h"

namespace pb {

/// All problems at once, those of faults_of() included. A wiring that is only named is looked for
/// beside `file`, then in `templates_folder`.
Checked<Design> read_design(const std::string& file, std::string_view text,
                            const std::string& templates_folder);
Checked<Design> load_design(const std::string& path, const std::string& templates_folder);

std::string to_text(const Design& design);

}  // namespace pb
