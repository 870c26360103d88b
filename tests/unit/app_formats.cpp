// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The reference page in the tree is the one the tables write, and its example is a sound beginning.
#include <gtest/gtest.h>

#include "app/formats_page.h"
#include "app/web_types.h"
#include "base/text.h"
#include "files/load.h"
#include "files/toml_document.h"
#include "tests/unit/files_samples.h"

namespace pb {
namespace {

TEST(AppFormats, PageInTheTreeIsTheOneTheTablesWrite) {
  const auto page = load_text((test::kRoot / "docs/formats.md").string());
  ASSERT_TRUE(page) << to_lines(page.error());
  EXPECT_EQ(*page, app::formats_page()) << "write it anew: ./run formats > docs/formats.md";
}

TEST(AppFormats, TypesOfThePageAreTheOnesTheTablesWrite) {
  const auto types = load_text((test::kRoot / "web/src/keys.ts").string());
  ASSERT_TRUE(types) << to_lines(types.error());
  EXPECT_EQ(*types, app::web_types()) << "write it anew: ./run formats --types > web/src/keys.ts";
}

TEST(AppFormats, ExampleOfTheTemplateIsToml) {
  const std::string page = app::formats_page();
  const std::string fence = "```toml\n";
  const std::size_t from = page.find(fence) + fence.size();
  const auto example = files::parse_toml("page", page.substr(from, page.find("```", from) - from));
  ASSERT_TRUE(example) << to_lines(example.error());
  for (const char* key : {"role", "place", "pin", "winding", "drive", "leg"})
    EXPECT_NE(example->find(key), nullptr) << key;
}

}  // namespace
}  // namespace pb
