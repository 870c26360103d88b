// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the tests of the readers share: the tree's own templates and examples, found by listing the
// folders, the least text that is a brief, and what makes a text wrong.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <ostream>
#include <string>
#include <vector>

#include "base/problem.h"

namespace pb::test {

inline const std::filesystem::path kRoot = PB_SOURCE_DIR;

/// Every file of that name below the folder, sorted; `name` may be "*.toml".
inline std::vector<std::string> files_below(const std::string& folder, const std::string& name) {
  std::vector<std::string> out;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(kRoot / folder)) {
    const bool match =
        name == "*.toml" ? entry.path().extension() == ".toml" : entry.path().filename() == name;
    if (match) out.push_back(entry.path().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

inline const std::string kLeastBrief = R"(format = 1
[motor]
winding_resistance = "50 ohm"
winding_inductance = "30 mH"
steps_per_turn = "48 step"
back_emf_constant = "0.07 V s/rad"
[motion]
rate = "100 step/s"
[supply]
voltage = "5 V"
[controller]
logic_voltage = "5 V"
[build]
quantity = 1000
)";

/// One thing wrong in a text that is right otherwise, and a piece of what is said of it.
struct OneWrong {
  const char* from;
  const char* to;
  const char* message;

  friend void PrintTo(const OneWrong& wrong, std::ostream* out) { *out << wrong.message; }
  /// The text with the first `from` replaced.
  std::string in(const std::string& text) const {
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return at == std::string::npos ? text : std::string(text).replace(at, std::strlen(from), to);
  }
  void expect_in(const Problems& problems) const {
    const std::string lines = to_lines(problems);
    EXPECT_NE(lines.find(message), std::string::npos) << lines;
    ASSERT_FALSE(problems.empty());
    EXPECT_GT(problems[0].line, 0) << lines;
  }
};

}  // namespace pb::test
