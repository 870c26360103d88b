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

#include "base/text.h"
#include "judgement/chips.h"
#include "judgement/conflicts.h"
#include "judgement/feasible.h"
#include "judgement/frontier.h"
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

/// Where a chopped drive is hottest, as far as nobody need run it to know: most candidates that
/// cannot work are too hot, and a run costs far more than of one that is not chopped.
std::map<std::string, std::string> hottest(const Template& t) {
  std::map<std::string, std::string> out{{"supply.voltage", "max"},
                                         {"motor.winding_resistance", "min"},
                                         {"motor.constant", "min"},
                                         {"ambient", "max"}};
  for (const Role& r : t.roles) out[r.name + ".on_resistance"] = out[r.name + ".drop"] = "max";
  return out;
}

class Search {
 public:
  Search(const Brief& b, const std::vector<Assumed>& assumed,
         const std::vector<Template>& templates, const Shelf& shelf, Buyer& buyer,
         const SearchOptions& o, double rival = std::numeric_limits<double>::infinity())
      : brief_(b), assumed_(assumed), o_(o), rival_(rival), buyer_(buyer) {
    spaces_.reserve(templates.size());
    for (const Template& t : templates)
      if (!o_.stop.stop_requested()) spaces_.push_back(space_of(b, t, shelf, buyer));
    if (o.planted.screen)
      for (Space& s : spaces_) screen_out(s, o.planted.screen);
    conflicts_.resize(spaces_.size());
    hints_.resize(spaces_.size());
    if (regulated(b))
      for (std::size_t i = 0; i < spaces_.size(); ++i)
        hints_[i].expect(hottest(*spaces_[i].wiring));
    order_.resize(spaces_.size());
    misses_.resize(spaces_.size());
    alike_.resize(spaces_.size());
    given_back_.resize(spaces_.size());
    singly_.resize(spaces_.size());
    for (std::size_t i = 0; i < spaces_.size(); ++i)
      for (std::size_t k = 0; k < spaces_[i].settings.size(); ++k) order_[i].push_back(k);
  }

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
    return enough && own.empty() ? rival_ : std::numeric_limits<double>::infinity();
  }

  // --- visiting

  void visit_all() {
    frontier_.emplace(
        spaces_,
        [this](std::size_t space, const Pick& pick, std::size_t depth) {
          return refuted(space, pick, depth);
        },
        [this](std::size_t space, const Pick& pick, std::size_t depth, const std::string& check) {
          count_failed(space, check, new_below(space, pick, depth));
        });
    while (frontier_->floor() < ceiling() || !waiting_.empty()) {
      if (late()) {
        left_from_ = open_floor();
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
      if (refuted(*c) || refuted_at_rest(*c))
        account(*c, std::numeric_limits<double>::infinity(), "");
      else
        batch.push_back(std::move(*c));
    }
    return batch;
  }

  /// Of the cheapest design that passes with the switches and diodes of a core.
  double cost_of_driver(const Core& c) const {
    const auto known = drivers_.find({c.space, driver_of(spaces_[c.space], c.pick)});
    return known == drivers_.end() ? std::numeric_limits<double>::infinity() : known->second;
  }

  void tell(double floor) const {
    if (!o_.progress) return;
    // What is left undecided stays so, whatever is found later.
    o_.progress({visited_, floor, found_.empty() ? kNotGiven : found_.front().cost.total,
                 static_cast<long>(unclear_.size())});
  }

  /// Settings at which another core's motor gave back far more than this one can hold.
  void refute_by_energy(const Core& c) {
    const Space& s = spaces_[c.space];
    for (const auto& [setting, before] : given_back_[c.space])
      if (!conflicts_[c.space].find(c.pick, s.core.size(), setting))
        if (const auto why = holds_too_little(
                s, design_of(brief_, assumed_, s, c.pick, s.settings[setting], Resistors::finest),
                before))
          learn(c, setting, *why);
  }

  /// Whether resting states alone refute every setting of a core. One core and setting after the
  /// other, since each teaches most about the next.
  bool refuted_at_rest(const Core& c) {
    const Space& s = spaces_[c.space];
    for (std::size_t k : order_[c.space]) {
      if (conflicts_[c.space].find(c.pick, s.core.size(), k)) continue;
      const SettingTrial t = late() ? SettingTrial{} : try_setting(c, k, Depth::standing);
      if (!t.refuted) return false;
      learn(c, k, *t.refuted);
    }
    return true;
  }

  /// The check that refutes all that agree with a pick so far, if every setting is known to fail.
  const std::string* refuted(std::size_t space, const Pick& pick, std::size_t depth) const {
    const std::string* check = nullptr;
    for (std::size_t k : order_[space]) {
      check = conflicts_[space].find(pick, depth, k);
      if (!check) return nullptr;
    }
    return check;
  }
  const std::string* refuted(const Core& c) const {
    return refuted(c.space, c.pick, spaces_[c.space].core.size());
  }

  /// Settings in the order that served this template best, up to the first that passes a trial, or
  /// the first alone; without those that are over with.
  std::vector<SettingTrial> try_settings(const Core& c, const std::set<std::size_t>& over,
                                         bool first_alone = false) const {
    std::vector<SettingTrial> out;
    Conflicts own;  // what this core has taught itself
    const Space& s = spaces_[c.space];
    for (std::size_t k : order_[c.space]) {
      if (over.contains(k) || conflicts_[c.space].find(c.pick, s.core.size(), k) ||
          own.find(c.pick, s.core.size(), k))
        continue;
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
    t.lessons = hints_[c.space].lessons();
    return t;
  }
  SettingTrial try_setting(const Core& c, std::size_t setting, Depth depth) const {
    return try_setting(c, setting, depth, hints_[c.space].corners(setting));
  }

  /// Settings are gone through until one passes with the cheapest resistors there are, or none is
  /// left that might do with cheaper ones.
  void conclude(const Core& c, std::vector<SettingTrial> trials) {
    double below = std::numeric_limits<double>::infinity();
    std::string unclear;
    std::set<std::size_t> over;
    while (!trials.empty() && !late()) {
      for (SettingTrial& t : trials) {
        // A trial at the corners that were found to matter since is quicker than a proof.
        if (t.passes() && t.lessons != hints_[c.space].lessons())
          t = try_setting(c, t.setting, Depth::trial);
        over.insert(t.setting);
        if (t.refuted) learn(c, t.setting, *t.refuted);
        if (!t.undecided.empty()) unclear = t.undecided;
        if (t.passes()) below = prove_cheapest(c, t, below, unclear);
      }
      if (ahead_ &&
          conflicts_[c.space].find(c.pick, spaces_[c.space].core.size(), trials.back().setting)) {
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
    Space& s = spaces_[c.space];
    const std::string* check = refuted(c);
    if (late() && !check) {
      left_from_ = std::min(left_from_, c.floor);
      return;
    }
    Natural cheaper;
    if (check || !std::isfinite(below)) {
      cheaper = new_below(c.space, c.pick, s.core.size());
    } else {
      for (const auto& [cost, pick] : picks_of(c, below, {}).by_cost)
        if (!singly_[c.space].contains(pick)) cheaper += rows_of(s, pick);
    }
    if (check || unclear.empty()) {
      // Where no setting fails as such, what is left are resistors that bear too little.
      count_failed(c.space, check ? *check : "resistor_power", cheaper);
    } else {
      s.count.undecided += cheaper;
      unclear_.push_back({c.floor, unclear});
    }
  }

  /// Candidates that agree with a pick so far and have not been counted one by one.
  Natural new_below(std::size_t space, const Pick& pick, std::size_t depth) const {
    const Space& s = spaces_[space];
    Natural out = rows_below(s, pick, depth);
    for (const auto& [known, check] : singly_[space])
      if (agree(s, pick, known, depth)) out -= rows_of(s, known);
    for (const auto& [of, known] : passed_)
      if (of == space && agree(s, pick, known, depth)) out -= rows_of(s, known);
    return out;
  }

  void learn(const Core& c, std::size_t setting, Refuted why) {
    hints_[c.space].remember(setting, why);
    widen(c, setting, why);
    conflicts_[c.space].learn(spaces_[c.space], c.pick, setting, why);
    if (why.check == "clamp_energy") given_back_[c.space].try_emplace(setting, why);
    if (std::count(why.roles.begin(), why.roles.end(), true) == 1) strike_alone(c, why);
    NearMiss& n = misses_[c.space];
    if (n.check_id.empty() || c.floor < n.floor)
      n = {spaces_[c.space].wiring->title,
           why.check,
           why.subject,
           why.value,
           why.limit,
           c.floor,
           why.unit,
           chip_in(spaces_[c.space], c.pick),
           design_of(brief_, assumed_, spaces_[c.space], c.pick, spaces_[c.space].settings[setting],
                     Resistors::finest),
           why.corner};
  }

  /// A core that fails as one before it, but for what stands across the rail, may do so for all
  /// that might stand there.
  void widen(const Core& c, std::size_t setting, Refuted& why) {
    const Space& s = spaces_[c.space];
    if (const std::optional<Pick> alone = ripple_alone(s, c.pick, why)) {
      if (alike_[c.space][{setting, why.check, why.subject, *alone}]++ == 1)
        leave_out_capacitors(brief_, assumed_, s, c.pick, s.settings[setting], o_.parallel, o_.stop,
                             why);
      return;
    }
    if (!reads_all(s, why)) return;
    auto& seen = alike_[c.space][{setting, why.check, why.subject, without_rail(s, c.pick)}];
    if (seen++ == 1)
      leave_out_rail(brief_, assumed_, s, c.pick, s.settings[setting], o_.parallel, o_.stop, why);
  }

  /// Strikes the choice that failed by itself once every setting of it does.
  void strike_alone(const Core& c, const Refuted& why) {
    if (!frontier_) return;
    const auto role = static_cast<std::size_t>(std::find(why.roles.begin(), why.roles.end(), true) -
                                               why.roles.begin());
    if (frontier_->is_struck(c.space, role, c.pick[role])) return;
    const std::string* check = nullptr;
    for (std::size_t setting : order_[c.space]) {
      check = conflicts_[c.space].find_alone(c.pick, role, setting);
      if (!check) return;
    }
    frontier_->strike(c.space, role, c.pick[role], *check);
  }

  void count_failed(std::size_t space, const std::string& check, const Natural& candidates) {
    spaces_[space].count.failed += candidates;
    out_.rejected[check] += candidates;
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
    if (passed_.contains({c.space, pick})) return true;
    Space& s = spaces_[c.space];
    Ranked r;
    const Bought buy = bought(s, pick, buyer_);
    r.design = design_of(brief_, assumed_, s, pick, s.settings[setting], Resistors::picked);
    for (std::size_t k = 0; k < pick.size(); ++k)
      if (buy.row[k]) r.design.parts[s.roles[k].role->name] = *buy.row[k];
    r.proof = prove_pick(r.design, where, o_);
    r.cost = landed_cost(brief_, buy.lines);
    r.floor = floor_cost(brief_, buy.lines);
    hints_[c.space].remember(r.proof);
    const Verdict& v = r.proof.verdict;
    if (r.proof.cancelled) return false;
    if (!v.passes) {
      for (const Check& k : v.checks)
        if (!k.passes) where = {k.corner};
      if (!v.undecided.empty())
        unclear = v.undecided.front();
      else if (singly_[c.space].insert({pick, refuted_by(s, r.design, r.proof).check}).second)
        count_failed(c.space, singly_[c.space][pick], rows_of(s, pick));
      return false;
    }
    if (const auto failed = singly_[c.space].find(pick); failed != singly_[c.space].end()) {
      s.count.failed -= rows_of(s, pick);  // at another setting
      out_.rejected[failed->second] -= rows_of(s, pick);
      singly_[c.space].erase(failed);
    }
    passed_.insert({c.space, pick});
    auto& driver = drivers_.try_emplace({c.space, driver_of(s, pick)}, r.cost.total).first->second;
    driver = std::min(driver, r.cost.total);
    s.count.passed += 1;
    s.count.grouped += rows_of(s, pick) - 1;
    serve_first(c.space, setting);
    const auto place =
        std::upper_bound(found_.begin(), found_.end(), r.cost.total,
                         [](double cost, const Ranked& other) { return cost < other.cost.total; });
    found_.insert(place, std::move(r));
    tell(open_floor());
    return true;
  }

  void serve_first(std::size_t space, std::size_t setting) {
    auto& order = order_[space];
    order.erase(std::find(order.begin(), order.end(), setting));
    order.insert(order.begin(), setting);
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
    prove_cheapest(c, try_setting(c, setting, Depth::trial),
                   std::numeric_limits<double>::infinity(), unclear);
  }

  /// The cheapest choice of one role that still passes a trial with the rest as it is.
  bool cheapen(Core& c, std::size_t role, std::size_t setting) {
    const Space& s = spaces_[c.space];
    constexpr std::size_t kAtOnce = 2;  // the first that passes is taken: more would be for nothing
    for (std::size_t at = 0; at < c.pick[role] && !late(); at += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, c.pick[role] - at);
      std::vector<Core> tries(count, c);
      std::vector<SettingTrial> trials(count);
      for (std::size_t k = 0; k < count; ++k) tries[k].pick[role] = at + k;
      const auto known = [&](std::size_t k) {
        return conflicts_[c.space].find(tries[k].pick, s.core.size(), setting) != nullptr;
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
    for (const auto& [space, pick] : passed_) add_beside(space, pick, open);
    for (int n = 0; n < kTrials && !open.empty() && !late() && !(o_.enough && o_.enough());) {
      if (distinct(found_).size() >= static_cast<std::size_t>(std::max(o_.top, 1))) return;
      const Core c = open.extract(open.begin()).value();
      if (std::isfinite(cost_of_driver(c)) || refuted(c)) continue;
      refute_by_energy(c);
      if (refuted(c) || refuted_at_rest(c)) continue;
      ++n;
      if (passes_beside(c)) add_beside(c.space, c.pick, open);
    }
  }

  /// At one of the two settings that served best. What stays unclear here comes up again where the
  /// visit by cost goes by.
  bool passes_beside(const Core& c) {
    constexpr std::size_t kSettings = 2;
    const auto& order = order_[c.space];
    std::string unclear;
    for (std::size_t k = 0; k < std::min(kSettings, order.size()); ++k) {
      const std::size_t setting = order[k];
      if (conflicts_[c.space].find(c.pick, spaces_[c.space].core.size(), setting)) continue;
      const SettingTrial t = try_setting(c, setting, Depth::trial);
      if (t.refuted) learn(c, setting, *t.refuted);
      if (!t.passes()) continue;
      prove_cheapest(c, t, std::numeric_limits<double>::infinity(), unclear);
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
        if (k == pick[r] || frontier_->is_struck(space, r, k) || refuted(c)) continue;
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
                                          : std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < spaces_.size(); ++i) {
      SpaceCount& n = spaces_[i].count;
      const Natural rest = n.total - n.screened - n.grouped - n.failed - n.passed - n.undecided;
      if (left_from_ < winner)  // of what nobody visited in time, nobody knows what it costs
        n.undecided += rest;
      else
        n.beyond_cost = rest;
      out_.space[spaces_[i].wiring->id] = n;
      if (!misses_[i].check_id.empty()) out_.near_misses.push_back(misses_[i]);
    }
    out_.cancelled = o_.stop.stop_requested();
    double unclear = 0;
    for (const auto& [floor, why] : unclear_)
      if (floor < winner && ++unclear == 1) out_.undecided.push_back(why);
    if (left_from_ < winner)
      out_.undecided.push_back("candidates with a floor cost from " + significant(left_from_, 4) +
                               " on were not visited: out of time");
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
  std::vector<Space> spaces_;
  // By space:
  std::vector<Conflicts> conflicts_;
  std::vector<Hints> hints_;
  std::vector<std::vector<std::size_t>> order_;  // of settings
  std::vector<NearMiss> misses_;
  std::vector<std::map<Pick, std::string>> singly_;  // candidates counted one by one, their check

  // How often such cores failed such a check.
  std::vector<std::map<std::tuple<std::size_t, std::string, std::string, Pick>, int>> alike_;
  std::vector<std::map<std::size_t, Refuted>> given_back_;  // by setting: failed for its energy
  std::vector<Core> waiting_;
  bool ahead_ = false;                          // this batch is tried at one setting alone
  bool guessed_ = false;                        // a design was looked for from the other end
  bool beside_ = false, looks_beside_ = false;  // runners-up were, are looked for

  std::optional<Frontier> frontier_;
  Buyer& buyer_;
  std::vector<Ranked> found_;                               // cheapest first
  std::set<std::pair<std::size_t, Pick>> passed_;           // candidates that were proven, by space
  std::map<std::pair<std::size_t, Pick>, double> drivers_;  // the cheapest that passes of each
  std::vector<std::pair<double, std::string>> unclear_;     // floor, why
  double left_from_ = std::numeric_limits<double>::infinity();
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
  double rival = std::numeric_limits<double>::infinity();
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
