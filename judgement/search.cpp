// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/search.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <utility>

#include "judgement/chips.h"
#include "judgement/core_judge.h"
#include "judgement/fall_back.h"
#include "judgement/feasible.h"
#include "judgement/rank.h"
#include "judgement/runners_up.h"

namespace pb {
namespace {

/// Candidates looked at together. Fixed, so that the order of what is learnt, and with it the
/// result, is the same for any number of threads.
constexpr std::size_t kBatch = 2;
/// Cores tried at one setting alone, before anything passes.
constexpr std::size_t kAhead = 16;

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
         const SearchOptions& o, double rival = kNoCost)
      : brief_(b),
        o_(o),
        rival_(rival),
        judge_(b, assumed, spaces_of(b, templates, shelf, buyer, o), buyer, o, rival) {
    judge_.on_pass = [this] { tell(open_floor()); };
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
  void visit_all() {
    while (judge_.frontier().floor() < judge_.ceiling() || !waiting_.empty()) {
      if (judge_.late()) {
        judge_.account().leave_from(open_floor());
        return;
      }
      if (!judge_.found.empty() && !o_.enough) look_beside();
      if (wants_to_fall_back()) {
        fell_back_ = true;
        for (std::size_t i = 0; i < judge_.spaces().size() && judge_.found.empty(); ++i)
          fall_back(judge_, brief_, i, o_.parallel);
      }
      const bool drain = waits_no_longer();
      ahead_ = !drain && looks_ahead();
      visit(drain ? from_waiting() : next_batch());
    }
    look_beside();
  }

  void visit(const std::vector<Core>& batch) {
    std::vector<std::vector<SettingTrial>> trials(batch.size());
    o_.parallel(batch.size(),
                [&](std::size_t k) { trials[k] = judge_.try_settings(batch[k], {}, ahead_); });
    for (std::size_t k = 0; k < batch.size(); ++k)
      if (!ahead_ || (!trials[k].empty() && trials[k].back().passes()))
        conclude(batch[k], std::move(trials[k]));
      else
        wait(batch[k], trials[k]);
  }

  bool wants_to_fall_back() const {
    return !fell_back_ && judge_.found.empty() && !std::isfinite(rival_) && o_.fall_back &&
           o_.fall_back();
  }
  void look_beside() {
    if (!std::exchange(beside_, true)) find_runners_up(judge_, o_);
  }

  // --- cores whose likeliest setting failed, before anything is known to pass: something that does
  // is nearer at the likeliest setting of the next core than at all settings of this one

  bool looks_ahead() const { return judge_.found.empty() && waiting_.size() < kAhead; }
  bool waits_no_longer() {
    return !waiting_.empty() && (!looks_ahead() || judge_.frontier().floor() >= judge_.ceiling());
  }
  void wait(const Core& c, const std::vector<SettingTrial>& trials) {
    for (const SettingTrial& t : trials)
      if (t.refuted) judge_.learn(c, t.setting, *t.refuted);
    waiting_.push_back(c);
  }
  std::vector<Core> from_waiting() {
    std::erase_if(waiting_, [below = judge_.ceiling()](const Core& c) { return c.floor >= below; });
    const std::size_t count = std::min(kBatch, waiting_.size());
    const auto end = waiting_.begin() + static_cast<std::ptrdiff_t>(count);
    std::vector<Core> out(waiting_.begin(), end);
    waiting_.erase(waiting_.begin(), end);
    return out;
  }
  /// Below it nothing is left to be visited.
  double open_floor() {
    double least = judge_.frontier().floor();
    for (const Core& c : waiting_) least = std::min(least, c.floor);
    return least;
  }

  /// The next cores that nothing known refutes, nor resting states.
  std::vector<Core> next_batch() {
    std::vector<Core> batch;
    const double below = judge_.ceiling();
    while (batch.size() < kBatch) {
      std::optional<Core> c = judge_.frontier().next(below, [this] { return judge_.late(); });
      if (!c) break;
      ++visited_;
      tell(open_floor());
      const double least = judge_.sharp_floor(*c);
      if (least >= below || least >= judge_.cost_of_driver(*c)) continue;
      if (judge_.refuted_early(*c))
        account(*c, kNoCost, "");
      else
        batch.push_back(std::move(*c));
    }
    return batch;
  }

  void tell(double floor) {
    if (!o_.progress) return;
    // What is left undecided stays so, whatever is found later.
    const std::vector<Ranked>& found = judge_.found;
    o_.progress({visited_, floor, found.empty() ? kNotGiven : found.front().cost.total,
                 judge_.account().undecided()});
  }

  /// Settings are gone through until one passes with the cheapest resistors there are, or none is
  /// left that might do with cheaper ones.
  void conclude(const Core& c, std::vector<SettingTrial> trials) {
    double below = kNoCost;
    std::string unclear;
    std::set<std::size_t> over;
    while (!trials.empty() && !judge_.late()) {
      for (SettingTrial& t : trials) {
        // A trial at the corners that were found to matter since is quicker than a proof.
        if (t.passes() && t.lessons != judge_.lessons().count(c.space))
          t = judge_.try_setting(c, t.setting, Depth::trial);
        over.insert(t.setting);
        if (t.refuted) judge_.learn(c, t.setting, *t.refuted);
        if (!t.undecided.empty()) unclear = t.undecided;
        if (t.passes()) below = judge_.prove_cheapest(c, t, below, unclear);
      }
      if (ahead_ && judge_.lessons().fails(c, trials.back().setting)) {
        waiting_.push_back(c);
        return;
      }
      below = std::min(below, judge_.ceiling());
      const bool dearer = std::isfinite(below) && judge_.picks_of(c, below, {}).by_cost.empty();
      trials = dearer ? std::vector<SettingTrial>{} : judge_.try_settings(c, over);
    }
    account(c, below, unclear);
  }

  /// Of a core that is done with, those of its candidates that cost less than `below`.
  void account(const Core& c, double below, const std::string& unclear) {
    const Space& s = judge_.space_of(c);
    Account& all = judge_.account();
    const std::string* check = judge_.lessons().refuted(c);
    if (judge_.late() && !check) return all.leave_from(c.floor);
    Natural cheaper;
    if (check || !std::isfinite(below)) {
      cheaper = all.new_below(c.space, c.pick, s.core.size());
    } else {
      for (const auto& [cost, pick] : judge_.picks_of(c, below, {}).by_cost)
        if (!all.has_failed(c.space, pick)) cheaper += rows_of(s, pick);
    }
    // Where no setting fails as such, what is left are resistors that bear too little.
    if (check || unclear.empty())
      all.fail(c.space, check ? *check : "resistor_power", cheaper);
    else
      all.leave_undecided(c, cheaper, unclear);
  }

  // --- words

  void finish() {
    std::vector<Ranked>& found = judge_.found;
    const bool below_rival = found.empty() && std::isfinite(judge_.ceiling());
    const double winner = !found.empty() ? found.front().cost.total
                          : below_rival  ? rival_
                                         : kNoCost;
    judge_.account().close(winner, out_);
    for (const NearMiss& n : judge_.lessons().near_misses())
      if (!n.check_id.empty()) out_.near_misses.push_back(n);
    out_.cancelled = o_.stop.stop_requested();
    out_.nothing_cheaper = !found.empty() && out_.undecided.empty();
    std::vector<std::size_t> ranked = distinct(found);
    ranked.resize(std::min(ranked.size(), static_cast<std::size_t>(std::max(o_.top, 1))));
    for (std::size_t k = 0; k < found.size(); ++k)
      (std::binary_search(ranked.begin(), ranked.end(), k) ? out_.designs : out_.further)
          .push_back(std::move(found[k]));
    out_.claim = claim(below_rival);
  }

  const char* claim(bool below_rival) const {
    if (out_.nothing_cheaper)
      return "of single parts nothing cheaper passes, under these rules, templates, settings and "
             "this motor";
    if (!out_.designs.empty())
      return "the cheapest of single parts that was found; cheaper ones were left undecided";
    if (below_rival && out_.undecided.empty())
      return "no driver of single parts that would cost less than the cheapest chip passes, under "
             "these rules, templates, settings and this motor";
    return "no driver of single parts was found to pass";
  }

  const Brief& brief_;
  const SearchOptions& o_;
  const double rival_;  // landed cost of the cheapest chip that passes, where one is known
  CoreJudge judge_;

  std::vector<Core> waiting_;
  bool ahead_ = false;      // this batch is tried at one setting alone
  bool fell_back_ = false;  // a design was looked for from the other end
  bool beside_ = false;     // runners-up were looked for
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
  double rival = kNoCost;
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
