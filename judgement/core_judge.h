// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a search does with one core: tries it at settings, proves it with resistors it can be built
// with, keeps what passes, and learns from what does not. Which core comes next is the search's to
// say. Tested by tests/slow/search_soundness.cpp.
#pragma once

#include <functional>
#include <limits>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "judgement/account.h"
#include "judgement/frontier.h"
#include "judgement/lessons.h"
#include "judgement/resistor_picks.h"
#include "judgement/search.h"
#include "judgement/setting_trial.h"

namespace pb {

inline constexpr double kNoCost = std::numeric_limits<double>::infinity();

class CoreJudge {
 public:
  /// All of these must outlive it. `rival`: landed cost of the cheapest chip that passes, where one
  /// is known.
  CoreJudge(const Brief& brief, const std::vector<Assumed>& assumed, std::vector<Space> spaces,
            Buyer& buyer, const SearchOptions& options, double rival);
  CoreJudge(const CoreJudge&) = delete;
  CoreJudge& operator=(const CoreJudge&) = delete;

  bool late() const { return o_.stop.stop_requested() || (o_.out_of_time && o_.out_of_time()); }
  /// Below this floor nothing may be left over: the winner's cost, or the K-th best's where none of
  /// them may be missed. Where nothing passes yet and there is no time for what nobody would buy,
  /// the rival's.
  double ceiling() const;
  /// Of the cheapest design that passes with the switches and diodes of a core.
  double cost_of_driver(const Core& c) const;
  /// Of a core, by what its parts cost together.
  double sharp_floor(const Core& c) const;

  SettingTrial try_setting(const Core& c, std::size_t setting, Depth depth) const;
  /// Settings in the order that served this template best, up to the first that passes a trial, or
  /// the first alone; without those that are over with.
  std::vector<SettingTrial> try_settings(const Core& c, const std::set<std::size_t>& over,
                                         bool first_alone = false) const;
  /// Whether something known refutes it, or resting states alone refute every setting of it.
  bool refuted_early(const Core& c);
  /// A choice that fails by itself at every setting is struck.
  void learn(const Core& c, std::size_t setting, Refuted why);

  /// Resistors for a core that passed a trial, cheapest first: the landed cost of the first that
  /// passes, or `below` if none of those below it does. `unclear`: why, where that stays undecided.
  double prove_cheapest(const Core& c, const SettingTrial& trial, double below,
                        std::string& unclear);
  ResistorPicks picks_of(const Core& c, double below, const std::vector<double>& least_W) const;

  const std::vector<Space>& spaces() const { return spaces_; }
  const Space& space_of(const Core& c) const { return spaces_[c.space]; }
  const Lessons& lessons() const { return lessons_; }
  Account& account() { return account_; }
  Frontier& frontier() { return frontier_; }
  /// What passes, cheapest first.
  std::vector<Ranked> found;
  /// Runners-up are looked for: none of them may be missed, whatever is waited for.
  bool looks_beside = false;
  std::function<void()> on_pass;

 private:
  SettingTrial try_setting(const Core& c, std::size_t setting, Depth depth,
                           const Corners& corners) const;
  bool refuted_at_rest(const Core& c);
  bool accept(const Core& c, const Pick& pick, std::size_t setting, std::string& unclear,
              Corners& where);
  void keep(std::size_t space, const Pick& pick, Ranked r);

  const Brief& brief_;
  const std::vector<Assumed>& assumed_;
  const SearchOptions& o_;
  const double rival_;
  Buyer& buyer_;
  std::vector<Space> spaces_;
  Lessons lessons_;
  Account account_;
  Frontier frontier_;
  std::map<std::pair<std::size_t, Pick>, double> drivers_;  // the cheapest that passes of each
};

}  // namespace pb
