// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The schematic as PDF, for every template. That texts can be read back is for
// tests/cli/test_handoff.py, whose reader is another's.
#include "delivery/pdf.h"

#include <gtest/gtest.h>

#include "delivery/schematic.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

TEST(DeliveryPdf, EveryTemplateIsOnePageAndAlwaysTheSame) {
  for (const Template& t : test::all_templates()) {
    const std::string svg = schematic_svg(test::design_of(t, true));
    const std::string pdf = pdf_of(svg, "title", "footer");
    EXPECT_TRUE(pdf.starts_with("%PDF-")) << t.title;
    EXPECT_NE(pdf.find("/Count 1"), std::string::npos) << t.title;
    EXPECT_EQ(pdf.find("/CreationDate"), std::string::npos);
    EXPECT_EQ(pdf, pdf_of(svg, "title", "footer"));
    EXPECT_NE(pdf, pdf_of(svg, "title", "another footer"));
  }
}

TEST(DeliveryPdf, TextsOfAnyKind) {
  Design d = test::design_of(test::all_templates().front(), true);
  for (auto& [role, part] : d.parts) part.number = "<(\\\xC2\xB5\xE2\x84\xA6\xF0\x9F\x98\x80)&>";
  EXPECT_TRUE(pdf_of(schematic_svg(d), "(\xE2\x84\xA6", "\\)").starts_with("%PDF-"));
}

}  // namespace
}  // namespace pb::delivery
