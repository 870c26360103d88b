// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any text: refused with a one-line message, or read, written and read again to the same bits.
#include <bit>
#include <cmath>
#include <cstdint>
#include <string>

#include "base/check.h"
#include "base/quantity.h"
#include "base/quantity_tables.h"
#include "base/text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  for (const auto& kind : pb::quantity::kinds()) {
    const auto first = pb::parse_quantity(text, kind.dim);
    if (!first) {
      const std::string message = pb::to_text(first.error());
      PB_CHECK(pb::is_utf8(message) && message.find('\n') == std::string::npos, message);
      continue;
    }
    PB_CHECK(std::isfinite(*first), *first);
    const std::string written = pb::to_exact_text(*first, kind.dim);
    const auto again = pb::parse_quantity(written, kind.dim);
    PB_CHECK(again && std::bit_cast<std::uint64_t>(*again) == std::bit_cast<std::uint64_t>(*first),
             written);
    PB_CHECK(pb::parse_quantity(pb::typeset(written), kind.dim) == *first, written);
  }
  return 0;
}
