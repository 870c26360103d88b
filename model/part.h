// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Parts that can be bought. A class of part is a row of a table: its terminals in order, and the
// data-sheet figures it may carry. A part is one catalogue row. Tested by
// tests/unit/model_part.cpp.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/quantity.h"
#include "model/brief.h"

namespace pb {

/// A data-sheet figure. Column and key names carry the unit ("vds_max_V"), values are SI but for
/// temperatures, which data sheets give in degC and so do we (scale = 1, stored as kelvin by the
/// readers via `dim`).
struct Figure {
  std::string_view name;
  Dim dim;
  bool required;     // without it no proof is possible: the candidate is undecided
  double low, high;  // inclusive, SI
  std::string_view doc;
};

struct PartClass {
  std::string_view name;
  std::span<const std::string_view> terminals;
  std::span<const Figure> figures;
  std::string_view designator;  // class letter, IEEE 315
  std::string_view doc;
  std::span<const std::string_view> inputs{};  // logic inputs, of driver chips: two a bridge
  std::array<std::string_view, 2> halves{};    // classes of two parts in one package; else empty
  bool follows = false;  // of driver chips: each output follows its own input, as a logic gate's
};

/// Whether logic inputs steer a part's outputs, two of them a winding: a driver chip, or a package
/// of logic gates that serves as one.
bool is_driver_chip(const PartClass& part_class);
/// Whether it is sold as a whole driver, or half of one, and so comes proven: "buy the chip".
bool is_bought_driver(const PartClass& part_class);

/// Whether parts of this class are two parts in one package. A wiring has no place for one: it may
/// stand for two of its places.
bool is_pair(const PartClass& part_class);

std::span<const PartClass> part_classes();
const PartClass* find_part_class(std::string_view name);
/// Whether parts of the class are bought for their capacitance.
bool is_capacitor(std::string_view part_class);

struct PriceBreak {
  double quantity = 1, unit_price = 0;
  bool operator==(const PriceBreak&) const = default;
};

struct Part {
  std::string number, part_class, package, lifecycle = "active", currency = "USD", source;
  double stock = kNotGiven, minimum = 1, multiple = 1;
  std::vector<PriceBreak> price_breaks;  // rising quantity
  std::vector<double> figures;           // one a row of the class's figures; NaN where missing
  std::string row_sha256;                // of its catalogue row; empty if written by hand
};

/// The figure by name, NaN where the part has none. The name must be one of the class's.
double figure(const Part& part, std::string_view name);
/// Index of a figure in its class, or -1.
int figure_index(const PartClass& part_class, std::string_view name);
/// Names of the required figures this part lacks.
std::vector<std::string> missing_figures(const Part& part);

}  // namespace pb
