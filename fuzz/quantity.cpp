// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any text: refused with a one-line message, or read, written and read again to the same bits. The
// first byte chooses the kind of quantity ('0' is the first of the table), the rest is the text.
#include <bit>
#include <cmath>
#include <cstdint>
#include <string>

#include "base/check.h"
#include "base/quantity.h"
#include "base/quantity_tables.h"
#include "base/text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const auto kinds = pb::quantity::kinds();
  const pb::Dim dim = kinds[(data[0] + 256u - '0') % 256u % kinds.size()].dim;
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  const auto first = pb::parse_quantity(text, dim);
  if (!first) {
    const std::string message = pb::to_text(first.error());
    PB_CHECK(pb::is_utf8(message) && message.find('\n') == std::string::npos, message);
    return 0;
  }
  PB_CHECK(std::isfinite(*first), *first);
  const std::string written = pb::to_exact_text(*first, dim);
  const auto again = pb::parse_quantity(written, dim);
  const auto same_bits = [&](double x) {
    return std::bit_cast<std::uint64_t>(x) == std::bit_cast<std::uint64_t>(*first);
  };
  PB_CHECK(again && same_bits(*again), written);
  const std::string printed = pb::typeset(written);
  const auto reread = pb::parse_quantity(printed, dim);
  PB_CHECK(reread && same_bits(*reread), printed);
  return 0;
}
