// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/core_judge.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "judgement/rank.h"

namespace pb {

CoreJudge::CoreJudge(const Brief& brief, const std::vector<Assumed>& assumed,
                     std::vector<Space> spaces, Buyer& buyer, const SearchOptions& options,
                     double rival)
    : brief_(brief),
      assumed_(assumed),
      o_(options),
      rival_(rival),
      buyer_(buyer),
      spaces_(std::move(spaces)),
      lessons_(brief, assumed, spaces_, options),
      account_(spaces_),
      frontier_(
          spaces_,
          [this](std::size_t space, const Pick& pick, std::size_t depth) {
            return lessons_.refuted(space, pick, depth);
          },
          [this](std::size_t space, const Pick& pick, std::size_t depth, const std::string& check) {
            account_.fail(space, check, account_.new_below(space, pick, depth));
          }) {}

double CoreJudge::ceiling() const {
  const bool winner_alone = o_.enough && !looks_beside;
  const std::size_t wanted = winner_alone ? 1 : static_cast<std::size_t>(std::max(o_.top, 1));
  const std::vector<std::size_t> own = distinct(found);
  if (own.size() >= wanted) return found[own[wanted - 1]].cost.total;
  const bool enough = o_.enough && o_.enough();
  return enough && own.empty() ? rival_ : kNoCost;
}

double CoreJudge::cost_of_driver(const Core& c) const {
  const auto known = drivers_.find({c.space, driver_of(spaces_[c.space], c.pick)});
  return known == drivers_.end() ? kNoCost : known->second;
}

double CoreJudge::sharp_floor(const Core& c) const {
  return sharp_bound(brief_, spaces_[c.space], c.pick, buyer_);
}

SettingTrial CoreJudge::try_setting(const Core& c, std::size_t setting, Depth depth,
                                    const Corners& corners) const {
  SettingTrial t =
      pb::try_setting(brief_, assumed_, spaces_[c.space], c.pick, setting, depth, corners, o_);
  t.lessons = lessons_.count(c.space);
  return t;
}

SettingTrial CoreJudge::try_setting(const Core& c, std::size_t setting, Depth depth) const {
  return try_setting(c, setting, depth, lessons_.corners(c.space, setting));
}

std::vector<SettingTrial> CoreJudge::try_settings(const Core& c, const std::set<std::size_t>& over,
                                                  bool first_alone) const {
  std::vector<SettingTrial> out;
  Conflicts own;  // what this core has taught itself
  const Space& s = spaces_[c.space];
  for (std::size_t k : lessons_.order(c.space)) {
    if (over.contains(k) || lessons_.fails(c, k) || own.find(c.pick, s.core.size(), k)) continue;
    if (late()) break;
    out.push_back(try_setting(c, k, Depth::trial));
    if (out.back().passes() || first_alone) break;
    if (out.back().refuted) own.learn(s, c.pick, k, *out.back().refuted);
  }
  return out;
}

bool CoreJudge::refuted_early(const Core& c) {
  for (auto& [setting, why] : lessons_.too_little_room(c)) learn(c, setting, std::move(why));
  return lessons_.refuted(c) || refuted_at_rest(c);
}

/// One setting after the other, since each teaches most about the next.
bool CoreJudge::refuted_at_rest(const Core& c) {
  for (std::size_t k : lessons_.order(c.space)) {
    if (lessons_.fails(c, k)) continue;
    const SettingTrial t = late() ? SettingTrial{} : try_setting(c, k, Depth::standing);
    if (!t.refuted) return false;
    learn(c, k, *t.refuted);
  }
  return true;
}

void CoreJudge::learn(const Core& c, std::size_t setting, Refuted why) {
  why = lessons_.learn(c, setting, std::move(why));
  if (std::count(why.roles.begin(), why.roles.end(), true) != 1) return;
  const auto role = static_cast<std::size_t>(std::find(why.roles.begin(), why.roles.end(), true) -
                                             why.roles.begin());
  if (frontier_.is_struck(c.space, role, c.pick[role])) return;
  if (const std::string* check = lessons_.refuted_alone(c, role))
    frontier_.strike(c.space, role, c.pick[role], *check);
}

double CoreJudge::prove_cheapest(const Core& c, const SettingTrial& trial, double below,
                                 std::string& unclear) {
  std::vector<double> least_W = trial.least_rating_W;
  std::set<Pick> tried;
  constexpr int kBlamed = 4;  // choices of resistors, before all others are doubted
  Corners where;              // others failed
  int failed = 0;
  bool finest_passes = false;
  while (!late()) {
    const ResistorPicks picks = picks_of(c, std::min(below, ceiling()), least_W);
    const auto next = std::find_if(picks.by_cost.begin(), picks.by_cost.end(),
                                   [&](const auto& p) { return !tried.contains(p.second); });
    if (next == picks.by_cost.end()) {
      if (!picks.all) unclear = "more choices of resistors than were tried";
      return below;
    }
    tried.insert(next->second);
    if (accept(c, next->second, trial.setting, unclear, where)) {
      below = next->first;
      continue;  // there may be cheaper ones that were cut off before
    }
    // Resistors to blame, or anything else? The finest tell, at the corner where this failed; by
    // all their corners once others have failed as well.
    if (finest_passes) continue;
    SettingTrial t = try_setting(c, trial.setting, Depth::trial, where);
    const bool thorough = t.passes() && ++failed == kBlamed;
    if (thorough) t = try_setting(c, trial.setting, Depth::corners);
    if (t.refuted) learn(c, t.setting, *t.refuted);
    if (!t.undecided.empty()) unclear = t.undecided;
    if (!t.passes()) return below;
    finest_passes = thorough;
    for (std::size_t r = 0; r < least_W.size(); ++r)
      least_W[r] = std::max(least_W[r], t.least_rating_W[r]);
  }
  return below;
}

ResistorPicks CoreJudge::picks_of(const Core& c, double below,
                                  const std::vector<double>& least_W) const {
  return resistor_picks(brief_, spaces_[c.space], c.pick, below, least_W, buyer_);
}

/// The whole proof of the cheapest candidate of a pick, once: the others differ from it in who
/// sells a part and for how much. Tried first `where` others failed; says where it did itself.
bool CoreJudge::accept(const Core& c, const Pick& pick, std::size_t setting, std::string& unclear,
                       Corners& where) {
  if (account_.has_passed(c.space, pick)) return true;
  const Space& s = spaces_[c.space];
  Ranked r;
  const Bought buy = bought(s, pick, buyer_);
  r.design = design_of(brief_, assumed_, s, pick, s.settings[setting], Resistors::picked);
  for (std::size_t k = 0; k < pick.size(); ++k)
    if (buy.row[k]) r.design.parts[s.roles[k].role->name] = *buy.row[k];
  r.proof = prove_pick(r.design, where, o_);
  r.cost = landed_cost(brief_, buy.lines);
  r.floor = floor_cost(brief_, buy.lines);
  lessons_.learn(c.space, r.proof);
  const Verdict& v = r.proof.verdict;
  if (r.proof.cancelled) return false;
  if (v.passes) {
    lessons_.serve_first(c.space, setting);
    keep(c.space, pick, std::move(r));
    return true;
  }
  for (const Check& k : v.checks)
    if (!k.passes) where = {k.corner};
  if (!v.undecided.empty())
    unclear = v.undecided.front();
  else
    account_.fail_alone(c.space, pick, refuted_by(s, r.design, r.proof).check);
  return false;
}

void CoreJudge::keep(std::size_t space, const Pick& pick, Ranked r) {
  account_.pass(space, pick);
  auto& driver =
      drivers_.try_emplace({space, driver_of(spaces_[space], pick)}, r.cost.total).first->second;
  driver = std::min(driver, r.cost.total);
  const auto place =
      std::upper_bound(found.begin(), found.end(), r.cost.total,
                       [](double cost, const Ranked& other) { return cost < other.cost.total; });
  found.insert(place, std::move(r));
  if (on_pass) on_pass();
}

}  // namespace pb
