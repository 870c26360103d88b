// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/web_types.h"

#include <fmt/core.h>

#include <vector>

#include "base/math.h"
#include "base/text.h"
#include "judgement/checks.h"
#include "judgement/checks_parts.h"
#include "model/brief.h"
#include "model/part.h"

namespace pb::app {
namespace {

std::string union_of(const char* name, const std::vector<std::string>& values) {
  std::string out = "export type " + std::string(name) + " =\n";
  for (const std::string& value : values) out += "  | \"" + value + "\"\n";
  out.back() = ';';
  return out + "\n\n";
}

}  // namespace

std::string web_types() {
  std::vector<std::string> keys, checks, classes;
  for (const BriefKey& key : brief_keys()) keys.push_back(full_name(key));
  for (const CheckRow& row : check_rows()) checks.emplace_back(row.id);
  for (const PartClass& c : part_classes()) classes.emplace_back(c.name);
  std::string out =
      "// SPDX-FileCopyrightText: 2026 The Pennybridge authors\n"
      "// SPDX-License-Identifier: Apache-2.0\n"
      "//\n"
      "// Written by `pennybridge formats --types` from the engine's own tables; a test holds "
      "this\n"
      "// file to them. Do not edit it by hand.\n\n";
  out += union_of("BriefKeyName", keys) + union_of("CheckId", checks) +
         union_of("PartClassName", classes);
  out += fmt::format(
      "/** What stands for a temperature that rises without end. */\n"
      "export const kRunaway_degC = {:.2f};\n",
      kelvin_to_celsius(checks::kRunaway_K));
  return out;
}

}  // namespace pb::app
