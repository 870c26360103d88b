// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reading quantities: every spelling, every unit, every refusal.
#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "base/quantity.h"
#include "base/quantity_tables.h"

namespace pb {
namespace {

struct ReadCase {
  const char* text;
  Dim dim;
  double si;  // compared bit for bit unless the unit has a factor
};

void expect_reads(const ReadCase& c) {
  const auto value = parse_quantity(c.text, c.dim);
  ASSERT_TRUE(value) << c.text << ": " << to_text(value.error());
  EXPECT_EQ(*value, c.si) << c.text;
}

// The number alone. Values by definition of the prefixes (SI brochure, 9th ed., table 7).
TEST(Quantity, ReadsNumbersAndPrefixes) {
  const ReadCase cases[] = {
      {"0.35A", dim::current, 0.35},     {"0.35 mA", dim::current, 0.00035},
      {"1e-3 A", dim::current, 1e-3},    {"1E+3 A", dim::current, 1e3},
      {"+.5 V", dim::voltage, 0.5},      {"5. V", dim::voltage, 5.0},
      {"-2.5 V", dim::voltage, -2.5},    {"\u22122.5 V", dim::voltage, -2.5},
      {"  12\tV ", dim::voltage, 12.0},  {"12\u00a0V", dim::voltage, 12.0},
      {"3 fA", dim::current, 3e-15},     {"3 pC", dim::charge, 3e-12},
      {"3 nC", dim::charge, 3e-9},       {"3 us", dim::time, 3e-6},
      {"3 ms", dim::time, 3e-3},         {"3 cm", dim::length, 0.03},
      {"3 kHz", dim::frequency, 3e3},    {"3 MHz", dim::frequency, 3e6},
      {"3 GHz", dim::frequency, 3e9},    {"3 Tohm", dim::resistance, 3e12},
      {"3 mohm", dim::resistance, 3e-3}, {"3 Mohm", dim::resistance, 3e6},
      {"7 mF", dim::capacitance, 7e-3},
  };
  for (const auto& c : cases) expect_reads(c);
}

// IEC 60062:2016: the letter stands where the decimal point would.
TEST(Quantity, ReadsMarkingCodes) {
  const ReadCase cases[] = {
      {"R47", dim::resistance, 0.47},
      {"4R7", dim::resistance, 4.7},
      {"470R", dim::resistance, 470},
      {"4K7", dim::resistance, 4700},
      {"4k7", dim::resistance, 4700},
      {"4.7k", dim::resistance, 4700},
      {"4.7 k", dim::resistance, 4700},
      {"47K", dim::resistance, 47e3},
      {"47K3", dim::resistance, 47300},
      {"470K", dim::resistance, 470e3},
      {"4M7", dim::resistance, 4.7e6},
      {"1G", dim::resistance, 1e9},
      {"10m", dim::resistance, 0.01},
      {"4k7 ohm", dim::resistance, 4700},
      {"4k7\u03a9", dim::resistance, 4700},
      {"22u", dim::capacitance, 22e-6},
      {"4u7", dim::capacitance, 4.7e-6},
      {"22\u00b5", dim::capacitance, 22e-6},
      {"p33", dim::capacitance, 0.33e-12},
      {"100n", dim::capacitance, 100e-9},
      {"4F7", dim::capacitance, 4.7},
      {"10m", dim::capacitance, 0.01},
      {"4m7", dim::inductance, 4.7e-3},
      {"10u", dim::inductance, 10e-6},
      {"3V3", dim::voltage, 3.3},
      {"5V6", dim::voltage, 5.6},
      {"12V", dim::voltage, 12},
  };
  for (const auto& c : cases) expect_reads(c);
}

// One row a unit of the table. Sources: SI brochure, 9th ed. (2019), tables 4 and 8; NIST SP 811
// (2008), B.8, for inch and pound; 1 kgf = 9.80665 N exactly (3rd CGPM, 1901).
const ReadCase kUnitCases[] = {
    {"30 ohm", dim::resistance, 30},
    {"30 Ohm", dim::resistance, 30},
    {"30 ohms", dim::resistance, 30},
    {"5 V", dim::voltage, 5},
    {"5 A", dim::current, 5},
    {"1 F", dim::capacitance, 1},
    {"1 H", dim::inductance, 1},
    {"1 C", dim::charge, 1},
    {"350 mS", dim::conductance, 0.35},
    {"2 mWb/A", dim::inductance, 2e-3},
    {"250 mW", dim::power, 0.25},
    {"5 mJ", dim::energy, 5e-3},
    {"20 kHz", dim::frequency, 20e3},
    {"200 g", dim::mass, 0.2},
    {"2 m", dim::length, 2},
    {"2 N", dim::force, 2},
    {"1 kgf", dim::force, 9.80665},
    {"16 ozf", dim::force, 4.4482216152605},
    {"1 lbf", dim::force, 4.4482216152605},
    {"1 in", dim::length, 0.0254},
    {"1000 mil", dim::length, 0.0254},
    {"2 rad", dim::angle, 2},
    {"180 deg", dim::angle, 3.14159265358979323846},
    {"0.5 turn", dim::angle, 3.14159265358979323846},
    {"2 turns/s", dim::angular_speed, 4 * 3.14159265358979323846},
    {"2 rev/s", dim::angular_speed, 4 * 3.14159265358979323846},
    {"120 rpm", dim::angular_speed, 4 * 3.14159265358979323846},
    {"1 step", dim::steps, 1},
    {"200 steps/s", dim::step_rate, 200},
    {"2 s", dim::time, 2},
    {"2 min", dim::time, 120},
    {"2 h", dim::time, 7200},
    {"15 K", dim::temperature_difference, 15},
    {"15 degC", dim::temperature_difference, 15},
    {"10 %", dim::none, 0.1},
    {"50 ppm", dim::none, 50e-6},
    {"1 piece", dim::pieces, 1},
    {"2000 pieces", dim::pieces, 2000},
    {"2000 pcs", dim::pieces, 2000},
    {"20 mNm", dim::torque, 0.02},
    {"20 Ncm", dim::torque, 0.2},
    {"1 kgm2", dim::inertia, 1},
    {"54 gcm2", dim::inertia, 54e-7},
    {"250 mVs/rad", dim::motor_constant, 0.25},
    {"1 nAs", dim::charge, 1e-9},
    {"0.1 mNms/rad", dim::viscous_friction, 1e-4},
};

TEST(Quantity, ReadsEveryUnit) {
  for (const auto& c : kUnitCases) {
    const auto value = parse_quantity(c.text, c.dim);
    ASSERT_TRUE(value) << c.text << ": " << to_text(value.error());
    EXPECT_DOUBLE_EQ(*value, c.si) << c.text;
  }
}

TEST(Quantity, EveryUnitOfTheTableHasARowAbove) {
  for (const auto& unit : quantity::units()) {
    bool found = false;
    for (const auto& c : kUnitCases)
      found |= std::string(c.text).find(unit.name) != std::string::npos;
    EXPECT_TRUE(found) << unit.name;
  }
}

TEST(Quantity, ReadsProductsOfUnits) {
  const ReadCase cases[] = {
      {"54 g cm2", dim::inertia, 54e-7},
      {"54 g\u00b7cm\u00b2", dim::inertia, 54e-7},
      {"54 g*cm^2", dim::inertia, 54e-7},
      {"5.4e-6 kg m2", dim::inertia, 5.4e-6},
      {"0.2 N m", dim::torque, 0.2},
      {"20 mN m", dim::torque, 0.02},
      {"20 N cm", dim::torque, 0.2},
      {"0.25 V s/rad", dim::motor_constant, 0.25},
      {"250 mV s/rad", dim::motor_constant, 0.25},
      {"0.25 V s", dim::motor_constant, 0.25},
      {"0.25 N m/A", dim::motor_constant, 0.25},
      {"1e-4 N m s/rad", dim::viscous_friction, 1e-4},
      {"350 K/W", dim::thermal_resistance, 350},
      {"350 degC/W", dim::thermal_resistance, 350},
      {"-0.2 %/K", dim::temperature_coefficient, -0.002},
      {"0.2 %/degC", dim::temperature_coefficient, 0.002},
      {"100 ppm/K", dim::temperature_coefficient, 1e-4},
      {"0.004 1/K", dim::temperature_coefficient, 0.004},
      {"0.004 /K", dim::temperature_coefficient, 0.004},
      {"0.004 K-1", dim::temperature_coefficient, 0.004},
      {"0.004 K\u207b\u00b9", dim::temperature_coefficient, 0.004},
      {"100 A/us", dim::current_slope, 100e6},
      {"1 V/ms", dim::voltage_slope, 1e3},
      {"8 A/V2", dim::channel_factor, 8},
      {"8 A/(V V)", dim::channel_factor, 8},
      {"8 A/V/V", dim::channel_factor, 8},
      {"12 mm2", dim::area, 12e-6},
      {"12 cm\u00b2", dim::area, 12e-4},
      {"2 W s", dim::energy, 2},
      {"-2 mV/K", dim::voltage_per_kelvin, -2e-3},
      {"2000 steps/s2", dim::step_acceleration, 2000},
      {"0.5 A2 s", dim::melting_integral, 0.5},
      {"20 mJ/K", dim::heat_capacity, 0.02},
      {"2 J/s", dim::power, 2},
      {"3 1/s", dim::angular_speed, 3},
  };
  for (const auto& c : cases) expect_reads(c);
}

TEST(Quantity, ReadsOtherSpellings) {
  const ReadCase cases[] = {
      {"22 \u00b5F", dim::capacitance, 22e-6},  // micro sign
      {"22 \u03bcF", dim::capacitance, 22e-6},  // Greek mu
      {"22uF", dim::capacitance, 22e-6},
      {"30 \u03a9", dim::resistance, 30},
      {"30 m\u2126", dim::resistance, 0.03},
      {"1.8\u00b0", dim::angle, 1.8 * (2 * M_PI / 360)},
      {"\u00b110 %", dim::none, 0.1},
      {"\u00b1 10 %", dim::none, 0.1},
      {"+-10 %", dim::none, 0.1},
      {"+/- 10%", dim::none, 0.1},
      {"0.1", dim::none, 0.1},
      {"1.5\u00b710\u207b\u2076 A", dim::current, 1.5e-6},
      {"2\u00d710\u00b3 V", dim::voltage, 2000},
      {"2000", dim::pieces, 2000},
  };
  for (const auto& c : cases) expect_reads(c);
}

TEST(Quantity, TellsTemperaturesFromDifferences) {
  const ReadCase cases[] = {
      {"85 degC", dim::temperature, 358.15},   {"85 \u00b0C", dim::temperature, 358.15},
      {"85 \u2103", dim::temperature, 358.15}, {"-40 degC", dim::temperature, 233.15},
      {"300 K", dim::temperature, 300},        {"85 degC", dim::temperature_difference, 85}};
  for (const auto& c : cases) {
    const auto value = parse_quantity(c.text, c.dim);
    ASSERT_TRUE(value) << c.text;
    EXPECT_DOUBLE_EQ(*value, c.si) << c.text;
  }
}

struct RefuseCase {
  const char* text;
  Dim dim;
  const char* part;  // of the message
};

TEST(Quantity, RefusesWithAReason) {
  const RefuseCase cases[] = {
      {"12 V", dim::resistance,
       "expected a resistance such as \"4k7\" or \"30 ohm\", found \"12 V\", a voltage"},
      {"", dim::voltage, "found nothing"},
      {"  ", dim::voltage, "found nothing"},
      {"V", dim::voltage, "a number comes first"},
      {"12", dim::voltage, "a unit is missing"},
      {"0.1", dim::angle, "a unit is missing"},
      {"4700", dim::resistance, "a unit is missing"},
      {"1,000 V", dim::voltage, "write \"1000\" or \"1.000\""},
      {"0,35 A", dim::current, "the decimal sign is a point: write \"0.35\""},
      {"0,350 A", dim::current, "the decimal sign is a point: write \"0.350\""},
      {"12,5 V", dim::voltage, "write \"12.5\""},
      {"1 000 V", dim::voltage, "digits are not grouped"},
      {"1\u202f000 V", dim::voltage, "digits are not grouped"},
      {"1'000 V", dim::voltage, "digits are not grouped"},
      {"1_000 V", dim::voltage, "digits are not grouped"},
      {"1.000.000 V", dim::voltage, "digits are not grouped"},
      {"nan V", dim::voltage, "must be finite"},
      {"-NaN", dim::none, "must be finite"},
      {"inf", dim::none, "must be finite"},
      {"Infinity A", dim::current, "must be finite"},
      {"1e999 V", dim::voltage, "too large"},
      {"1e-999 V", dim::voltage, "too small"},
      {"1e99999999999999999999 V", dim::voltage, "too large"},
      {"1e308 rpm", dim::frequency, "found \"1e308 rpm\", an angular speed"},
      {"10 khz", dim::frequency, "did you mean \"kHz\"?"},
      {"10 OHM", dim::resistance, "did you mean \"ohm\"?"},
      {"10 parsec", dim::length, "unknown unit \"parsec\""},
      {"10 cV", dim::voltage, "unknown unit"},
      {"10 kdeg", dim::angle, "unknown unit"},
      {"5 W/m K", dim::none, "brackets"},
      {"5 W/(m K", dim::none, "not closed"},
      {"5 W/", dim::power, "a unit is missing"},
      {"5 N-m", dim::torque, "between units"},
      {"5 kg cm", dim::torque, "kgf cm"},
      {"85 C", dim::temperature, "degC"},
      {"2 Hz", dim::angular_speed, "Hz counts cycles"},
      {"200 Hz", dim::step_rate, "steps/s"},
      {"200", dim::step_rate, "a unit is missing"},
      {"5 mJ", dim::torque, "found \"5 mJ\", an energy"},
      {"10 %", dim::pieces, "a plain number or fraction"},
      {"10 %", dim::angle, "a plain number or fraction"},
      {"\u00b15 V", dim::voltage, "a tolerance does not fit here"},
      {"+--5 %", dim::none, "one sign"},
      {"22 m", dim::capacitance, "a length"},
      {"10 K", dim::resistance, "a temperature difference"},
      {"4k7 V", dim::resistance, "unknown unit"},
      {"4.7k7", dim::resistance, "unknown unit"},
      {"4k7", dim::voltage, "unknown unit"},
      {"10\u00b2 V", dim::voltage, "unexpected"},
      {"5 m99", dim::length, "exponent"},
      {"5 m0", dim::length, "exponent"},
      {"5 m9 m9 m9 m9 m9 m9 m9 m9", dim::length, "absurd"},
      {"0x10 V", dim::voltage, "unknown unit"},
      {"5 V V", dim::voltage, "found \"5 V V\", in kg2"},
      {"5 V\n6 V", dim::voltage, "\\n"},
      {"5 \xff", dim::voltage, "\\xff"},
  };
  for (const auto& c : cases) {
    const auto value = parse_quantity(c.text, c.dim);
    ASSERT_FALSE(value) << c.text << " read as " << *value;
    EXPECT_NE(to_text(value.error()).find(c.part), std::string::npos)
        << c.text << ": " << to_text(value.error());
  }
}

TEST(Quantity, ReadsColumnsByUnit) {
  const auto milliohm = parse_unit("mohm", dim::resistance);
  ASSERT_TRUE(milliohm);
  EXPECT_EQ(parse_number("40", *milliohm).value(), 0.04);
  const auto celsius = parse_unit("degC", dim::temperature);
  ASSERT_TRUE(celsius);
  EXPECT_DOUBLE_EQ(parse_number("150", *celsius).value(), 423.15);
  EXPECT_EQ(parse_number("0.5", parse_unit("", dim::none).value()).value(), 0.5);
  // Only degC alone is a scale with an offset; in a product it is a difference.
  EXPECT_EQ(parse_unit("% degC", dim::temperature).value().offset, 0.0);
  EXPECT_EQ(parse_unit("degC %", dim::temperature).value().offset, 0.0);
  EXPECT_FALSE(parse_unit("", dim::voltage));
  EXPECT_FALSE(parse_unit("V", dim::current));
  for (const char* text : {"40 mohm", "", "x", "nan", "1,5", "1e999"})
    EXPECT_FALSE(parse_number(text, *milliohm)) << text;
}

TEST(Quantity, TurnsErrorsIntoProblems) {
  const Problem p = to_problem(parse_quantity("12", dim::voltage).error());
  EXPECT_EQ(p.expected, "a voltage such as \"12 V\" or \"350 mV\"");
  EXPECT_EQ(p.found, "\"12\"");
  EXPECT_EQ(p.message, "a unit is missing");
}

}  // namespace
}  // namespace pb
