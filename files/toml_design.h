// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design as one self-contained TOML file. read(to_text(d)) is d. Tested by
// tests/unit/files_design.cpp.
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

/// "1:0.12;100:0.08": quantity and unit price, rising quantity.
std::string price_breaks_text(const std::vector<PriceBreak>& breaks);
/// Empty when the text is not such a list.
std::vector<PriceBreak> parse_price_breaks(std::string_view text);

}  // namespace pb
