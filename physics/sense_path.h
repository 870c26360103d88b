// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a wiring that measures compares with what, and the analog output that makes it the current
// asked for: node equations of the resistors about the sense node and about the reference, at their
// typical values (Kirchhoff). Tested by tests/unit/physics_measured.cpp.
#pragma once

#include <string>

#include "model/design.h"

namespace pb::physics {

/// What compares for a winding: a comparator or a driver chip, and the nodes it looks at.
struct Comparison {
  const Place* place = nullptr;
  int channel = 0;  // of a chip: which bridge
  std::string sense, reference;
};
/// The wiring must measure.
Comparison comparison_of(const Template& t, int winding);

/// Voltage at the comparison for each ampere that comes down at the winding's sense node. [ohm]
double sense_ohm(const Design& d, int winding);
/// Voltage at the comparison for each volt of the analog output.
double reference_gain(const Design& d, int winding);
/// Of the typical logic supply: what the winding's analog output is put on, so that the comparison
/// is level at the regulated current. Above 1 where the output cannot reach so far.
double reference_share(const Design& d, int winding);

/// Whether the part compares and chops by itself.
bool is_chopper_chip(const PartClass& part_class);

}  // namespace pb::physics
