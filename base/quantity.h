// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Quantities as people write them ("4k7", "22 µF", "54 g cm2", "120 rpm", "10 %"), checked for
// their dimension and stored in SI; and the way back to text. Units, prefixes and kinds of quantity
// are tables in quantity_tables.cpp: one row each. Tested by tests/unit/base_quantity*.cpp and
// fuzz/quantity.cpp.
//
// Invariants:
//  * parse_quantity(to_exact_text(x, d), d) is x, bit for bit, for every finite x and every d of
//  namespace dim
//    (and any other Dim made of SI base units and steps).
//  * Decimal prefixes are folded into the decimal exponent *before* the one rounding to binary, so
//    "0.35 mA" is the double nearest to 0.00035, not 0.35 * 0.001.
#pragma once

#include <cstdint>
#include <expected>
#include <string>
#include <string_view>

#include "base/problem.h"

namespace pb {

/// Exponents of the base units. The first six must match exactly. The last four only tell like from
/// unlike (a torque from an energy, rad/s from Hz): a writer may leave them out ("V s" for "V
/// s/rad"), but may not write a different one ("2 Hz" is no angular speed).
struct Dim {
  std::int8_t kg = 0, m = 0, s = 0, A = 0, K = 0, step = 0;
  std::int8_t rad = 0, cycle = 0, joule = 0, piece = 0;
  bool absolute = false;  // a temperature on a scale with an offset, not a temperature difference

  bool operator==(const Dim&) const = default;
};

/// The quantities this program speaks of. Any other Dim works too; its messages are plainer.
namespace dim {
inline constexpr Dim none{};  // plain number, ratio, fraction: "10 %" is 0.1, "50 ppm" is 5e-5
inline constexpr Dim steps{.step = 1};
inline constexpr Dim pieces{.piece = 1};
inline constexpr Dim angle{.rad = 1};

inline constexpr Dim voltage{.kg = 1, .m = 2, .s = -3, .A = -1};
inline constexpr Dim current{.A = 1};
inline constexpr Dim resistance{.kg = 1, .m = 2, .s = -3, .A = -2};
inline constexpr Dim conductance{.kg = -1, .m = -2, .s = 3, .A = 2};  // also transconductance
inline constexpr Dim capacitance{.kg = -1, .m = -2, .s = 4, .A = 2};
inline constexpr Dim inductance{.kg = 1, .m = 2, .s = -2, .A = -2};
inline constexpr Dim charge{.s = 1, .A = 1};
inline constexpr Dim power{.kg = 1, .m = 2, .s = -3, .joule = 1};
inline constexpr Dim energy{.kg = 1, .m = 2, .s = -2, .joule = 1};
inline constexpr Dim current_slope{.s = -1, .A = 1};
inline constexpr Dim voltage_slope{.kg = 1, .m = 2, .s = -4, .A = -1};
inline constexpr Dim channel_factor{.kg = -2, .m = -4, .s = 6, .A = 3};  // A/V2
inline constexpr Dim melting_integral{.s = 1, .A = 2};                   // A2 s

inline constexpr Dim time{.s = 1};
inline constexpr Dim frequency{.s = -1, .cycle = 1};
inline constexpr Dim step_rate{.s = -1, .step = 1};
inline constexpr Dim step_acceleration{.s = -2, .step = 1};
inline constexpr Dim angular_speed{.s = -1, .rad = 1};
inline constexpr Dim angular_acceleration{.s = -2, .rad = 1};

inline constexpr Dim length{.m = 1};
inline constexpr Dim area{.m = 2};
inline constexpr Dim mass{.kg = 1};
inline constexpr Dim force{.kg = 1, .m = 1, .s = -2};
inline constexpr Dim torque{.kg = 1, .m = 2, .s = -2};
inline constexpr Dim inertia{.kg = 1, .m = 2};
inline constexpr Dim motor_constant{
    .kg = 1, .m = 2, .s = -2, .A = -1, .rad = -1};                            // V s/rad = N m/A
inline constexpr Dim viscous_friction{.kg = 1, .m = 2, .s = -1, .rad = -1};   // N m s/rad
inline constexpr Dim angular_stiffness{.kg = 1, .m = 2, .s = -2, .rad = -1};  // N m/rad

inline constexpr Dim temperature{.K = 1, .absolute = true};  // "85 degC" is 358.15 K
inline constexpr Dim temperature_difference{.K = 1};         // "15 K" and "15 degC" are both 15 K
inline constexpr Dim thermal_resistance{.kg = -1, .m = -2, .s = 3, .K = 1, .joule = -1};  // K/W
inline constexpr Dim heat_capacity{.kg = 1, .m = 2, .s = -2, .K = -1, .joule = 1};        // J/K
inline constexpr Dim temperature_coefficient{.K = -1};                                // %/K, ppm/K
inline constexpr Dim voltage_per_kelvin{.kg = 1, .m = 2, .s = -3, .A = -1, .K = -1};  // mV/K
}  // namespace dim

/// Why a text is not the quantity that was asked for. `expected` names the kind with an example.
struct QuantityError {
  std::string expected;  // a resistance such as "4k7" or "30 ohm"
  std::string found;     // "12 V"
  std::string hint;      // what to write instead; may be empty
};

/// `expected X, found Y (hint)`.
std::string to_text(const QuantityError& error);
/// The same as a problem; file, line, column and key are the caller's to fill in.
Problem to_problem(const QuantityError& error);

/// Whether a number alone is a quantity of this dimension: what is counted, and what has no unit.
bool may_stand_alone(Dim expected);

/// Reads `text` as a quantity of dimension `expected`; the value is in SI. Never throws on any
/// text. A number alone is accepted where it may stand alone, and in the marking style of IEC 60062
/// ("4k7", "R47", "22u") for resistance, capacitance and inductance.
std::expected<double, QuantityError> parse_quantity(std::string_view text, Dim expected);

/// A unit, read once, to be applied to many numbers: a table column "rds_on_mohm", say.
/// value_SI = number * 10^exp10 * factor + offset
struct Unit {
  Dim dim;
  int exp10 = 0;
  double factor = 1.0;
  double offset = 0.0;
};

/// Reads a unit alone: "mohm", "N m s/rad", "g cm2", "W/(m K)".
std::expected<Unit, QuantityError> parse_unit(std::string_view text, Dim expected);
/// Reads a plain decimal number and applies the unit.
std::expected<double, QuantityError> parse_number(std::string_view text, const Unit& unit);

/// For people: engineering notation, `digits` significant digits, no trailing zeros: "22 uF", "85
/// degC".
std::string format_quantity(double si, Dim dim, int digits = 3);
/// A fraction for people: 0.1 is "10 %".
std::string format_percent(double fraction, int digits = 3);
/// "1 to 60 V", "1 mV to 60 V": where the same unit follows both ends it is said once.
std::string join_range(std::string low, const std::string& high);
std::string format_range(double low, double high, Dim dim, int digits = 3);
/// For files: the shortest text that parse_quantity reads back to the same bits. `si` must be
/// finite.
std::string to_exact_text(double si, Dim dim);
/// Marking code of IEC 60062 for a resistor: "R47", "4R7", "470R", "4k7", "1M"; up to `digits`
/// digits. Values no marking can hold (negative, 1e12 and above) come out as format_quantity writes
/// them.
std::string format_rkm(double ohm, int digits = 3);
/// The same text set for print: "22 uF" becomes "22 µF", "ohm" "Ω", "degC" "°C", "N m" "N·m", "mm2"
/// "mm²".
std::string typeset(std::string_view plain);

/// "a resistance", "an angular speed"; plainer for a Dim without a name.
std::string dim_name(Dim dim);
/// The unit a person expects to read, without prefix: "ohm", "N m", "degC". Empty for a plain
/// number.
std::string dim_unit(Dim dim);
/// The coherent SI unit, as written in JSON beside an SI value: "ohm", "kg m2", "K". Empty for a
/// number.
std::string si_unit(Dim dim);

}  // namespace pb
