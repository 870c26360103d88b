// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The tables as C text. Whether they compile and do what the proof ran is for
// tests/cli/test_handoff.py, with compilers of others.
#include "delivery/drive_code.h"

#include <gtest/gtest.h>

#include "files/load.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

TEST(DeliveryDriveCode, TheFixedFilesAreThoseOfTheTree) {
  const auto files = drive_code(test::design_of(test::all_templates().front(), true), 1e-6);
  ASSERT_EQ(files.size(), 4u);
  for (const TextFile& f : files) {
    if (!f.name.starts_with("pb_drive")) continue;
    EXPECT_EQ(f.text, *load_text((test::kRoot / "drive" / f.name).string())) << f.name;
  }
}

TEST(DeliveryDriveCode, TextsOfTheDesignStayInsideTheirComments) {
  Design d = test::design_of(test::all_templates().front(), true);
  d.brief.title = "a */ int x; /* b /*/ c\n#error ?\?/ \\";
  for (DriveGroup& g : d.wiring.groups)
    for (std::string& p : g.pins) {
      if (p == d.wiring.pins[0].name) p = "p-1";
      if (p == d.wiring.pins[1].name) p = "P 1";
    }
  d.wiring.pins[0].name = "p-1";
  d.wiring.pins[1].name = "P 1";
  for (const TextFile& f : drive_code(d, 1e-6)) {
    bool inside = false;
    std::string code;
    for (std::size_t i = 0; i + 1 < f.text.size(); ++i) {
      const std::string_view two(f.text.data() + i, 2);
      EXPECT_FALSE(inside && two == "/*") << f.name << ' ' << f.text.substr(i, 40);
      EXPECT_FALSE(!inside && two == "*/") << f.name;
      if (two == "/*" || two == "*/") {
        inside = two == "/*";
        ++i;
      } else if (!inside) {
        code += f.text[i];
      }
    }
    EXPECT_EQ(code.find("int x"), std::string::npos) << f.name;
    EXPECT_EQ(code.find("#error"), std::string::npos) << f.name;
    EXPECT_EQ(f.text.find("\?\?/"), std::string::npos) << f.name;
  }
  const std::string header = drive_code(d, 1e-6)[2].text;
  EXPECT_NE(header.find("  PB_PIN_P_1 = 0,"), std::string::npos);
  EXPECT_NE(header.find("  PB_PIN_P_1_1 = 1,"), std::string::npos);
}

}  // namespace
}  // namespace pb::delivery
