// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design: a brief, a template, a part in every role and the settings, all in one self-contained
// file.
#pragma once

#include <array>
#include <map>
#include <string>
#include <vector>

#include "model/brief.h"
#include "model/part.h"
#include "model/template.h"

namespace pb {

/// Choices that cost nothing.
struct Settings {
  std::string sequence = "two-phase";   // "one-phase" "two-phase" "half" "micro"
  std::string stop = "brake";           // "brake" "coast"
  std::string decay = "diode";          // "slow" "fast" "diode" "mixed"; of regulated drives alone
  double dead_time_s = kNotGiven;       // not given: computed from the circuit's slowest turn-off
  std::map<std::string, double> value;  // role of a resistor -> ohm
};

/// Two places whose parts are one package: they share its way to ambient.
struct SharedPackage {
  std::array<std::string, 2> refs;
  double mutual_K_W = 0;  // rise of one for each watt in the other
};

struct Design {
  Brief brief;
  std::vector<Assumed> assumed;
  Template wiring;
  std::map<std::string, Part> parts;  // role -> part; an optional role may be absent
  Settings settings;
  std::vector<SharedPackage> shared{};  // not of a design file: of what stands in for single parts
};

/// The place that shares a package with this one; null if it has its own.
const SharedPackage* shared_by(const Design& d, const std::string& ref);
const std::string& other_half(const SharedPackage& package, const std::string& ref);

/// What the parts and the wiring contradict: a role without a part, a part of another class, a
/// setting for no role. Whether the template has the states of the sequence is physics::supports's
/// to say.
Problems faults_of(const Design& d);

}  // namespace pb
