// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/search.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "judgement/account.h"
#include "judgement/chips.h"
#include "judgement/conflicts.h"
#include "judgement/feasible.h"
#include "judgement/frontier.h"
#include "judgement/lessons.h"
#include "judgement/rank.h"
#include "judgement/resistor_picks.h"
#include "judgement/setting_trial.h"

namespace pb {
namespace {

/// Candidates looked at together. Fixed, so that the order of what is learnt, and with it the
/// result, is the same for any number of threads.
constexpr std::size_t kBatch = 2;
/// Cores tried at one setting alone, before anything passes.
constexpr std::size_t kAhead = 16;

constexpr double kNone = std::numeric_limits<double>::infinity();

std::vector<Space> spaces_of(const Brief& b, const std::vector<Template>& templates,
                             const Shelf& shelf, Buyer& buyer, const SearchOptions& o) {
  std::vector<Space> out;
  out.reserve(templates.size());
  for (const Template& t : templates)
    if (!o.stop.stop_requested()) out.push_back(space_of(b, t, shelf, buyer));
  if (o.planted.screen)
    for (Space& s : out) screen_out(s, o.planted.screen);
  return out;
}

class Search {
 public:
  Search(const Brief& b, const std::vector<Assumed>& assumed,
         const std::vector<Template>& templates, const Shelf& shelf, Buyer& buyer,
         const SearchOptions& o, double rival = kNone)
      : brief_(b),
        assumed_(assumed),
        o_(o),
        rival_(rival),
        buyer_(buyer),
        spaces_(spaces_of(b, templates, shelf, buyer, o)),
        lessons_(b, assumed, spaces_, o),
        account_(spaces_) {}

  SearchResult run() {
    if (const auto no = impossible(brief_))
      out_.impossible_key = no->key, out_.impossible_why = no->why;
    else
      visit_all();
    finish();
    return std::move(out_);
  }

 private:
  bool late() const { return o_.stop.stop_requested() || (o_.out_of_time && o_.out_of_time()); }

  /// Below this floor nothing may be left over: the winner's cost, or the K-th best's where none of
  /// them may be missed. Where nothing passes yet and there is no time for what nobody would buy,
  /// the rival's.
  double ceiling() const {
    const bool winner_alone = o_.enough && !looks_beside_;
    const std::size_t wanted = winner_alone ? 1 : static_cast<std::size_t>(std::max(o_.top, 1));
    const std::vector<std::size_t> own = distinct(found_);
    if (own.size() >= wanted) return found_[own[wanted - 1]].cost.total;
    const bool enough = o_.enough && o_.enough();
    return enough && own.empty() ? rival_ : kNone;
  }

  // --- visiting

  void visit_all() {
    frontier_.emplace(
        spaces_,
        [this](std::size_t space, const Pick& pick, std::size_t depth) {
          return lessons_.refuted(space, pick, depth);
        },
        [this](std::size_t space, const Pick& pick, std::size_t depth, const std::string& check) {
          account_.fail(space, check, account_.new_below(space, pick, depth));
        });
    while (frontier_->floor() < ceiling() || !waiting_.empty()) {
      if (late()) {
        account_.leave_from(open_floor());
        return;
      }
      if (!found_.empty() && !o_.enough && !beside_) look_beside();
      if (!guessed_ && found_.empty() && !std::isfinite(rival_) && o_.fall_back && o_.fall_back()) {
        guessed_ = true;
        for (std::size_t i = 0; i < spaces_.size() && found_.empty(); ++i) descend(i);
      }
      const bool drain = waits_no_longer();
      ahead_ = !drain && looks_ahead();
      const std::vector<Core> batch = drain ? from_waiting() : next_batch();
      std::vector<std::vector<SettingTrial>> trials(batch.size());
      o_.parallel(batch.size(),
                  [&](std::size_t k) { trials[k] = try_settings(batch[k], {}, ahead_); });
      for (std::size_t k = 0; k < batch.size(); ++k)
        if (!ahead_ || (!trials[k].empty() && trials[k].back().passes()))
          conclude(batch[k], std::move(trials[k]));
        else
          wait(batch[k], trials[k]);
    }
    if (!beside_) look_beside();
  }

  // --- cores whose likeliest setting failed, before anything is known to pass: something that does
  // is nearer at the likeliest setting of the next core than at all settings of this one

  bool looks_ahead() const { return found_.empty() && waiting_.size() < kAhead; }
  bool waits_no_longer() const {
    return !waiting_.empty() && (!looks_ahead() || frontier_->floor() >= ceiling());
  }
  void wait(const Core& c, const std::vector<SettingTrial>& trials) {
    for (const SettingTrial& t : trials)
      if (t.refuted) learn(c, t.setting, *t.refuted);
    waiting_.push_back(c);
  }
  std::vector<Core> from_waiting() {
    std::erase_if(waiting_, [below = ceiling()](const Core& c) { return c.floor >= below; });
    const std::size_t count = std::min(kBatch, waiting_.size());
    const auto end = waiting_.begin() + static_cast<std::ptrdiff_t>(count);
    std::vector<Core> out(waiting_.begin(), end);
    waiting_.erase(waiting_.begin(), end);
    return out;
  }
  /// Below it nothing is left to be visited.
  double open_floor() const {
    double least = frontier_->floor();
    for (const Core& c : waiting_) least = std::min(least, c.floor);
    return least;
  }

  /// The next cores that nothing known refutes, nor resting states.
  std::vector<Core> next_batch() {
    std::vector<Core> batch;
    const double below = ceiling();
    while (batch.size() < kBatch) {
      std::optional<Core> c = frontier_->next(below, [this] { return late(); });
      if (!c) break;
      ++visited_;
      tell(open_floor());
      const double least = sharp_bound(brief_, spaces_[c->space], c->pick, buyer_);
      if (least >= below || least >= cost_of_driver(*c)) continue;
      refute_by_energy(*c);
      if (lessons_.refuted(*c) || refuted_at_rest(*c))
        account(*c, kNone, "");
      else
        batch.push_back(std::move(*c));
    }
    return batch;
  }

  /// Of the cheapest design that passes with the switches and diodes of a core.
  double cost_of_driver(const Core& c) const {
    const auto known = drivers_.find({c.space, driver_of(spaces_[c.space], c.pick)});
    return known == drivers_.end() ? kNone : known->second;
  }

  void tell(double floor) const {
    if (!o_.progress) return;
    // What is left undecided stays so, whatever is found later.
    o_.progress({visited_, floor, found_.empty() ? kNotGiven : found_.front().cost.total,
                 account_.undecided()});
  }

  void refute_by_energy(const Core& c) {
    for (auto& [setting, why] : lessons_.too_little_room(c)) learn(c, setting, std::move(why));
  }

  /// Whether resting states alone refute every setting of a core. One core and setting after the
  /// other, since each teaches most about the next.
  bool refuted_at_rest(const Core& c) {
    for (std::size_t k : lessons_.order(c.space)) {
      if (lessons_.fails(c, k)) continue;
      const SettingTrial t = late() ? SettingTrial{} : try_setting(c, k, Depth::standing);
      if (!t.refuted) return false;
      learn(c, k, *t.refuted);
    }
    return true;
  }

  /// Settings in the order that served this template best, up to the first that passes a trial, or
  /// the first alone; without those that are over with.
  std::vector<SettingTrial> try_settings(const Core& c, const std::set<std::size_t>& over,
                                         bool first_alone = false) const {
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

  SettingTrial try_setting(const Core& c, std::size_t setting, Depth depth,
                           const Corners& corners) const {
    SettingTrial t =
        pb::try_setting(brief_, assumed_, spaces_[c.space], c.pick, setting, depth, corners, o_);
    t.lessons = lessons_.count(c.space);
    return t;
  }
  SettingTrial try_setting(const Core& c, std::size_t setting, Depth depth) const {
    return try_setting(c, setting, depth, lessons_.corners(c.space, setting));
  }

  /// Settings are gone through until one passes with the cheapest resistors there are, or none is
  /// left that might do with cheaper ones.
  void conclude(const Core& c, std::vector<SettingTrial> trials) {
    double below = kNone;
    std::string unclear;
    std::set<std::size_t> over;
    while (!trials.empty() && !late()) {
      for (SettingTrial& t : trials) {
        // A trial at the corners that were found to matter since is quicker than a proof.
        if (t.passes() && t.lessons != lessons_.count(c.space))
          t = try_setting(c, t.setting, Depth::trial);
        over.insert(t.setting);
        if (t.refuted) learn(c, t.setting, *t.refuted);
        if (!t.undecided.empty()) unclear = t.undecided;
        if (t.passes()) below = prove_cheapest(c, t, below, unclear);
      }
      if (ahead_ && lessons_.fails(c, trials.back().setting)) {
        waiting_.push_back(c);
        return;
      }
      below = std::min(below, ceiling());
      const bool dearer = std::isfinite(below) && picks_of(c, below, {}).by_cost.empty();
      trials = dearer ? std::vector<SettingTrial>{} : try_settings(c, over);
    }
    account(c, below, unclear);
  }

  /// Of a core that is done with, those of its candidates that cost less than `below`.
  void account(const Core& c, double below, const std::string& unclear) {
    const Space& s = spaces_[c.space];
    const std::string* check = lessons_.refuted(c);
    if (late() && !check) return account_.leave_from(c.floor);
    Natural cheaper;
    if (check || !std::isfinite(below)) {
      cheaper = account_.new_below(c.space, c.pick, s.core.size());
    } else {
      for (const auto& [cost, pick] : picks_of(c, below, {}).by_cost)
        if (!account_.has_failed(c.space, pick)) cheaper += rows_of(s, pick);
    }
    // Where no setting fails as such, what is left are resistors that bear too little.
    if (check || unclear.empty())
      account_.fail(c.space, check ? *check : "resistor_power", cheaper);
    else
      account_.leave_undecided(c, cheaper, unclear);
  }

  /// A choice that fails by itself at every setting is struck.
  void learn(const Core& c, std::size_t setting, Refuted why) {
    why = lessons_.learn(c, setting, std::move(why));
    if (!frontier_ || std::count(why.roles.begin(), why.roles.end(), true) != 1) return;
    const auto role = static_cast<std::size_t>(std::find(why.roles.begin(), why.roles.end(), true) -
                                               why.roles.begin());
    if (frontier_->is_struck(c.space, role, c.pick[role])) return;
    if (const std::string* check = lessons_.refuted_alone(c, role))
      frontier_->strike(c.space, role, c.pick[role], *check);
  }

  // --- resistors

  /// Resistors for a core that passed a trial, cheapest first: the landed cost of the first that
  /// passes, or `below` if none of those below it does.
  double prove_cheapest(const Core& c, const SettingTrial& trial, double below,
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

  ResistorPicks picks_of(const Core& c, double below, const std::vector<double>& least_W) {
    return resistor_picks(brief_, spaces_[c.space], c.pick, below, least_W, buyer_);
  }

  /// The whole proof of the cheapest candidate of a pick, once: the others differ from it in who
  /// sells a part and for how much. Tried first `where` others failed; says where it did itself.
  bool accept(const Core& c, const Pick& pick, std::size_t setting, std::string& unclear,
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
    if (!v.passes) {
      for (const Check& k : v.checks)
        if (!k.passes) where = {k.corner};
      if (!v.undecided.empty())
        unclear = v.undecided.front();
      else
        account_.fail_alone(c.space, pick, refuted_by(s, r.design, r.proof).check);
      return false;
    }
    account_.pass(c.space, pick);
    auto& driver = drivers_.try_emplace({c.space, driver_of(s, pick)}, r.cost.total).first->second;
    driver = std::min(driver, r.cost.total);
    lessons_.serve_first(c.space, setting);
    const auto place =
        std::upper_bound(found_.begin(), found_.end(), r.cost.total,
                         [](double cost, const Ranked& other) { return cost < other.cost.total; });
    found_.insert(place, std::move(r));
    tell(open_floor());
    return true;
  }

  // --- a design to fall back on

  /// Where a passing design is not among the cheapest: from a core that has most going for it,
  /// cheaper role by role. A trial is kinder than the proof; what that found is known in the next
  /// round, which starts over.
  void descend(std::size_t space) {
    constexpr int kRounds = 4;
    if (!spaces_[space].usable) return;
    for (int round = 0; round < kRounds; ++round)
      for (bool with_optional : {false, true})
        if (found_.empty() && !late()) come_down(space, with_optional);
  }

  void come_down(std::size_t space, bool with_optional) {
    const Space& s = spaces_[space];
    Core c{0, space, generous(brief_, s, with_optional)};
    c.floor = bound(s, c.pick);
    const std::vector<SettingTrial> trials = try_settings(c, {});
    for (const SettingTrial& t : trials)
      if (t.refuted) learn(c, t.setting, *t.refuted);
    if (trials.empty() || !trials.back().passes()) return;
    const std::size_t setting = trials.back().setting;
    for (bool better = true; better && !late();) {
      better = false;
      for (std::size_t r : s.core) better = cheapen(c, r, setting) || better;
    }
    c.floor = bound(s, c.pick);
    std::string unclear;  // the visit by cost comes by here again, and says so then
    prove_cheapest(c, try_setting(c, setting, Depth::trial), kNone, unclear);
  }

  /// The cheapest choice of one role that still passes a trial with the rest as it is.
  bool cheapen(Core& c, std::size_t role, std::size_t setting) {
    constexpr std::size_t kAtOnce = 2;  // the first that passes is taken: more would be for nothing
    for (std::size_t at = 0; at < c.pick[role] && !late(); at += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, c.pick[role] - at);
      std::vector<Core> tries(count, c);
      std::vector<SettingTrial> trials(count);
      for (std::size_t k = 0; k < count; ++k) tries[k].pick[role] = at + k;
      const auto known = [&](std::size_t k) {
        return lessons_.fails(tries[k], setting) != nullptr;
      };
      o_.parallel(count, [&](std::size_t k) {
        if (!known(k)) trials[k] = try_setting(tries[k], setting, Depth::trial);
      });
      for (std::size_t k = 0; k < count; ++k) {
        if (known(k)) continue;
        if (trials[k].passes()) {
          c.pick = tries[k].pick;
          return true;
        }
        if (trials[k].refuted) learn(tries[k], setting, *trials[k].refuted);
      }
    }
    return false;
  }

  // --- runners-up

  /// Other drivers that pass: those one switch or diode away from one that does, cheapest first.
  /// With them found, the visit by cost knows where to end.
  void look_beside() {
    beside_ = looks_beside_ = true;
    visit_beside();
    looks_beside_ = false;
  }

  void visit_beside() {
    constexpr int kTrials = 24;
    std::set<Core> open;
    for (const auto& [space, pick] : account_.passed()) add_beside(space, pick, open);
    for (int n = 0; n < kTrials && !open.empty() && !late() && !(o_.enough && o_.enough());) {
      if (distinct(found_).size() >= static_cast<std::size_t>(std::max(o_.top, 1))) return;
      const Core c = open.extract(open.begin()).value();
      if (std::isfinite(cost_of_driver(c)) || lessons_.refuted(c)) continue;
      refute_by_energy(c);
      if (lessons_.refuted(c) || refuted_at_rest(c)) continue;
      ++n;
      if (passes_beside(c)) add_beside(c.space, c.pick, open);
    }
  }

  /// At one of the two settings that served best. What stays unclear here comes up again where the
  /// visit by cost goes by.
  bool passes_beside(const Core& c) {
    constexpr std::size_t kSettings = 2;
    const auto& order = lessons_.order(c.space);
    std::string unclear;
    for (std::size_t k = 0; k < std::min(kSettings, order.size()); ++k) {
      const std::size_t setting = order[k];
      if (lessons_.fails(c, setting)) continue;
      const SettingTrial t = try_setting(c, setting, Depth::trial);
      if (t.refuted) learn(c, setting, *t.refuted);
      if (!t.passes()) continue;
      prove_cheapest(c, t, kNone, unclear);
      return std::isfinite(cost_of_driver(c));
    }
    return false;
  }

  /// The cheapest few of each role.
  void add_beside(std::size_t space, Pick pick, std::set<Core>& open) {
    constexpr int kChoices = 12;
    const Space& s = spaces_[space];
    for (std::size_t r : s.resistors)
      pick[r] = std::min<std::size_t>(pick[r], s.roles[r].role->optional);
    for (std::size_t r : s.core) {
      if (!makes_a_driver(s.roles[r].role->part_class)) continue;
      int taken = 0;
      for (std::size_t k = 0; k < core_choices(s, r) && taken < kChoices; ++k) {
        Core c{0, space, pick};
        c.pick[r] = k;
        if (k == pick[r] || frontier_->is_struck(space, r, k) || lessons_.refuted(c)) continue;
        c.floor = sharp_bound(brief_, s, c.pick, buyer_);
        open.insert(std::move(c));
        ++taken;
      }
    }
  }

  // --- words

  void finish() {
    const bool below_rival = found_.empty() && std::isfinite(ceiling());
    const double winner = !found_.empty() ? found_.front().cost.total
                          : below_rival   ? rival_
                                          : kNone;
    account_.close(winner, out_);
    for (const NearMiss& n : lessons_.near_misses())
      if (!n.check_id.empty()) out_.near_misses.push_back(n);
    out_.cancelled = o_.stop.stop_requested();
    out_.nothing_cheaper = !found_.empty() && out_.undecided.empty();
    std::vector<std::size_t> ranked = distinct(found_);
    ranked.resize(std::min(ranked.size(), static_cast<std::size_t>(std::max(o_.top, 1))));
    for (std::size_t k = 0; k < found_.size(); ++k)
      (std::binary_search(ranked.begin(), ranked.end(), k) ? out_.designs : out_.further)
          .push_back(std::move(found_[k]));
    out_.claim = out_.designs.empty()
                     ? below_rival && out_.undecided.empty()
                           ? "no driver of single parts that would cost less than the cheapest "
                             "chip passes, under these rules, templates, settings and this motor"
                           : "no driver of single parts was found to pass"
                 : out_.nothing_cheaper
                     ? "of single parts nothing cheaper passes, under these rules, templates, "
                       "settings and this motor"
                     : "the cheapest of single parts that was found; cheaper ones were left "
                       "undecided";
  }

  const Brief& brief_;
  const std::vector<Assumed>& assumed_;
  const SearchOptions& o_;
  const double rival_;  // landed cost of the cheapest chip that passes, where one is known
  Buyer& buyer_;
  std::vector<Space> spaces_;
  Lessons lessons_;
  Account account_;

  std::vector<Core> waiting_;
  bool ahead_ = false;                          // this batch is tried at one setting alone
  bool guessed_ = false;                        // a design was looked for from the other end
  bool beside_ = false, looks_beside_ = false;  // runners-up were, are looked for

  std::optional<Frontier> frontier_;
  std::vector<Ranked> found_;                               // cheapest first
  std::map<std::pair<std::size_t, Pick>, double> drivers_;  // the cheapest that passes of each
  long visited_ = 0;
  SearchResult out_;
};

}  // namespace

SearchResult search(const Brief& brief, const std::vector<Assumed>& assumed,
                    const std::vector<Template>& templates, const std::vector<Part>& parts,
                    const SearchOptions& options) {
  std::vector<Template> bought, wired;
  for (const Template& t : templates) (is_bought(t) ? bought : wired).push_back(t);
  SearchOptions one = options;
  one.top = 1;
  const Shelf shelf = shelf_of(brief, parts);
  Buyer buyer(brief);
  std::vector<SearchResult> chips;  // the cheapest of each kind
  chips.reserve(bought.size());
  double rival = kNone;
  for (const Template& t : bought) {
    chips.push_back(Search(brief, assumed, {t}, shelf, buyer, one, rival).run());
    // Of a drive that is not chopped, what is dearer than a chip is quick to find as well.
    if (regulated(brief))
      for (const Ranked& r : chips.back().designs) rival = std::min(rival, r.cost.total);
  }
  SearchResult out = Search(brief, assumed, wired, shelf, buyer, options, rival).run();
  for (SearchResult& c : chips) add_chips(out, std::move(c));
  return out;
}

}  // namespace pb
