// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The schematic of a design, drawn from its template's positions: symbols after IEC 60617, black
// (the text's colour) on nothing. A drawing much wider than high is folded into rows. Tested by
// tests/unit/delivery_schematic.cpp.
#pragma once

#include <string>

#include "model/design.h"

namespace pb::delivery {

/// Any template without faults_of() can be drawn: where its positions leave no room the parts are
/// put in rows, where a wire finds no way both ends carry the net's name. No two texts overlap;
/// a value without room stands in a key below the drawing.
std::string schematic_svg(const Design& design);

/// Width of a character over its height: the drawing's fonts are monospaced.
inline constexpr double kCharacterWidth = 0.6;

}  // namespace pb::delivery
