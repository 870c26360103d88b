// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The desk's page, built from web/ and compiled in: cmake/write_assets.cmake writes the
// definitions.
#pragma once

#include <string_view>

namespace pb::app::assets {

extern const std::string_view kPage, kScript, kStyle, kIcon;

}  // namespace pb::app::assets
