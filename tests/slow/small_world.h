// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Catalogues drawn at random, small enough that every candidate can be proven one by one, and that
// proving: what the search is held against.
//
// A world has a brief of a small motor, some shipped templates and a few parts a class. Parts are
// rows of the starter catalogue with figures moved, some ratings moved to where they just do or
// just do not, some rows equal in figures or in price, breaks that only several roles together
// reach.
#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "judgement/chips.h"
#include "judgement/search.h"

namespace pb::test {

constexpr double kSame = 1e-9;  // of a cost: sums in another order

struct World {
  Brief brief;
  std::vector<Template> templates;
  std::vector<Part> parts;
};

struct WorldSize {
  int templates = 3;  // of single parts
  int chips = 1;      // wirings of driver chips
  int switches = 4;   // rows a class
  int others = 2;     // rows of capacitors and needed diodes
  int resistors = 2;  // rows
  // How many of a class's rows differ in figures; the others are of another seller.
  int switch_kinds = 9, other_kinds = 9, resistor_kinds = 9;
  int resistor_roles = 3;  // templates with more of them are left out
  bool optional = false;   // diodes and zeners for optional roles too
  int values = 1;          // of each resistor role's list
  // Some tolerances of the brief are nothing, for fewer corners to a proof; and parts are drawn
  // anew until those with most going for them work together.
  bool lean = false;
  double exact = 0;  // share of the tolerances that are nothing; at one, the ambient is as well
  int draws = 6;     // of the parts, at the most
  double steps = 4;  // of a move
  std::string sequence = "two-phase";
};

/// The same arguments give the same world.
World small_world(std::uint64_t seed, const WorldSize& size);

/// One choice a role of one template, at one of its settings.
struct Candidate {
  const Template* wiring = nullptr;
  std::vector<const Part*> parts;  // by role; null where it is left out
  std::size_t setting = 0;         // of settings_of()
  double landed_cost = 0;
};

/// Every choice of parts for every role at every setting that is in stock, cheapest first. Nothing
/// is screened.
std::vector<Candidate> all_candidates(const World& w, const std::vector<const Template*>& wirings);

/// Proves candidates one by one, with no knowledge of any other but of corners that refuted them:
/// a candidate fails at one of these, or the whole proof decides.
class Prover1x1 {
 public:
  explicit Prover1x1(const World& w) : world_(w) {}
  bool passes(const Candidate& c);
  /// Whether the whole proof of just this is known to have passed.
  bool known_to_pass(const Candidate& c) const;
  /// What a whole proof said that somebody else has made.
  void remember(const Design& d, const Verdict& of_the_whole);

  long proven() const { return proven_; }  // of what the physics tells apart
  long wholes() const { return wholes_; }  // for which the whole proof was needed

 private:
  bool passes(const Design& d);
  Design design_of(const Candidate& c) const;

  const World& world_;
  std::map<std::string, bool> known_;                        // by what the physics sees of a design
  std::vector<std::map<std::string, std::string>> corners_;  // the last that refuted comes first
  long proven_ = 0, wholes_ = 0;
};

}  // namespace pb::test
