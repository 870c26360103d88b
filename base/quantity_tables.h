// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The tables behind quantity.h: one row a unit, a prefix, a spelling, a kind of quantity. To add
// one, add its row and a row in tests/unit/base_quantity.cpp. Internal to base.
#pragma once

#include <span>
#include <string_view>

#include "base/quantity.h"

namespace pb::quantity {

/// Which prefixes a unit takes.
enum class Prefixes { no, metric, metric_and_centi };

struct UnitRow {
  std::string_view name;
  Dim dim;
  int exp10 = 0;
  Prefixes prefixes = Prefixes::no;
  double factor = 1.0;  // what is not a power of ten
  double offset = 0.0;
};

struct PrefixRow {
  std::string_view symbol;
  int exp10;
};

/// Another way to write the same, replaced before reading: "µ" is u, "Ω" is ohm.
struct SpellingRow {
  std::string_view from, to;
};

/// A letter standing for decimal point and multiplier, "4k7" (IEC 60062).
struct MarkRow {
  char letter;
  int exp10;
};

/// A kind of quantity: how messages name it and how people read it.
struct KindRow {
  Dim dim;
  std::string_view name;        // "a resistance"
  std::string_view examples;    // "\"4k7\" or \"30 ohm\""
  std::string_view unit;        // as printed, before prefix; a row of units() or a product of such
  int exp10 = 0;                // of `unit` against SI
  int lowest = 0, highest = 0;  // powers of the prefixes used when printing
  std::span<const MarkRow> marks{};  // letters of the marking style
  std::string_view people_unit{};    // where people read another unit than files hold: degC, deg
  double people_factor = 1.0, people_offset = 0.0;  // SI = factor * people + offset
  std::string_view si{};    // coherent SI unit, where exponents alone would read badly
  bool skip_milli = false;  // capacitors are sold as 1000 uF, not as 1 mF
};

std::span<const UnitRow> units();
std::span<const PrefixRow> prefixes();
std::span<const SpellingRow> spellings();
std::span<const KindRow> kinds();

const KindRow* find_kind(Dim dim);
const UnitRow* find_unit(std::string_view name);
const PrefixRow* find_prefix(std::string_view symbol);

}  // namespace pb::quantity
