// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The copper table as files: what each net, lead and junction asks of the board, and a sketch of
// where parts may stand. Tested by tests/unit/delivery_copper.cpp.
#pragma once

#include <string>

#include "judgement/copper.h"
#include "judgement/placement.h"

namespace pb::delivery {

/// One row a net.
std::string copper_csv(const CopperTable& table);
/// One row a lead that leaves the board.
std::string leads_csv(const CopperTable& table);
/// One row a part with a junction: the copper its thermal resistance asks for.
std::string heat_copper_csv(const CopperTable& table);
/// Courtyards to scale, loops outlined; references never overlap.
std::string placement_svg(const Placement& placement);
/// All of it as a page to read and print, with where each rule comes from.
std::string copper_html(const Design& design, const CopperTable& table, const Placement& placement,
                        const std::string& version, const std::string& input_sha256);

}  // namespace pb::delivery
