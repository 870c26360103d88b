// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any text as a template: refused with one-line messages, or without a fault and the same after
// writing and reading.
#include "model/template.h"

#include <cstdint>
#include <string>

#include "base/check.h"
#include "base/text.h"
#include "files/toml_template.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto wiring = pb::read_template("fuzz", text);
  if (!wiring) {
    for (const auto& p : wiring.error())
      PB_CHECK(pb::is_utf8(pb::to_line(p)) && pb::to_line(p).find('\n') == std::string::npos,
               p.line);
    return 0;
  }
  PB_CHECK(pb::faults_of(*wiring).empty(), text);
  const std::string written = pb::to_text(*wiring);
  const auto again = pb::read_template("written", written);
  PB_CHECK(again && pb::to_text(*again) == written, written);
  return 0;
}
