// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/pairs.h"

#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include "base/check.h"
#include "judgement/screens.h"
#include "model/pair.h"

namespace pb {
namespace {

std::string class_at(const Design& d, const std::string& ref) {
  const Place* place = find_place(d.wiring, ref);
  PB_CHECK(place != nullptr, ref);
  const auto part = d.parts.find(place->role);
  return part == d.parts.end() ? "" : part->second.part_class;
}

const PartClass* pair_of(const std::string& one, const std::string& other) {
  for (const PartClass& c : part_classes())
    if ((c.halves[0] == one && c.halves[1] == other) ||
        (c.halves[0] == other && c.halves[1] == one))
      return &c;
  return nullptr;
}

/// The plan with those places, if there is such a class and the roles have no others.
std::optional<PairPlan> plan_of(const Design& d,
                                const std::vector<std::array<std::string, 2>>& places) {
  if (places.empty()) return std::nullopt;
  const PartClass* c = pair_of(class_at(d, places[0][0]), class_at(d, places[0][1]));
  if (!c) return std::nullopt;
  PairPlan out{std::string(c->name), {}, {}};
  std::set<std::string> refs, roles;
  for (auto [one, other] : places) {
    if (class_at(d, one) != c->halves[0]) std::swap(one, other);
    if (class_at(d, one) != c->halves[0] || class_at(d, other) != c->halves[1]) return std::nullopt;
    for (const std::string& ref : {one, other}) {
      refs.insert(ref);
      roles.insert(find_place(d.wiring, ref)->role);
    }
    out.places.push_back({one, other});
  }
  const auto of_roles = std::ranges::count_if(
      d.wiring.places, [&](const Place& p) { return roles.contains(p.role); });
  if (refs.size() != 2 * places.size() || static_cast<std::size_t>(of_roles) != refs.size())
    return std::nullopt;
  out.roles.assign(roles.begin(), roles.end());
  return out;
}

const Leg* leg_of(const Template& t, const std::string& output) {
  const auto leg = std::ranges::find_if(t.legs, [&](const Leg& l) { return l.output == output; });
  return leg == t.legs.end() ? nullptr : &*leg;
}

/// The same side of the two legs of each winding.
std::vector<std::array<std::string, 2>> across(const Template& t,
                                               std::vector<std::string> Leg::* side) {
  std::vector<std::array<std::string, 2>> out;
  for (const auto* winding : {&t.winding_a, &t.winding_b}) {
    const Leg* from = leg_of(t, winding->front());
    const Leg* to = leg_of(t, winding->back());
    if (!from || !to || (from->*side).size() != 1 || (to->*side).size() != 1) return {};
    out.push_back({(from->*side)[0], (to->*side)[0]});
  }
  return out;
}

std::vector<std::array<std::string, 2>> within_legs(const Template& t) {
  std::vector<std::array<std::string, 2>> out;
  for (const Leg& l : t.legs) {
    if (l.high.size() != 1 || l.low.size() != 1) return {};
    out.push_back({l.high[0], l.low[0]});
  }
  return out;
}

bool alike(const Part& a, const Part& b) {
  return a.part_class == b.part_class &&
         std::ranges::equal(a.figures, b.figures,
                            [](double x, double y) { return x == y || (!given(x) && !given(y)); });
}

/// The half that stands in a role; nothing where the role would hold two that differ.
std::optional<Part> half_in(const Design& d, const PairPlan& plan, const Part& pair,
                            const std::string& role) {
  std::optional<Part> out;
  for (const auto& refs : plan.places)
    for (std::size_t k = 0; k < refs.size(); ++k) {
      if (find_place(d.wiring, refs[k])->role != role) continue;
      Part half = half_of(pair, k);
      if (out && !alike(*out, half)) return std::nullopt;
      out = std::move(half);
    }
  return out;
}

bool can_stand(const Design& d, const PairPlan& plan, const Part& pair) {
  const CostLine line{&pair, static_cast<int>(plan.places.size())};
  if (pair.part_class != plan.pair_class || pair.lifecycle == "obsolete" ||
      !missing_figures(pair).empty() || !cost_faults(d.brief, {line}).empty() ||
      !in_stock(d.brief, line))
    return false;
  return std::ranges::all_of(plan.roles, [&](const std::string& role) {
    const std::optional<Part> half = half_in(d, plan, pair, role);
    return half && screened_by({d.brief, d.wiring, *find_role(d.wiring, role)}, *half).empty();
  });
}

}  // namespace

std::vector<PairPlan> pair_plans(const Design& d) {
  std::vector<PairPlan> out;
  for (const auto& places :
       {within_legs(d.wiring), across(d.wiring, &Leg::high), across(d.wiring, &Leg::low)})
    if (auto plan = plan_of(d, places)) out.push_back(std::move(*plan));
  return out;
}

Design with_pair(const Design& design, const PairPlan& plan, const Part& pair) {
  Design out = design;
  for (const std::string& role : plan.roles) {
    auto half = half_in(design, plan, pair, role);
    PB_CHECK(half.has_value(), pair.number, role);
    out.parts[role] = std::move(*half);
  }
  for (const auto& refs : plan.places) out.shared.push_back({refs, mutual_K_W(pair)});
  return out;
}

std::vector<CostLine> lines_with_pair(const Design& design, const PairPlan& plan,
                                      const Part& pair) {
  std::vector<CostLine> out = cost_lines(design);
  std::erase_if(out, [&](const CostLine& line) {
    return std::ranges::any_of(
        plan.roles, [&](const std::string& role) { return line.part == &design.parts.at(role); });
  });
  out.push_back({&pair, static_cast<int>(plan.places.size())});
  return out;
}

std::vector<PairTrial> pair_trials(const Design& design, const Proof& proof, const PairPlan& plan,
                                   const std::vector<Part>& catalogue, const Effort& effort) {
  constexpr std::size_t kTries = 2;
  const double now = landed_cost(design.brief, cost_lines(design)).total;
  std::vector<PairTrial> rows;
  for (const Part& p : catalogue) {
    if (!can_stand(design, plan, p)) continue;
    PairTrial t;
    t.plan = plan, t.pair = p;
    t.landed_cost = landed_cost(design.brief, lines_with_pair(design, plan, p)).total;
    t.saves = now - t.landed_cost;
    rows.push_back(std::move(t));
  }
  std::ranges::stable_sort(rows, {}, &PairTrial::landed_cost);
  std::vector<PairTrial> out;
  for (PairTrial& t : rows) {
    static_cast<TrialOutcome&>(t) = outcome_of(with_pair(design, plan, t.pair), proof, effort);
    const bool last = t.passes || !t.tried;
    if (t.tried || out.empty()) out.push_back(std::move(t));
    if (last || out.size() == kTries) break;
  }
  return out;
}

}  // namespace pb
