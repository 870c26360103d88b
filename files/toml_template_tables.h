// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A template inside another document: a design embeds one. Internal to files.
#pragma once

#include <map>
#include <string>

#include "files/toml_document.h"
#include "model/template.h"

namespace pb::files {

/// Where the things that faults_of() names stand: "place.Q1", "role.gate_resistor".
using Spots = std::map<std::string, Spot>;

/// Reads `document`; unknown keys are reported here.
Template read_template_tables(Reading& reading, Fields& document, Spots& spots);
/// Puts file and place into problems made by faults_of().
Problems placed(Problems problems, const std::string& file, const Spots& spots);
/// The tables below PREFIX; an empty prefix is a file of its own.
std::string template_tables_text(const Template& wiring, const std::string& prefix);

}  // namespace pb::files
