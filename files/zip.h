// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A ZIP file (the published APPNOTE, version 2.0 features: deflate, no encryption, less than 4 GiB)
// whose bytes depend on names and contents alone: every entry is dated 1980-01-01 00:00, the
// earliest a ZIP file can say, and no owner or mode is stored. Tested by tests/unit/files_zip.cpp.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace pb {

/// Entries in the order given: name (with '/'), contents.
std::string zip_of(const std::vector<std::pair<std::string, std::string>>& entries);

}  // namespace pb
