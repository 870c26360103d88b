// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Captures as instruments write them. The forms are common practice, no source: a comma, a
// semicolon with a decimal comma (the spreadsheet form of half of Europe), tabs, blanks; a preamble
// of any length; units beside, below or in the names.
#include "files/capture.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb {
namespace {

/// `rows` of numbers, one a millisecond: t, 2 t, -t, with this separator and decimal mark.
std::string rows(const std::string& separator, char decimal, int count = 20, double step = 1e-3) {
  std::string out;
  for (int k = 0; k < count; ++k) {
    const double t = k * step;
    std::string line =
        std::to_string(t) + separator + std::to_string(2 * t) + separator + std::to_string(-t);
    for (char& c : line)
      if (c == '.') c = decimal;
    out += line + "\n";
  }
  return out;
}

Capture read(const std::string& text, const CaptureOptions& options = {}) {
  const auto capture = read_capture("c.csv", text, options);
  EXPECT_TRUE(capture) << (capture ? "" : to_lines(capture.error())) << text.substr(0, 200);
  return capture ? *capture : Capture{};
}

void expect_the_ramp(const Capture& c, double y_scale = 1) {
  ASSERT_EQ(c.t_s.size(), 20u);
  ASSERT_EQ(c.channels.size(), 2u);
  for (std::size_t k = 0; k < c.t_s.size(); ++k) {
    EXPECT_NEAR(c.t_s[k], 1e-3 * static_cast<double>(k), 1e-12);
    EXPECT_NEAR(c.channels[0].y[k], y_scale * 2e-3 * static_cast<double>(k), 1e-12);
    EXPECT_NEAR(c.channels[1].y[k], y_scale * -1e-3 * static_cast<double>(k), 1e-12);
  }
}

TEST(Capture, ReadsEverySeparatorAndDecimalMark) {
  for (const auto& [separator, decimal] : {std::pair{",", '.'},
                                           {", ", '.'},
                                           {";", '.'},
                                           {";", ','},
                                           {"\t", '.'},
                                           {"\t", ','},
                                           {"  ", '.'},
                                           {"  ", ','}}) {
    SCOPED_TRACE(std::string(separator) + decimal);
    expect_the_ramp(read(rows(separator, decimal)));
  }
  std::string windows;  // ends of lines of another system, and a byte order mark
  for (char c : rows(",", '.')) windows += c == '\n' ? std::string("\r\n") : std::string(1, c);
  expect_the_ramp(read("\xEF\xBB\xBF" + windows));
}

TEST(Capture, PassesOverAnyPreambleAndFindsNamesAndUnits) {
  const Capture a =
      read("Some instrument, serial 12, 2026\nRecord length,2500\n\nTime (s),CH1 (V),CH2 (mA)\n" +
           rows(",", '.'));
  ASSERT_EQ(a.channels.size(), 2u);
  EXPECT_EQ(a.channels[0].name, "CH1");
  EXPECT_EQ(a.channels[0].unit, "V");
  EXPECT_EQ(a.channels[1].name, "CH2");
  EXPECT_EQ(a.channels[1].unit, "A");
  EXPECT_NEAR(a.channels[1].y[10], -10e-6, 1e-15);
  EXPECT_FALSE(a.time_unit_guessed);

  const Capture b = read("Time;Channel A;Channel B\n(ms);(mV);(V)\n\n" + rows(";", ',', 20, 1));
  EXPECT_EQ(b.channels[0].name, "Channel A");
  EXPECT_NEAR(b.t_s[5], 5e-3, 1e-15);
  EXPECT_NEAR(b.channels[0].y[5], 10e-3, 1e-15);

  const Capture c = read("x-axis,1,2\nsecond,Volt,Ampere\n" + rows(",", '.'));
  EXPECT_EQ(c.channels[0].unit, "V");
  EXPECT_EQ(c.channels[1].unit, "A");
  expect_the_ramp(c);

  const Capture d = read("t_s,winding_a_A,speed_rad_s\n" + rows(",", '.'));
  EXPECT_NE(find_channel(d, "winding_a", "A"), nullptr);
  EXPECT_NE(find_channel(d, "Speed", "rad_s"), nullptr);
  EXPECT_EQ(find_channel(d, "winding_a", "V"), nullptr);

  // A preamble that stands beside the first rows.
  std::string beside;
  int line = 0;
  const std::string numbers = rows(",", '.');
  for (std::size_t at = 0; at < numbers.size(); ++line) {
    const std::size_t end = numbers.find('\n', at);
    beside += (line < 3 ? "Vertical scale,text," : ",,") + numbers.substr(at, end - at) + "\n";
    at = end + 1;
  }
  expect_the_ramp(read(beside));
}

TEST(Capture, TheUnitOfTimeIsGuessedAndSaid) {
  EXPECT_NEAR(read("t,a,b\n" + rows(",", '.', 20, 1)).t_s[1], 1e-3, 1e-15);
  const Capture us = read("t,a,b\n" + rows(",", '.', 20, 100));
  EXPECT_NEAR(us.t_s[1], 100e-6, 1e-15);
  EXPECT_TRUE(us.time_unit_guessed);
  ASSERT_EQ(us.notes.size(), 1u);
  EXPECT_NE(us.notes[0].find("taken as us"), std::string::npos);
  EXPECT_NEAR(read("t,a,b\n" + rows(",", '.', 20, 100), {{}, "ms"}).t_s[1], 0.1, 1e-15);
  // The sign for micro, in both encodings.
  for (const char* micro : {"time (\xC2\xB5s),a,b\n", "time (\xB5s),a,b\n", "time (us),a,b\n"})
    EXPECT_NEAR(read(micro + rows(",", '.', 20, 1)).t_s[1], 1e-6, 1e-18);
}

TEST(Capture, ClockTimesRunOnPastMidnight) {
  std::string text = "Date,Voltage (V),Current (A)\n";
  for (int k = 0; k < 20; ++k)
    text += (k < 10 ? "2026-01-31 23:59:59." + std::to_string(k)
                    : "2026-02-01 00:00:00." + std::to_string(k - 10)) +
            ",12.0,0." + std::to_string(k) + "\n";
  const Capture c = read(text);
  ASSERT_EQ(c.t_s.size(), 20u);
  EXPECT_EQ(c.t_s[0], 0);
  EXPECT_NEAR(c.t_s[19], 1.9, 1e-9);
}

TEST(Capture, GapsAreNoNumbersAndAreCounted) {
  std::string text = "t (s),a (V),b (V)\n" + rows(",", '.');
  text += "0.030,,1\n0.031,---,1\n-- restarted --\n0.032,nan,1\n0.033,inf,1\n0.034,1\n";
  const Capture c = read(text);
  EXPECT_EQ(c.t_s.size(), 25u);
  EXPECT_EQ(c.skipped_rows, 1u);
  EXPECT_EQ(c.gaps, 5u);
  EXPECT_TRUE(std::isnan(c.channels[0].y[20]));
  EXPECT_EQ(c.channels[0].y[24], 1);
  EXPECT_TRUE(std::isnan(c.channels[1].y[24]));
  EXPECT_EQ(c.notes.size(), 2u);
}

TEST(Capture, ColumnsCanBeGivenByNameAndNumber) {
  const std::string text = "CH1 (mV),clock (ms),CH2\n" + rows(",", '.');
  CaptureOptions options;
  for (const char* c : {"time=clock", "supply_A=ch2", "rail_V=1"})
    options.columns.push_back(*read_capture_column(c));
  const Capture c = read(
      "CH1 (mV),clock (ms),CH2\n1,0,3\n1,1,3\n2,2,4\n3,3,4\n3,4,4\n3,5,4\n3,6,4\n3,7,4\n", options);
  ASSERT_EQ(c.channels.size(), 2u);
  const CaptureChannel* rail = find_channel(c, "rail", "V");
  ASSERT_NE(rail, nullptr);
  EXPECT_NEAR(rail->y[3], 3e-3, 1e-15);
  EXPECT_NEAR(c.t_s[7], 7e-3, 1e-15);
  EXPECT_NE(find_channel(c, "supply", "A"), nullptr);

  const auto probe = read_capture_column("winding_a_A=CH2*-10");
  ASSERT_TRUE(probe);
  EXPECT_EQ(probe->times, -10);
  EXPECT_EQ(probe->theirs, "CH2");
  for (const char* wrong : {"", "=", "a=", "=CH1", "a"}) EXPECT_FALSE(read_capture_column(wrong));
  options.columns = {*read_capture_column("rail_V=CH9")};
  const auto missing = read_capture("c.csv", text, options);
  ASSERT_FALSE(missing);
  EXPECT_NE(to_lines(missing.error()).find("CH1 (mV), clock (ms), CH2"), std::string::npos);
}

std::string refusal(const std::string& text) {
  const auto c = read_capture("c.csv", text);
  EXPECT_FALSE(c) << text.substr(0, 100);
  return c ? "" : to_lines(c.error());
}

TEST(Capture, RefusesWhatIsNoneWithItsPlace) {
  EXPECT_NE(refusal("").find("empty file"), std::string::npos);
  EXPECT_NE(refusal("no numbers here\nat all\n").find("lines of numbers"), std::string::npos);
  EXPECT_NE(refusal("1,2\n2,3\n").find("at least 8 rows"), std::string::npos);
  EXPECT_NE(refusal("\xFF\xFE"
                    "1")
                .find("UTF-16"),
            std::string::npos);
  const std::string back = refusal("t,a,b\n" + rows(",", '.') + "0.001,1,1\n");
  EXPECT_NE(back.find("c.csv:22:1: t: expected a time not before 0.019, found 0.001"),
            std::string::npos)
      << back;
  std::string nonsense = rows(",", '.');
  for (int k = 0; k < 300; ++k) nonsense += "lorem ipsum\n";
  EXPECT_NE(refusal(nonsense).find("c.csv:21:1"), std::string::npos);
  EXPECT_FALSE(load_capture("/no/such/file"));
  EXPECT_FALSE(load_capture("/dev/zero"));
}

TEST(Capture, ClippingIsAFlatStretchThatBeginsOnTheWay) {
  CaptureChannel settles{"i", "A", {}}, clipped = settles, noisy = settles;
  for (int k = 0; k < 4000; ++k) {
    const double exact = 1 - std::exp(-k / 200.0);
    settles.y.push_back(std::round(exact * 128) / 128);  // as an eight-bit converter has it
    clipped.y.push_back(std::min(settles.y.back(), 0.6));
    noisy.y.push_back(exact + 1e-3 * std::sin(k * 1.7));
  }
  EXPECT_FALSE(is_clipped(settles));
  EXPECT_FALSE(is_clipped(noisy));
  EXPECT_TRUE(is_clipped(clipped));
}

}  // namespace
}  // namespace pb
