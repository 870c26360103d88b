// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any text as a brief: refused with problems, or written back and read again to the same text.
#include <cstdint>
#include <string>

#include "base/check.h"
#include "files/toml_brief.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto first = pb::read_brief("fuzz", text);
  if (!first) {
    PB_CHECK(!first.error().empty() && !pb::to_lines(first.error()).empty(), size);
    return 0;
  }
  const std::string written = pb::to_text(first->brief);
  const auto second = pb::read_brief("written", written);
  PB_CHECK(second && second->assumed.empty(), written);
  PB_CHECK(pb::to_text(second->brief) == written, written);
  return 0;
}
