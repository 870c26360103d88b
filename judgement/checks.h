// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The registry of checks: one row an id. A check reads figures off the evidence and states value,
// limit and what the number rests on. docs/checks.md lists them.
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "judgement/evidence.h"

namespace pb {

/// The same number from a closed form, of the brief's and the parts' figures alone: never of the
/// waveform it stands beside. No formula: there is none.
struct Hand {
  std::string formula;
  double value = 0;
};

/// One number of one check.
struct Measured {
  std::string subject;
  double value, limit;
  Grade grade;
  Hand hand = {};
  std::map<std::string, double> facts = {};
};

/// What a check needs: the usual runs; the search for the torque carried; the scan, or the
/// patterns of the pins as well; or nothing but figures, which alone have no numerical allowance.
enum class Reads { waveform, torque, scan, patterns, figures };

/// What a value may be off by, as a share of it: at the usual tolerances of a run, and at a tenth
/// of them.
struct Accuracy {
  double usual, sharp;
};
/// Means, temperatures and levels.
inline constexpr Accuracy kOfRuns{1e-3, 1e-4};
/// Peaks, and what flows through a leg at its edges; tests/slow/peaks.cpp holds them against runs
/// in finer steps.
inline constexpr Accuracy kOfPeaks{0.02, 0.005}, kOfEdges{0.03, 0.02};

struct CheckRow {
  std::string_view id, unit;
  Sense sense;
  Reads reads;
  std::string_view source;  // of the limit
  std::string_view help;
  std::vector<Measured> (*measure)(const Case&, const physics::Point&, const Evidence&);
  Accuracy accuracy = kOfRuns;
};

/// A bipolar switch that keeps more than 30 % of the supply is none: what is left below that is for
/// torque and heat to judge. Common practice, no source. [V]
inline double most_bipolar_drop_V(const Brief& brief) { return 0.3 * brief.supply.voltage_V; }

std::span<const CheckRow> check_rows();
/// Null if there is none.
const CheckRow* find_check(std::string_view id);
/// Of a move that a driver did not end because it oscillates by itself: by how much that turns on
/// switches that are meant to be off (gate_off), those that stay off not among them.
std::vector<Measured> turned_on_by_ringing(const Case& c, const physics::Point& point,
                                           const Evidence& e);
/// The fact of a check that says so.
inline constexpr const char* kOscillates = "oscillates_1";
/// The row that those are of.
const CheckRow& ringing_row();
/// Ids of the contract without a row: "not judged yet".
std::vector<std::string> ids_not_judged();
/// Whether a check is of the design as such, a count or a price: no unit and no corner changes it.
bool is_of_the_design(std::string_view id);
/// The check with the least margin, of those that a corner can change unless another fails: that
/// all of eight pins are used says nothing about how near the driver is to a limit. Null without
/// checks.
const Check* tightest(const Verdict& verdict);

}  // namespace pb
