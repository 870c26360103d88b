// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a search may choose from: for every template the parts that fit each role, cheapest first,
// and the settings. A candidate is one choice a role. Resistors are kept apart: at a given value a
// row differs from another in tolerance, rating and price only, so that one figure of a resistor
// can stand for all of them (see `finest`).
#pragma once

#include <map>
#include <string>
#include <vector>

#include "judgement/cost.h"
#include "model/design.h"

namespace pb {

/// What became of the candidates of one template; the numbers add up to total.
struct SpaceCount {
  double total = 0, screened = 0, grouped = 0, beyond_cost = 0, failed = 0, passed = 0,
         undecided = 0;
};

/// What may stand in a role: a part, or nothing where the role is optional.
struct Choice {
  const Part* part;  // null: left out
  double cost;       // what it adds at the least: parts, placement, area
};

struct RoleChoices {
  const Role* role;
  int places;
  std::vector<Choice> list;  // rising cost
  Part finest;               // resistors: least tolerance and greatest rating of the list in one
};

using Pick = std::vector<std::size_t>;  // one index a role

struct Space {
  const Template* wiring;
  std::vector<RoleChoices> roles;
  // Indices of roles. A resistor that may be left out is in both: there or not is the core's
  // matter (choice 0 or 1), which row it is (1 or more) the resistors'.
  std::vector<std::size_t> core, resistors;
  std::vector<Settings> settings;
  SpaceCount count;
  std::map<std::string, double> screened_by;  // check id -> parts turned away
  bool usable = true;
  double base = 0;  // of bound()
};

Space space_of(const Brief& brief, const Template& wiring, const std::vector<Part>& parts);

/// Never above the landed cost of the pick, and a sum over the roles.
double bound(const Space& s, const Pick& pick);
/// The same for a pick whose resistors are still open, with everything else at its landed cost:
/// never above the landed cost of any choice of resistors, and far nearer to it.
double sharp_bound(const Brief& brief, const Space& s, const Pick& pick);
std::vector<CostLine> lines_of(const Space& s, const Pick& pick);
/// Candidates that differ from the core's pick in rows of resistors only, itself included.
double resistor_choices(const Space& s, const Pick& core);
/// Whether the candidate differs from the core's pick in rows of resistors only.
bool is_core_of(const Space& s, const Pick& core, const Pick& candidate);
/// Choices of a role that a core may make.
std::size_t core_choices(const Space& s, std::size_t role);
bool is_resistor(const RoleChoices& role);

/// The pick with most going for it, whatever it costs: where a search starts that looks for any
/// design that passes.
Pick generous(const Brief& brief, const Space& s, bool with_optional);

enum class Resistors { picked, finest };
Design design_of(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                 const Pick& pick, const Settings& settings, Resistors resistors);

}  // namespace pb
