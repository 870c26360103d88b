// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design: a brief, a template, a part in every role and the settings, all in one self-contained
// file.
#pragma once

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
  std::string decay = "diode";          // "slow" "fast" "diode"; of regulated drives alone
  double dead_time_s = kNotGiven;       // not given: computed from the circuit's slowest turn-off
  std::map<std::string, double> value;  // role of a resistor -> ohm
};

struct Design {
  Brief brief;
  std::vector<Assumed> assumed;
  Template wiring;
  std::map<std::string, Part> parts;  // role -> part; an optional role may be absent
  Settings settings;
};

/// What the parts and the wiring contradict: a role without a part, a part of another class, a
/// setting for no role. Whether the template has the states of the sequence is physics::supports's
/// to say.
Problems faults_of(const Design& d);

}  // namespace pb
