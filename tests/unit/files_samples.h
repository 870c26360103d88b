// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the tests of the readers share: the tree's own templates and examples, found by listing the
// folders, and the least text that is a brief.
#pragma once

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

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

}  // namespace pb::test
