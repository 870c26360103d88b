// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The list of parts to buy, as a CSV file (RFC 4180). Tested by tests/unit/delivery_bom.cpp.
#pragma once

#include <string>

#include "model/design.h"

namespace pb::delivery {

/// Columns refs, quantity (on one board), number, description, package, unit_price, line_cost (of
/// one board), currency, alternatives, source. Prices are those of the whole build's quantity.
std::string bom_csv(const Design& design);

}  // namespace pb::delivery
