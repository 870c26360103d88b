// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a search may choose from: for every template the kinds of part that fit each role, cheapest
// first, and the settings. A candidate is one row of the catalogue a role; a pick is one kind a
// role, and stands for all candidates of these kinds, which no proof can tell apart. Resistors are
// kept apart: at a given value a kind differs from another in tolerance, rating and price only, so
// that one figure of a resistor can stand for all of them (see `finest`).
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "base/natural.h"
#include "judgement/cost.h"
#include "judgement/shelf.h"
#include "model/design.h"

namespace pb {

/// What became of the candidates of one template; the numbers add up to total.
struct SpaceCount {
  Natural total, screened;
  Natural grouped;  // pass as the cheapest of their kinds does, and are no cheaper
  Natural beyond_cost, failed, passed, undecided;
};

/// What may stand in a role: a kind of part, or nothing where the role is optional.
struct Choice {
  const Kind* kind;        // null: left out
  double cost = 0;         // what its cheapest row adds at the least: parts, placement, area
  std::uint64_t rows = 1;  // of the kind, with stock for the role's places

  const Part* part() const { return kind ? &kind->part() : nullptr; }
};

struct RoleChoices {
  const Role* role;
  int places;
  std::vector<Choice> list;  // rising cost
  Part finest{};             // resistors: least tolerance and greatest rating of the list in one
  int reel = 0;              // see reel_of()
  bool shares = false;       // orders with other roles, maybe: its set-up is not in its costs
  std::uint64_t rows = 0;    // of all choices
};

using Pick = std::vector<std::size_t>;  // one index a role

struct Space {
  const Template* wiring;
  std::vector<RoleChoices> roles;
  // Indices of roles. A resistor that may be left out is in both: there or not is the core's
  // matter (choice 0 or 1), which kind it is (1 or more) the resistors'. In the core what stands
  // across the rail comes last: what fails for its switches fails whatever that is.
  std::vector<std::size_t> core, resistors;
  std::vector<Settings> settings;
  SpaceCount count;
  bool usable = true;
  double base = 0;  // of bound()
};

/// Resistor values from the middle, the ends and the quarters of the template's lists, all at the
/// same place, for each sequence, stop and decay the brief leaves open.
std::vector<Settings> settings_of(const Brief& brief, const Template& wiring);

/// The shelf must outlive the space.
Space space_of(const Brief& brief, const Template& wiring, const Shelf& shelf, Buyer& buyer);

/// Takes kinds out of a space one of whose parts `screen` turns away, and counts them as screened.
void screen_out(Space& s, const std::function<bool(const Role&, const Part&)>& screen);

/// Never above the landed cost of the pick, and a sum over the roles.
double bound(const Space& s, const Pick& pick);
/// The same for a pick whose resistors are still open, with everything else at its landed cost:
/// never above the landed cost of any choice of resistors, and far nearer to it. It is a sum:
/// `core_cost` and what resistors add.
double sharp_bound(const Brief& brief, const Space& s, const Pick& pick, Buyer& buyer);
double core_cost(const Brief& brief, const Space& s, const Pick& pick, Buyer& buyer);
double resistors_add(const Brief& brief, const Space& s, const Pick& pick);

/// A pick with the rows that make it cheapest.
struct Bought {
  std::vector<const Part*> row;  // by role; null where it is left out
  std::vector<CostLine> lines;   // of those that are not
  bool all = true;               // false: stocks do not reach that far
};
Bought bought(const Space& s, const Pick& pick, Buyer& buyer);

/// Infinite where stocks do not reach that far.
double cost_of(const Brief& brief, const Space& s, const Pick& pick, Buyer& buyer);

/// Candidates of the kinds of a pick.
Natural rows_of(const Space& s, const Pick& pick);
/// Candidates of a pick whose resistors are open, and of whose core only the first `depth` roles
/// are chosen.
Natural rows_below(const Space& s, const Pick& pick, std::size_t depth);
/// Whether two picks agree in the first `depth` roles of the core: in rows of resistors they may
/// differ.
bool agree(const Space& s, const Pick& a, const Pick& b, std::size_t depth);
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
