// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "model/capture.h"

#include "base/text.h"

namespace pb {

const Channel* find_channel(const Capture& capture, std::string_view name, std::string_view unit) {
  for (const Channel& c : capture.channels)
    if (equal_ignoring_case(c.name, name) && (c.unit.empty() || c.unit == unit)) return &c;
  return nullptr;
}

}  // namespace pb
