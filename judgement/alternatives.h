// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Second sources: other rows of the catalogue with the same footprint and class that pass the same
// full proof when swapped in wherever the number stands; and values that could be one, with what
// one reel less saves. A proof takes seconds, so only so many are tried: the cheapest first,
// numbers without a second source before others; how many were left is said. Tested by
// tests/slow/alternatives.cpp.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "judgement/effort.h"
#include "judgement/proof.h"

namespace pb {

/// What is said of a changed design.
struct TrialOutcome {
  bool tried = false;
  bool proven = false;        // by a whole proof, or by a corner at which it fails; else by a trial
  bool passes = false;        // what was run of it
  std::string fails;          // the check and its subject, or what is undecided
  double margin = kNotGiven;  // the tightest
};

/// `before`: the proof of the design as it was, whose tightest corners are tried first.
TrialOutcome outcome_of(const Design& changed, const Proof& before, const Effort& effort);

/// A change of the design, and what its proof says.
struct Trial : TrialOutcome {
  std::string replaces;            // the number; empty where only values change
  Part part;                       // swapped in
  std::vector<std::string> roles;  // whose part, or whose value, changes
  double ohm = kNotGiven;          // the value they get
  // Of a good board with the change, every value of a resistor a reel; not given without a price.
  double landed_cost = kNotGiven;
  double saves = 0;  // of the landed cost; below nothing where it costs more
};

/// Roles of one row of the catalogue with different values, two by two: either's value for both,
/// only priced so far. What saves most comes first; so many at the most.
std::vector<Trial> shared_values(const Design& design, int most);
void try_it(Trial& trial, const Design& design, const Proof& proof, const Effort& effort);

/// Of changes that are proven to pass and to save something, the cheapest; null if there is none.
template <class Change>
const Change* cheapest_saving(const std::vector<Change>& trials) {
  const Change* out = nullptr;
  for (const Change& t : trials)
    if (t.proven && t.passes && t.saves > 0 && (!out || t.landed_cost < out->landed_cost)) out = &t;
  return out;
}

struct Alternatives {
  std::vector<Trial> parts, values;
  int left = 0;  // rows of the same footprint and class that were not tried
};

struct AlternativesOptions {
  int most = 8;         // proofs of parts
  int most_values = 2;  // proofs of values
  Effort effort{};
  std::function<void(double)> progress{};  // 0 to 1; may be empty
};

/// `proof`: of the design itself, whose corners are tried first.
Alternatives alternatives_of(const Design& design, const Proof& proof,
                             const std::vector<Part>& catalogue,
                             const AlternativesOptions& options);

}  // namespace pb
