// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Second sources: other rows of the catalogue with the same footprint and class that pass the same
// full proof when swapped in wherever the number stands; and values that could be one. A proof
// takes seconds, so only so many are tried: the cheapest first, numbers without a second source
// before others; how many were left is said. Tested by tests/unit/judgement_alternatives.cpp.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "judgement/proof.h"

namespace pb {

/// A change of the design, and what its proof says.
struct Trial {
  std::string replaces;            // the number; empty where only values change
  Part part;                       // swapped in
  std::vector<std::string> roles;  // whose part, or whose value, changes
  double ohm = kNotGiven;          // the value they get
  bool passes = false;
  std::string fails;          // the check and its subject, or what is undecided
  double margin = kNotGiven;  // the tightest
};

struct Alternatives {
  std::vector<Trial> parts, values;
  int left = 0;  // rows of the same footprint and class that were not tried
};

struct AlternativesOptions {
  int most = 8;         // proofs of parts
  int most_values = 2;  // proofs of values
  ParallelFor parallel = serial();
  StopToken stop{};
  std::function<void(double)> progress{};  // 0 to 1; may be empty
};

/// `proof`: of the design itself, whose corners are tried first.
Alternatives alternatives_of(const Design& design, const Proof& proof,
                             const std::vector<Part>& catalogue,
                             const AlternativesOptions& options);

}  // namespace pb
