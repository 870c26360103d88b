// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The list of parts to buy, as a CSV file (RFC 4180), and what goes with it to the assembler.
// Tested by tests/unit/delivery_bom.cpp.
#pragma once

#include <string>

#include "judgement/alternatives.h"
#include "model/design.h"

namespace pb::delivery {

/// Columns refs, quantity (on one board), number, description, package, unit_price, line_cost (of
/// one board), currency, alternatives (numbers whose full proof passes; none without trials),
/// source. Prices are those of the whole build's quantity.
std::string bom_csv(const Design& design, const Alternatives* alternatives = nullptr);

/// Every row that was tried in place of another, and what its proof said.
std::string alternatives_csv(const Alternatives& alternatives);

/// To print: pieces to order, polarity, mounting, side, second sources, values that could be one.
std::string assembly_html(const Design& design, const Alternatives& alternatives,
                          const std::string& version, const std::string& input_sha256);

}  // namespace pb::delivery
