// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a refuted candidate says about others. A check that failed read certain parts only; every
// candidate with the same parts in those roles fails it too, whatever stands in the other roles.
// docs/checks.md argues for each rule.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "judgement/proof.h"
#include "judgement/space.h"

namespace pb {

/// A refutation of one candidate at one setting, with the finest resistors.
struct Refuted {
  std::string check, subject, unit;
  double value = 0, limit = 0;
  std::map<std::string, std::string> corner;  // where
  std::vector<bool> roles;                    // that the failed check read; resistors never
  bool standing = false;                      // by resting states alone
  // Settings it holds for besides its own: those with another stop, another sequence that freezes
  // in the same state, other resistor values; all.
  bool any_stop = false, same_hold = false, any_values = false, any_setting = false;
  std::vector<Refuted>
      others{};  // what the same proof says by other checks, of fewer or other roles
};

/// From a proof that failed (not undecided).
Refuted refuted_by(const Space& s, const Design& design, const Proof& proof);

/// For a refutation by resting states: leaves out roles whose parts make no difference to it. Each
/// role's other parts with the most and the least of what a resting state sees are tried in its
/// place; roles are left out while all their effects together make up less than half of what the
/// check is past its limit.
void leave_out_bystanders(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                          const Pick& pick, const Settings& settings, const ParallelFor& parallel,
                          Refuted& why);

/// Whether a refutation read every part of the core, for want of a rule that says which matter.
bool reads_all(const Space& s, const Refuted& why);
/// For such a one: whether what stands across the rail has a say in it. The stiffest rail and the
/// softest the lists allow are run at the corner where it failed; where none moves the margin by
/// half of what the check is past its limit, these roles are left out.
void leave_out_rail(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                    const Pick& pick, const Settings& settings, const ParallelFor& parallel,
                    const StopToken& stop, Refuted& why);
/// Of a failed `capacitor_ripple` that read capacitors alone: the pick with all others of them at
/// their first choice; else nothing.
std::optional<Pick> ripple_alone(const Space& s, const Pick& pick, const Refuted& why);
/// For such a one: leaves out the other capacitors, if none of their choices with the most or the
/// least capacitance or series resistance moves the ripple by half of what it is past its limit.
void leave_out_capacitors(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                          const Pick& pick, const Settings& settings, const ParallelFor& parallel,
                          const StopToken& stop, Refuted& why);
/// What a core that could not hold the energy the motor gives back says of another at the same
/// setting: that it cannot either, or nothing.
std::optional<Refuted> holds_too_little(const Space& s, const Design& other, const Refuted& before);
/// The choices of a pick but for what stands across the rail.
Pick without_rail(const Space& s, const Pick& pick);

/// The refutations of one template.
class Conflicts {
 public:
  void learn(const Space& s, const Pick& pick, std::size_t setting, const Refuted& why);
  /// The id of the check that refutes, at the setting, all picks that agree with this one in the
  /// first `depth` roles of the core; null if none is known.
  const std::string* find(const Pick& pick, std::size_t depth, std::size_t setting) const;
  /// The same for all picks with this one's choice of one role.
  const std::string* find_alone(const Pick& pick, std::size_t role, std::size_t setting) const;

 private:
  using Reads = std::vector<std::size_t>;  // roles
  using Key = std::vector<std::size_t>;    // choices of the roles read
  /// The check that refutes these.
  using Keys = std::map<Key, std::string>;
  struct Group {
    std::size_t depth;  // up to which the roles of the core must be chosen
    Keys keys;
  };
  static Key key_of(const Pick& pick, const Reads& reads);

  std::vector<std::map<Reads, Group>> at_;  // by setting
};

}  // namespace pb
