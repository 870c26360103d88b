// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any bytes as a capture: refused with one-line messages, or read with a time that never runs
// backwards, as many values a channel as times, and no infinity.
#include <cmath>
#include <cstdint>
#include <string>

#include "base/check.h"
#include "base/text.h"
#include "files/capture.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto capture = pb::read_capture("fuzz", text);
  if (!capture) {
    for (const auto& p : capture.error()) PB_CHECK(pb::is_utf8(pb::to_line(p)), p.line);
    return 0;
  }
  const auto& t = capture->t_s;
  for (std::size_t k = 1; k < t.size(); ++k) PB_CHECK(t[k] >= t[k - 1], k);
  for (const pb::CaptureChannel& c : capture->channels) {
    PB_CHECK(c.y.size() == t.size(), c.name);
    for (double y : c.y) PB_CHECK(!std::isinf(y), c.name);
    (void)pb::is_clipped(c);
  }
  return 0;
}
