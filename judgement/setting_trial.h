// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a search asks of one pick at one setting: a quick trial with the finest resistors, which can
// only refute and begins where others of the template failed or nearly did; or the whole proof.
// Tested by tests/slow/search_soundness.cpp.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "judgement/conflicts.h"
#include "judgement/proof.h"
#include "judgement/search.h"

namespace pb {

using Corners = std::vector<std::map<std::string, std::string>>;

/// Corners of the tightest checks of one template's proofs: the next candidates are tried there
/// before anything else. First where the last one failed at the same setting.
class Hints {
 public:
  Corners corners(std::size_t setting) const;
  long lessons() const { return lessons_; }  // how often it grew
  void remember(const Proof& proof);
  void remember(std::size_t setting, const Refuted& why);
  /// A corner to begin with, before any proof.
  void expect(std::map<std::string, std::string> corner) { corners_.push_back(std::move(corner)); }

 private:
  Corners corners_;
  std::map<std::size_t, std::map<std::string, std::string>> killers_;  // by setting
  long lessons_ = 0;
};

/// One setting of one core, tried.
struct SettingTrial {
  std::size_t setting = 0;
  std::optional<Refuted> refuted;
  std::string undecided;  // why
  /// By role: a resistor of a lesser rating fails, whatever the other resistors.
  std::vector<double> least_rating_W;
  long lessons = 0;  // of its template, known when it was made
  bool passes() const { return !refuted && undecided.empty(); }
};

/// With the finest resistors: what fails with them fails with any. Depth::trial runs nominal and
/// the corners: quick, and no proof that it passes.
SettingTrial try_setting(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                         const Pick& pick, std::size_t setting, Depth depth, const Corners& corners,
                         const SearchOptions& options);

/// The whole proof; or that it fails at one of these corners, which is found sooner.
Proof prove_pick(const Design& design, const Corners& first, const SearchOptions& options);

}  // namespace pb
