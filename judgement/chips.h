// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Drivers that are bought whole, beside those made of single parts.
#pragma once

#include "judgement/search.h"

namespace pb {

/// Whether a wiring is one of driver chips.
bool is_bought(const Template& wiring);

/// What the search among chips found becomes part of the whole; offers stay sorted: those that pass
/// first, by cost.
void add_chips(SearchResult& whole, SearchResult chips);

}  // namespace pb
