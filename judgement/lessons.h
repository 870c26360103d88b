// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a search has learnt so far, template by template: what refutes whom, at which corners the
// next candidates are tried first, which settings served best, how near the cheapest came. Tested
// by tests/slow/search_soundness.cpp.
#pragma once

#include <map>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "judgement/conflicts.h"
#include "judgement/frontier.h"
#include "judgement/search.h"
#include "judgement/setting_trial.h"

namespace pb {

class Lessons {
 public:
  /// All of these must outlive it.
  Lessons(const Brief& brief, const std::vector<Assumed>& assumed, const std::vector<Space>& spaces,
          const SearchOptions& options);

  /// Why a core fails at a setting; gives back as much as it says of others.
  Refuted learn(const Core& c, std::size_t setting, Refuted why);
  void learn(std::size_t space, const Proof& p) { hints_[space].remember(p); }
  void serve_first(std::size_t space, std::size_t setting);

  /// The check known to refute a core at a setting; null if none is.
  const std::string* fails(const Core& c, std::size_t setting) const;
  /// The check that refutes all that agree with a pick so far, if every setting is known to fail.
  const std::string* refuted(std::size_t space, const Pick& pick, std::size_t depth) const;
  const std::string* refuted(const Core& c) const;
  /// The check that refutes all with a core's choice of one role, at every setting.
  const std::string* refuted_alone(const Core& c, std::size_t role) const;
  /// Settings at which another core's motor gave back far more than this one can hold, and why.
  std::vector<std::pair<std::size_t, Refuted>> too_little_room(const Core& c) const;

  /// Settings, in the order that served best.
  const std::vector<std::size_t>& order(std::size_t space) const { return order_[space]; }
  Corners corners(std::size_t space, std::size_t setting) const {
    return hints_[space].corners(setting);
  }
  long count(std::size_t space) const { return hints_[space].lessons(); }
  /// Of each template the cheapest that failed; without a check where none did.
  const std::vector<NearMiss>& near_misses() const { return misses_; }

 private:
  void widen(const Core& c, std::size_t setting, Refuted& why);
  Design finest(const Core& c, std::size_t setting) const;

  const Brief& brief_;
  const std::vector<Assumed>& assumed_;
  const std::vector<Space>& spaces_;
  const SearchOptions& o_;
  // By space:
  std::vector<Conflicts> conflicts_;
  std::vector<Hints> hints_;
  std::vector<std::vector<std::size_t>> order_;
  std::vector<NearMiss> misses_;
  // How often such cores failed such a check.
  std::vector<std::map<std::tuple<std::size_t, std::string, std::string, Pick>, int>> alike_;
  std::vector<std::map<std::size_t, Refuted>> given_back_;  // by setting: failed for its energy
};

}  // namespace pb
