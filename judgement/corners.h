// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a proof has found of each check so far, and which corners of the tolerances that says to run
// next: docs/checks.md. Tested by tests/unit/judgement_corners.cpp.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "judgement/checks.h"

namespace pb {

/// One sign a figure of the spread: -1 min, 0 typ, +1 max.
using Signs = std::vector<int>;

physics::Point point_of(const std::vector<physics::Spread>& spreads, const Signs& signs);

/// How a number was come by.
enum class By { means, edges, small_steps };

struct Found {
  const CheckRow* row = nullptr;
  Measured worst;
  double nominal = 0;
  Signs signs;                // of the worst
  std::vector<double> slope;  // change of margin for +1 of each figure
  std::size_t order = 0;
  By by = By::edges;
  double accuracy = 0;  // of the value
  /// Both supplies moved at once, where that costs more than each alone; empty: nowhere.
  Signs joint{};
  double joint_margin = 0;  // there
};
using Findings = std::map<std::pair<std::string, std::string>, Found>;  // by id and subject

double margin(const Found& f);
/// What the numerics may be wrong by, as a share of the limit.
double allowance(const Found& f);

/// Sums in another order differ in the last digits; what a verdict promises stands well before.
inline constexpr double kLastDigit = 1e-9;

/// By margin; equal ones by what they depend on, never by the subject's name: which corners are run
/// must not depend on how the parts are called.
bool tighter(const Found* a, const Found* b);

/// The side on which a figure has an end at all, the upper one if both; 0: it does not vary.
int far_end(const physics::Spread& s);

/// The supply low and the logic high, and the other way round. Whether a follower saturates or a
/// transistor at the rail turns off hangs on their difference: what neither does alone, both may
/// do.
std::vector<Signs> rails_apart(const std::vector<physics::Spread>& spreads);

/// Notes for a check what its margin is with both supplies at these ends, its slopes about nominal
/// being known, if that is less than each by itself can make it.
void note_joint(Found& f, double nominal_margin, const Signs& rails, double margin_there);

/// The corners of all checks, tightest first, those without contradiction as one. A check's: each
/// figure to the side that lowers its margin, the supplies to where both at once do; figures
/// without effect stay typical.
std::vector<Signs> distinct_corners(const Findings& found);

/// Single flips about the corners of the tightest checks: where a slope's sign could mislead, a
/// neighbour is worse. Without those seen.
std::vector<Signs> flips(const Findings& found, const std::vector<physics::Spread>& spreads,
                         const std::vector<Signs>& seen);

}  // namespace pb
