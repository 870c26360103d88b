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

struct World {
  Brief brief;
  std::vector<Template> templates;
  std::vector<Part> parts;
};

struct WorldSize {
  int templates = 3;       // of single parts
  int chips = 1;           // wirings of driver chips
  int switches = 4;        // rows a class
  int others = 2;          // rows of capacitors and needed diodes
  int resistors = 2;       // rows
  int resistor_roles = 3;  // templates with more of them are left out
  bool optional = false;   // diodes and zeners for optional roles too
  int values = 1;          // of each resistor role's list
  std::string sequence = "two-phase";
};

/// The same arguments give the same world.
World small_world(std::uint64_t seed, const WorldSize& size);

/// One choice a role of one template.
struct Candidate {
  const Template* wiring = nullptr;
  std::map<std::string, const Part*> parts;  // role -> part; roles left out are absent
  double landed_cost = 0;
};

/// Every choice of parts for every role, cheapest first. Nothing is screened.
std::vector<Candidate> all_candidates(const World& w, const std::vector<const Template*>& wirings);

/// Proves candidates one by one, with no knowledge of any other: at every setting, at nominal, at
/// corners that refuted others, and by the whole proof where those do not refute.
class Prover1x1 {
 public:
  explicit Prover1x1(const World& w) : world_(w) {}
  /// Whether some setting passes the whole proof.
  bool passes(const Candidate& c);

  long proven() const { return proven_; }    // candidates at a setting, without repeats
  long passing() const { return passing_; }  // of those
  long wholes() const { return wholes_; }    // for which the whole proof was needed

 private:
  bool passes(const Design& d);

  const World& world_;
  std::map<std::string, bool> known_;  // by what the physics sees of a design
  std::vector<std::map<std::string, std::string>> corners_;
  long proven_ = 0, passing_ = 0, wholes_ = 0;
};

}  // namespace pb::test
