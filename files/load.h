// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reading a whole file into memory, with one clear problem when that cannot be. Tested by
// tests/unit/files_load.cpp.
#pragma once

#include <string>

#include "base/problem.h"

namespace pb {

/// The bytes of a regular file of at most 64 MiB.
Checked<std::string> load_text(const std::string& path);

/// The bytes of a table, which may be larger (256 MiB) and compressed with gzip (RFC 1952), known
/// by its first two bytes.
Checked<std::string> load_table(const std::string& path);

}  // namespace pb
