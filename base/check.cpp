// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Throws for a broken invariant.
#include "base/check.h"

namespace pb::detail {

void check_failed(const char* file, int line, const char* condition, const char* names,
                  const std::string& values) {
  std::string text = std::string("internal error at ") + file + ":" + std::to_string(line) +
                     ": expected " + condition;
  if (names[0] != '\0') text += std::string(" with ") + names + " = " + values;
  throw InternalError(text);
}

}  // namespace pb::detail
