// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The search for the cheapest design that passes. Candidates are visited by rising floor cost;
// every one whose floor is below the winner's landed cost is screened out or proven not to pass, or
// else "nothing cheaper" is not claimed. What refutes one candidate refutes every other that shares
// what the failed check read (conflicts.h), which is how a few hundred proofs answer for billions.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "judgement/cost.h"
#include "judgement/proof.h"
#include "judgement/space.h"

namespace pb {

struct Refuted;

/// What tests plant to see that they would notice a search that rejects too much. All empty in use.
struct Planted {
  std::function<bool(const Role&, const Part&)> screen;  // true: its kind is turned away
  std::function<void(Refuted&)> refuted;                 // what is learnt from a failure
};

struct SearchProgress {
  long judged = 0;              // cores, each with all its resistors and settings
  double floor = 0;             // below it everything is proven or refuted, but for the undecided
  double cheapest = kNotGiven;  // that passes so far
  long undecided = 0;           // cores
};

struct SearchOptions {
  int top = 5;  // designs that differ in template, switch or diode
  ParallelFor parallel = serial();
  StopToken stop;
  /// Wall time is the caller's to watch. Once true, the search ends with what it has.
  std::function<bool()> out_of_time;
  /// Empty: the `top` cheapest are found, whatever it takes. Else none is waited for but the
  /// cheapest: runners-up are looked for among its neighbours until this is true.
  std::function<bool()> enough;
  /// Once true, and nothing found yet, a dearer design is looked for from the other end, to have
  /// one to show and to measure the rest by.
  std::function<bool()> fall_back;
  std::function<void(const SearchProgress&)> progress;
  Planted planted;
};

struct Ranked {
  Design design;
  Proof proof;
  Cost cost;
  double floor = 0;
};

/// Per template: the cheapest candidate that failed, and why.
struct NearMiss {
  std::string template_title, check_id, subject;
  double value = 0, limit = 0, floor = 0;
  std::string unit, part;                       // part: number of the driver chip, if it has one
  Design design{};                              // with the finest resistors
  std::map<std::string, std::string> corner{};  // where it failed
};

/// A driver that can be bought whole, priced and proven as any other.
struct ChipOffer {
  std::string number, kind;  // kind: the wiring's title
  double landed_cost = 0;    // of a good board with it
  bool passes = false;
  std::string why;  // what the cheapest of its kind fails on; empty if it passes
  Design design{};  // if it passes
  Proof proof{};    // of it
};

struct SearchResult {
  std::vector<Ranked> designs;   // of single parts, cheapest first
  std::vector<Ranked> further;   // proven on the way, dearer than those
  std::vector<ChipOffer> chips;  // those that pass, cheapest first, then the kinds that do not
  bool nothing_cheaper = false, cancelled = false;
  std::string claim;
  std::vector<std::string> undecided;
  std::map<std::string, SpaceCount> space;  // template id
  std::map<std::string, Natural> rejected;  // check id -> candidates
  std::vector<NearMiss> near_misses;
  /// The brief asks what no driver can give: which key makes it so.
  std::string impossible_key, impossible_why;
};

/// Whether a chip that passes costs less than the cheapest design that passes.
bool chip_wins(const SearchResult& result);

/// Drivers of single parts and drivers to be bought are searched apart: each has its own cheapest.
SearchResult search(const Brief& brief, const std::vector<Assumed>& assumed,
                    const std::vector<Template>& templates, const std::vector<Part>& parts,
                    const SearchOptions& options);

}  // namespace pb
