// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any text as a design: refused, or written back and read again to the same text.
#include <cstdint>
#include <string>

#include "base/check.h"
#include "files/toml_design.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  if (const auto design = pb::read_design("fuzz", text, "/nowhere")) {
    const std::string written = pb::to_text(*design);
    const auto again = pb::read_design("written", written, "/nowhere");
    PB_CHECK(again && pb::to_text(*again) == written, written);
  }
  return 0;
}
