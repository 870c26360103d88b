// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What one fault does to a design: each is simulated at the highest supply and ambient, everything
// else typical, and classed by current, temperature and time. docs/faults.md says how. Tested by
// tests/unit/judgement_faults.cpp.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "judgement/fault_list.h"

namespace pb {

enum class FaultClass { works_on, stops_safely, destroyed_contained, hazard };
constexpr const char* name_of(FaultClass c) {
  switch (c) {
    case FaultClass::works_on:
      return "works on";
    case FaultClass::stops_safely:
      return "stops safely";
    case FaultClass::destroyed_contained:
      return "destroyed but contained";
    case FaultClass::hazard:
      break;
  }
  return "hazard";
}

/// What contains it, or would.
enum class Containment {
  nothing_to_contain,
  fuse_in_place,   // value: seconds it takes at the most
  little_power,    // value: the watts there are
  smaller_fuse,    // value: its rating [A]
  limited_supply,  // value: the watts it may give
};

/// Beyond what it bears: a junction's or a winding's temperature, a voltage, a pin's current.
struct Harm {
  std::string subject, what;
};

struct FaultCase {
  std::string part, fault;
  FaultClass outcome = FaultClass::works_on;
  double peak_A = 0;          // of any part or lead
  std::string hottest;        // of the parts, against what it bears
  double peak_K = 0;          // of the hottest; at most kMelted_K, which stands for hotter too
  double supply_A = 0;        // rms, once settled: what the fuse feels
  double fuse_s = kNotGiven;  // it opens within
  double available_W = 0;     // into the hottest part, or a harmed one
  std::string detected_by;    // of the production test; "latent", or "in use": no defect of a board
  std::vector<Harm> harmed;
  Containment contain = Containment::nothing_to_contain;
  double contain_value = 0;
  std::string undecided;  // why there is no class
};

struct FaultsResult {
  std::vector<FaultCase> cases;  // those wanted, in the order of situations_of
  std::string undecided;         // why there is none at all
  bool cancelled = false;
};

struct FaultsOptions {
  ParallelFor parallel = serial();
  StopToken stop;
  std::function<void(double)> progress;  // 0 to 1
  std::function<bool(const Situation&)> wanted = [](const Situation&) { return true; };
};

/// The design must be without faults_of().
FaultsResult single_faults(const Design& design, const FaultsOptions& options);

/// What lasts no longer is an incident, not a source of power; and below so many watts what is
/// left of a part sets nothing on fire. Source: IEC 62368-1:2014 6.2.2.4, power source class 1 (15
/// W, measured after 3 s; from memory).
inline constexpr double kInTime_s = 3.0;
inline constexpr double kLittlePower_W = 15.0;

}  // namespace pb
