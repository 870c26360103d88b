// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The tables of units, prefixes, spellings and kinds of quantity. SI units, prefixes and the ways
// to write products: SI brochure, 9th ed. (2019), chapters 2, 3 and 5.
#include "base/quantity_tables.h"

#include <algorithm>
#include <array>

#include "base/math.h"

namespace pb::quantity {
namespace {

constexpr auto kMetric = Prefixes::metric;
constexpr double kTurn_rad = 2.0 * kPi;
constexpr double kPound_kg =
    0.45359237;  // exact: NIST SP 811 (2008), B.8; the inch of 25.4 mm likewise
constexpr double kOunce_kg = kPound_kg / 16.0;

constexpr UnitRow kUnits[] = {
    // electrical
    {"ohm", dim::resistance, 0, kMetric},
    {"Ohm", dim::resistance, 0, kMetric},
    {"ohms", dim::resistance, 0, kMetric},
    {"V", dim::voltage, 0, kMetric},
    {"A", dim::current, 0, kMetric},
    {"F", dim::capacitance, 0, kMetric},
    {"H", dim::inductance, 0, kMetric},
    {"C", dim::charge, 0, kMetric},
    {"S", dim::conductance, 0, kMetric},
    {"Wb", {.kg = 1, .m = 2, .s = -2, .A = -1}, 0, kMetric},
    {"W", {.kg = 1, .m = 2, .s = -3}, 0, kMetric},
    {"J", dim::energy, 0, kMetric},
    {"Hz", dim::frequency, 0, kMetric},
    // mechanical
    {"g", dim::mass, -3, kMetric},
    {"m", dim::length, 0, Prefixes::metric_and_centi},
    {"N", dim::force, 0, kMetric},
    {"gf", dim::force, -3, kMetric, kStandardGravity_m_s2},
    {"ozf", dim::force, 0, Prefixes::no, kOunce_kg* kStandardGravity_m_s2},
    {"lbf", dim::force, 0, Prefixes::no, kPound_kg* kStandardGravity_m_s2},
    {"in", dim::length, -4, Prefixes::no, 254.0},
    {"mil", dim::length, -7, Prefixes::no, 254.0},
    // angle and motion
    {"rad", dim::angle, 0, kMetric},
    {"deg", dim::angle, 0, Prefixes::no, kTurn_rad / 360.0},
    {"turn", dim::angle, 0, Prefixes::no, kTurn_rad},
    {"turns", dim::angle, 0, Prefixes::no, kTurn_rad},
    {"rev", dim::angle, 0, Prefixes::no, kTurn_rad},
    {"rpm", dim::angular_speed, 0, Prefixes::no, kTurn_rad / 60.0},
    {"step", dim::steps},
    {"steps", dim::steps},
    // time
    {"s", dim::time, 0, kMetric},
    {"min", dim::time, 0, Prefixes::no, 60.0},
    {"h", dim::time, 0, Prefixes::no, 3600.0},
    // temperature
    {"K", dim::temperature_difference, 0, kMetric},
    {"degC", dim::temperature_difference, 0, Prefixes::no, 1.0, kZeroCelsius_K},
    // numbers
    {"%", dim::none, -2},
    {"ppm", dim::none, -6},
    {"piece", dim::pieces},
    {"pieces", dim::pieces},
    {"pcs", dim::pieces},
    // products people write in one word
    {"Nm", dim::torque, 0, kMetric},
    {"Ncm", dim::torque, -2},
    {"gm2", dim::inertia, -3, kMetric},
    {"gcm2", dim::inertia, -7, kMetric},
    {"Vs", {.kg = 1, .m = 2, .s = -2, .A = -1}, 0, kMetric},
    {"As", dim::charge, 0, kMetric},
    {"Nms", {.kg = 1, .m = 2, .s = -1}, 0, kMetric},
};

constexpr PrefixRow kPrefixes[] = {{"f", -15}, {"p", -12}, {"n", -9}, {"u", -6}, {"m", -3},
                                   {"c", -2},  {"k", 3},   {"M", 6},  {"G", 9},  {"T", 12}};

// Longest first where one begins another.
constexpr SpellingRow kSpellings[] = {
    {"\u00b0C", "degC"}, {"\u2103", "degC"}, {"\u00b0", "deg"},  // °C ℃ °
    {"\u00b5", "u"},     {"\u03bc", "u"},                        // micro sign, Greek mu
    {"\u03a9", "ohm"},   {"\u2126", "ohm"},                      // Greek omega, ohm sign
    {"\u00b7", "*"},     {"\u22c5", "*"},    {"\u00d7", "*"},
    {"\u2212", "-"},  // · ⋅ × −
    {"\u00b1", "+-"},    {"\u00a0", " "},    {"\u2009", " "},
    {"\u202f", " "},  // ± and thin spaces
};

// IEC 60062 for R and C; H and V by analogy, common practice, no source. In a value "m" is milli,
// "M" mega.
constexpr MarkRow kOhmMarks[] = {{'R', 0}, {'r', 0}, {'m', -3}, {'k', 3},
                                 {'K', 3}, {'M', 6}, {'G', 9}};
constexpr MarkRow kVoltMarks[] = {{'V', 0}};
constexpr MarkRow kFaradMarks[] = {{'p', -12}, {'n', -9}, {'u', -6}, {'m', -3}, {'F', 0}};
constexpr MarkRow kHenryMarks[] = {{'n', -9}, {'u', -6}, {'m', -3}, {'H', 0}};

constexpr KindRow kKinds[] = {
    {dim::none, "a plain number or fraction", R"("0.1" or "10 %")", ""},
    {dim::steps, "a number of steps", R"("100 steps")", "steps"},
    {dim::pieces, "a number of pieces", R"("2000" or "2000 pieces")", "pieces"},
    {dim::angle, "an angle", R"("1.8 deg" or "0.03 rad")", "rad", 0, 0, 0, {}, "deg", kPi / 180.0},
    {dim::voltage, "a voltage", R"("12 V" or "350 mV")", "V", 0, -9, 3, kVoltMarks},
    {dim::current, "a current", R"("0.35 A" or "20 mA")", "A", 0, -15, 3},
    {dim::resistance, "a resistance", R"("4k7" or "30 ohm")", "ohm", 0, -6, 9, kOhmMarks},
    {dim::conductance, "a conductance", R"("2 S" or "350 mS")", "S", 0, -9, 3},
    {.dim = dim::capacitance,
     .name = "a capacitance",
     .examples = R"("22u" or "100 nF")",
     .unit = "F",
     .lowest = -12,
     .highest = 0,
     .marks = kFaradMarks,
     .skip_milli = true},
    {dim::inductance, "an inductance", R"("4.7 mH" or "10 uH")", "H", 0, -9, 0, kHenryMarks},
    {dim::charge, "a charge", R"("12 nC")", "C", 0, -15, 0},
    {dim::power, "a power", R"("0.25 W" or "100 mW")", "W", 0, -9, 6},
    {dim::energy, "an energy", R"("5 mJ")", "J", 0, -12, 6},
    {dim::current_slope,
     "a rate of current",
     R"("100 A/us")",
     "A/us",
     6,
     0,
     0,
     {},
     {},
     1.0,
     0.0,
     "A/s"},
    {dim::voltage_slope,
     "a rate of voltage",
     R"("1 V/ms" or "5 V/us")",
     "V/us",
     6,
     0,
     0,
     {},
     {},
     1.0,
     0.0,
     "V/s"},
    {dim::channel_factor, "a channel factor", R"("8 A/V2")", "A/V2", 0, -6, 0},
    {dim::melting_integral, "a melting integral", R"("0.5 A2 s")", "A2 s"},
    {dim::time, "a time", R"("2 ms" or "1.5 s")", "s", 0, -15, 0},
    {dim::frequency, "a frequency", R"("20 kHz")", "Hz", 0, -3, 9},
    {dim::step_rate, "a step rate", R"("200 steps/s")", "steps/s"},
    {dim::step_acceleration, "a step acceleration", R"("2000 steps/s2")", "steps/s2"},
    {dim::angular_speed, "an angular speed", R"("120 rpm" or "12.6 rad/s")", "rad/s"},
    {dim::angular_acceleration, "an angular acceleration", R"("500 rad/s2")", "rad/s2"},
    {dim::length, "a length", R"("1.6 mm" or "35 um")", "m", 0, -9, 0},
    {dim::area, "an area", R"("12 mm2")", "mm2", -6},
    {dim::mass, "a mass", R"("200 g")", "g", -3, -6, 3},
    {dim::force, "a force", R"("2 N")", "N", 0, -6, 3},
    {dim::torque, "a torque", R"("0.2 N m" or "20 mN m")", "N m", 0, -9, 3},
    {dim::inertia, "a moment of inertia", R"("54 g cm2" or "5.4e-6 kg m2")", "g cm2", -7},
    {dim::motor_constant, "a motor constant", R"("0.25 V s/rad" or "250 mN m/A")", "V s/rad", 0, -6,
     0},
    {dim::viscous_friction, "a viscous friction", R"("1e-4 N m s/rad")", "N m s/rad", 0, -9, 0},
    {dim::angular_stiffness, "an angular stiffness", R"("50 N m/rad")", "N m/rad", 0, -6, 3},
    {dim::temperature,
     "a temperature",
     R"("85 degC" or "358.15 K")",
     "K",
     0,
     0,
     0,
     {},
     "degC",
     1.0,
     kZeroCelsius_K},
    {dim::temperature_difference, "a temperature difference", R"("15 K")", "K"},
    {dim::thermal_resistance, "a thermal resistance", R"("350 K/W")", "K/W"},
    {dim::heat_capacity, "a heat capacity", R"("20 mJ/K")", "J/K", 0, -9, 3},
    {dim::temperature_coefficient,
     "a temperature coefficient",
     R"("0.39 %/K" or "100 ppm/K")",
     "%/K",
     -2,
     0,
     0,
     {},
     {},
     1.0,
     0.0,
     "1/K"},
    {dim::voltage_per_kelvin, "a voltage per kelvin", R"("-2 mV/K")", "V/K", 0, -9, 0},
};

template <class Row, class Key, class Field>
const Row* find_row(std::span<const Row> rows, const Key& key, Field Row::* field) {
  const auto it =
      std::find_if(rows.begin(), rows.end(), [&](const Row& r) { return r.*field == key; });
  return it == rows.end() ? nullptr : &*it;
}

}  // namespace

std::span<const UnitRow> units() { return kUnits; }
std::span<const PrefixRow> prefixes() { return kPrefixes; }
std::span<const SpellingRow> spellings() { return kSpellings; }
std::span<const KindRow> kinds() { return kKinds; }

const KindRow* find_kind(Dim dim) { return find_row(kinds(), dim, &KindRow::dim); }
const UnitRow* find_unit(std::string_view name) { return find_row(units(), name, &UnitRow::name); }
const PrefixRow* find_prefix(std::string_view symbol) {
  return find_row(prefixes(), symbol, &PrefixRow::symbol);
}

}  // namespace pb::quantity
