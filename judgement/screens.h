// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reasons to pass over a part in a role before anything is simulated. Each takes the bound most
// favourable to the part, over every setting and every other part; each has its check in the full
// proof under the same id.
#pragma once

#include <string>
#include <vector>

#include "model/design.h"

namespace pb {

/// What of the template one role stands in.
struct RolePlace {
  const Brief& brief;
  const Template& wiring;
  const Role& role;
};

/// The screens of one role. What the circuit and the brief decide is worked out once, so that a
/// catalogue of any size is only compared with it.
class RoleScreen {
 public:
  explicit RoleScreen(const RolePlace& at);
  /// Id of the check that a part of the role's class must fail in it; empty if it may pass.
  std::string turns_away(const Part& part) const;

 private:
  std::string follower(const Part& part) const;
  std::string stays_on(const Part& part) const;
  std::string switch_of_leg(const Part& part) const;
  std::string chip(const Part& part) const;
  std::string across_rail(const Part& part) const;

  const Brief& brief_;
  const std::string part_class_;
  bool in_leg_ = false;          // every place of the role
  bool on_rail_ = false;         // every place: first terminal at the rail, second at ground
  bool across_rail_ = false;     // every place, either way round
  std::vector<double> reach_V_;  // highest voltage of each base or gate that an output follows
  double high_gate_V_ = 0;       // lowest of P gates at the rail, each at its highest; as a switch
                                 // that has none, above any rail
  double low_gate_V_ = 0;        // lowest of gates over ground, each at its highest; likewise
  bool p_at_rail_ = false;       // a P switch with its source at the rail
};

/// The same for one part.
std::string screened_by(const RolePlace& at, const Part& part);

/// Highest voltage a node can be pulled to through resistors, pins and supplies, at lowest supply
/// and logic; the rail or the logic where anything else is in the way.
double highest_reach_V(const Brief& brief, const Template& wiring, const std::string& node);
/// Highest voltage of a node that hangs on resistors, pins and supplies alone, all pins high, over
/// every value the template lists; the higher of rail and logic where anything else hangs on it.
double highest_by_resistors_V(const Brief& brief, const Template& wiring, const std::string& node);

}  // namespace pb
