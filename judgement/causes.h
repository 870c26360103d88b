// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What may be wrong on a bench when a capture leaves the band: one row a cause. A new cause is one
// line of candidates_of(). Tested through judgement/compare.h.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "model/design.h"
#include "physics/spread.h"

namespace pb {

/// A design and a point that a cause may change, and how the probes see its windings: what probe k
/// reads is the sum of see[k][w] times the current of winding w.
struct Variant {
  Design design;
  physics::Point point;
  double see[2][2] = {{1, 0}, {0, 1}};
};

struct Candidate {
  std::string key, unit;
  double nominal = 0;
  std::vector<double> trials;  // rising; a single one: the cause is there or it is not
  std::function<void(Variant&, double)> apply;
};

std::vector<Candidate> candidates_of(const Design& design,
                                     const std::vector<physics::Spread>& spreads);

}  // namespace pb
