// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A verdict: the list of checks with their numbers.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace pb {

enum class Sense { max, min };
/// What a number rests on: guaranteed data-sheet limits, a model, an assumption.
enum class Grade { guaranteed, modelled, assumed };

constexpr const char* letter(Grade grade) {
  switch (grade) {
    case Grade::guaranteed:
      return "G";
    case Grade::modelled:
      return "M";
    case Grade::assumed:
      break;
  }
  return "A";
}

/// What a check hangs on: the change of its margin when this figure goes from typical to the end
/// of its tolerance named by `end`.
struct Input {
  std::string figure, end;
  double margin_change = 0;
};

struct Check {
  std::string id, subject, unit;
  double value = 0, nominal = 0, limit = 0;
  Sense sense = Sense::max;
  double margin = 0;  // (limit-value)/|limit| for max, (value-limit)/|limit| for min
  bool passes = false;
  Grade grade = Grade::modelled;
  std::map<std::string, std::string> corner;  // figure -> "min" "typ" "max"
  double allowance = 0;                       // numerical, in the value's unit
  std::string hand_formula;
  double hand_value = 0;
  std::string source, help;
  std::map<std::string, double> facts;
  std::vector<Input> inputs;  // the strongest three at most, strongest first

  /// By more than the numerics may be wrong by: a sharper run would not change it.
  bool fails_clearly() const { return margin * (limit < 0 ? -limit : limit) < -allowance; }
};

struct Verdict {
  bool passes = false;
  double energy_residual = 0;  // of throughput
  std::vector<Check> checks;
  std::vector<std::string>
      not_judged;                      // ids of the contracts not judged yet, never silently absent
  std::vector<std::string> undecided;  // what kept the proof from finishing
};

inline double margin_of(Sense sense, double value, double limit) {
  const double room = sense == Sense::max ? limit - value : value - limit;
  return room / (limit < 0 ? -limit : limit);
}

}  // namespace pb
