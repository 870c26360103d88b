// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Writing quantities, and the round trip through text.
#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <string>

#include "base/check.h"
#include "base/quantity.h"
#include "base/quantity_tables.h"
#include "base/random.h"

namespace pb {
namespace {

struct WriteCase {
  double si;
  Dim dim;
  const char* text;
};

TEST(QuantityFormat, WritesEngineeringNotation) {
  const WriteCase cases[] = {
      {22e-6, dim::capacitance, "22 uF"},
      {1e-3, dim::capacitance, "1000 uF"},
      {4700, dim::resistance, "4.7 kohm"},
      {0.03, dim::resistance, "30 mohm"},
      {999.6, dim::resistance, "1 kohm"},
      {0, dim::resistance, "0 ohm"},
      {0.35, dim::current, "350 mA"},
      {-2.5, dim::voltage, "-2.5 V"},
      {12.3456, dim::voltage, "12.3 V"},
      {1e300, dim::voltage, "1e+300 V"},
      {358.15, dim::temperature, "85 degC"},
      {15, dim::temperature_difference, "15 K"},
      {5.4e-6, dim::inertia, "54 g cm2"},
      {0.0314159265, dim::angle, "1.8 deg"},
      {0.2, dim::torque, "200 mN m"},
      {0.25, dim::motor_constant, "250 mV s/rad"},
      {200, dim::step_rate, "200 steps/s"},
      {12.566, dim::angular_speed, "12.6 rad/s"},
      {0.0039, dim::temperature_coefficient, "0.39 %/K"},
      {1e8, dim::current_slope, "100 A/us"},
      {12e-6, dim::area, "12 mm2"},
      {3.5e-5, dim::length, "35 um"},
      {0.123456, dim::none, "0.123"},
      {2000, dim::pieces, "2000 pieces"},
      {3600, dim::time, "3600 s"},
      {2.5, Dim{.kg = 1, .s = -3}, "2.5 kg s-3"},
      {0.2, dim::mass, "200 g"},
      {350, dim::thermal_resistance, "350 K/W"},
  };
  for (const auto& c : cases) EXPECT_EQ(format_quantity(c.si, c.dim), c.text);
  EXPECT_EQ(format_quantity(12.3456, dim::voltage, 5), "12.346 V");
  EXPECT_EQ(format_quantity(std::nan(""), dim::voltage), "nan V");
  EXPECT_EQ(format_percent(0.1), "10 %");
  EXPECT_EQ(format_percent(0), "0 %");
  EXPECT_EQ(format_percent(0.00071), "0.071 %");
}

TEST(QuantityFormat, RangeSaysACommonUnitOnce) {
  EXPECT_EQ(format_range(1, 60, dim::voltage), "1 to 60 V");
  EXPECT_EQ(format_range(1e-3, 60, dim::voltage), "1 mV to 60 V");
  EXPECT_EQ(format_range(1, 1e9, dim::pieces), "1 to 1e+09 pieces");
  EXPECT_EQ(format_range(203.15, 448.15, dim::temperature), "-70 to 175 degC");
  EXPECT_EQ(format_range(0, 0.5, dim::none), "0 to 0.5");
  EXPECT_EQ(join_range("0 %", "50 %"), "0 to 50 %");
}

// IEC 60062:2016, examples of the code for resistors; lower-case k as in the SI.
TEST(QuantityFormat, WritesMarkingCodes) {
  const std::pair<double, const char*> cases[] = {
      {0.47, "R47"},   {4.7, "4R7"},   {470, "470R"}, {4700, "4k7"}, {47e3, "47k"}, {47300, "47k3"},
      {470e3, "470k"}, {4.7e6, "4M7"}, {1e9, "1G"},   {0.01, "R01"}, {0, "0R"},     {999.9, "1k"}};
  for (const auto& [ohm, text] : cases) EXPECT_EQ(format_rkm(ohm), text);
  EXPECT_EQ(format_rkm(-1), "-1 ohm");
}

TEST(QuantityFormat, WritesExactText) {
  const WriteCase cases[] = {
      {0.35, dim::current, "350 mA"},
      {0.1, dim::none, "0.1"},
      {358.15, dim::temperature, "85 degC"},
      {1.0 / 3.0, dim::voltage, "333.3333333333333 mV"},
      {parse_quantity("1.8 deg", dim::angle).value(), dim::angle, "1.8 deg"},
      {5.4e-6, dim::inertia, "54 g cm2"},
      {-0.0, dim::voltage, "-0 V"},
  };
  for (const auto& c : cases) EXPECT_EQ(to_exact_text(c.si, c.dim), c.text);
  EXPECT_THROW(to_exact_text(std::nan(""), dim::voltage), InternalError);
}

void expect_round_trip(double x, Dim d) {
  const std::string text = to_exact_text(x, d);
  const auto back = parse_quantity(text, d);
  ASSERT_TRUE(back) << text << ": " << to_text(back.error());
  ASSERT_EQ(std::bit_cast<std::uint64_t>(*back), std::bit_cast<std::uint64_t>(x)) << text;
}

TEST(QuantityFormat, ExactTextReadsBackToTheSameBits) {
  using Limits = std::numeric_limits<double>;
  const double corners[] = {0.0,
                            -0.0,
                            1.0,
                            -1.0,
                            0.1,
                            273.15,
                            1e-9,
                            1e15,
                            Limits::max(),
                            Limits::min(),
                            Limits::denorm_min(),
                            -Limits::max(),
                            1.0 + Limits::epsilon()};
  std::vector<Dim> dims = {Dim{.kg = 2, .m = -3, .step = 1}};
  for (const auto& kind : quantity::kinds()) dims.push_back(kind.dim);
  for (const Dim d : dims) {
    for (const double x : corners) expect_round_trip(x, d);
    for (std::uint64_t i = 0; i < 2000; ++i) {
      const Draws draws(1, i);
      const double any = std::bit_cast<double>(draws.bits("any"));  // every exponent alike
      if (std::isfinite(any)) expect_round_trip(any, d);
      expect_round_trip(std::pow(10.0, draws.uniform("usual", -12, 6)), d);
    }
  }
}

// The examples the messages give must themselves be right, and in the spelling we print.
TEST(QuantityFormat, EveryKindReadsItsOwnExamplesAndUnit) {
  for (const auto& kind : quantity::kinds()) {
    std::string_view rest = kind.examples;
    int examples = 0;
    for (; rest.find('"') != rest.npos; ++examples) {
      rest.remove_prefix(rest.find('"') + 1);
      const auto example = rest.substr(0, rest.find('"'));
      EXPECT_TRUE(parse_quantity(example, kind.dim)) << kind.name << ": " << example;
      rest.remove_prefix(rest.find('"') + 1);
    }
    EXPECT_GT(examples, 0) << kind.name;
    const auto unit = parse_unit(kind.unit, kind.dim);
    ASSERT_TRUE(unit) << kind.name;
    EXPECT_EQ(unit->exp10, kind.exp10) << kind.name;
    EXPECT_EQ(unit->factor, 1.0) << kind.name;
    const auto si = parse_unit(si_unit(kind.dim), kind.dim);
    ASSERT_TRUE(si) << kind.name << " in " << si_unit(kind.dim);
    EXPECT_EQ(si->exp10, 0) << kind.name;
    EXPECT_EQ(si->factor, 1.0) << kind.name;
    EXPECT_TRUE(parse_unit(dim_unit(kind.dim), kind.dim)) << kind.name;
  }
}

TEST(QuantityFormat, NamesUnits) {
  EXPECT_EQ(si_unit(dim::inertia), "kg m2");
  EXPECT_EQ(si_unit(dim::temperature), "K");
  EXPECT_EQ(dim_unit(dim::temperature), "degC");
  EXPECT_EQ(si_unit(dim::current_slope), "A/s");
  EXPECT_EQ(si_unit(dim::none), "");
  EXPECT_EQ(dim_name(dim::torque), "a torque");
  EXPECT_EQ(dim_name(Dim{.kg = 1, .s = -3}), "a quantity in kg s-3");
}

TEST(QuantityFormat, SetsForPrint) {
  const std::pair<const char*, const char*> cases[] = {
      {"22 uF", "22 µF"},        {"4.7 kohm", "4.7 kΩ"},   {"85 degC", "85 °C"},
      {"200 mN m", "200 mN·m"},  {"54 g cm2", "54 g·cm²"}, {"-2.5 V", "−2.5 V"},
      {"1.8 deg", "1.8°"},       {"100 A/us", "100 A/µs"}, {"1e-09 N m s/rad", "1·10⁻⁹ N·m·s/rad"},
      {"1e+300 V", "1·10³⁰⁰ V"}, {"0.1", "0.1"},           {"2 pieces", "2 pieces"}};
  for (const auto& [plain, printed] : cases) EXPECT_EQ(typeset(plain), printed);
}

// Printed text is still readable, so a user can copy it from the report into the brief.
TEST(QuantityFormat, PrintedTextReadsBack) {
  for (const auto& kind : quantity::kinds()) {
    const std::string text = format_quantity(1.25e-3, kind.dim, 6);
    const auto plain = parse_quantity(text, kind.dim),
               printed = parse_quantity(typeset(text), kind.dim);
    ASSERT_TRUE(plain) << text;
    ASSERT_TRUE(printed) << typeset(text);
    EXPECT_EQ(*plain, *printed) << text;
  }
}

}  // namespace
}  // namespace pb
