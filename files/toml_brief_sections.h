// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief inside another document: a design embeds one. Internal to files.
#pragma once

#include <string>

#include "files/toml_brief.h"
#include "files/toml_document.h"

namespace pb::files {

/// Reads the sections from `document`, whose full name is `prefix` ("" or "brief"). Keys that are
/// not the brief's are left to the caller's finish().
ReadBrief read_brief_sections(Reading& reading, Fields& document, const std::string& prefix);

/// [PREFIX.motor] and so on, without `format` and without the keys outside of sections.
std::string brief_sections_text(const Brief& brief, const std::string& prefix);
/// The keys outside of sections: title.
std::string brief_top_text(const Brief& brief);

/// As reports and JSON list it: SI, temperatures in degC.
Assumed assumed_entry(Brief brief, const BriefKey& key);

}  // namespace pb::files
