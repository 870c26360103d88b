// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/search.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <queue>
#include <set>
#include <utility>

#include "base/text.h"
#include "judgement/screens.h"

namespace pb {
namespace {

/// What may stand in a role: a part, or nothing where the role is optional.
struct Choice {
  const Part* part;  // null: left out
  double cost;       // what it adds at the least: parts and placement
};

struct RoleChoices {
  const Role* role;
  int places;
  std::vector<Choice> list;  // rising cost
};

struct Space {
  const Template* wiring;
  std::vector<RoleChoices> roles;
  SpaceCount count;
  bool usable = true;
};

using Pick = std::vector<std::size_t>;  // one index a role

struct Tried {
  bool passes = false, undecided = false;
  Settings settings;
  std::string check, subject, unit, why;
  double value = 0, limit = 0;
};

class Search {
 public:
  Search(const Brief& b, const std::vector<Assumed>& assumed,
         const std::vector<Template>& templates, const std::vector<Part>& parts,
         const SearchOptions& o)
      : brief_(b), assumed_(assumed), parts_(parts), o_(o) {
    for (const Template& t : templates) spaces_.push_back(space_of(t));
  }

  SearchResult run() {
    if (impossible()) return std::move(out_);
    for (Space& s : spaces_) descend(s);
    std::stable_sort(found_.begin(), found_.end(),
                     [](const Ranked& a, const Ranked& b) { return a.cost.total < b.cost.total; });
    exhaust();
    finish();
    return std::move(out_);
  }

 private:
  // --- the space
  // ------------------------------------------------------------------------------------------------

  Space space_of(const Template& t) {
    Space s{&t, {}, {}, true};
    s.count.total = 1;
    double open = 1;
    for (const Role& r : t.roles) {
      RoleChoices c{
          &r,
          static_cast<int>(std::count_if(t.places.begin(), t.places.end(),
                                         [&](const Place& p) { return p.role == r.name; })),
          {}};
      double offered = r.optional ? 1 : 0;
      if (r.optional) c.list.push_back({nullptr, 0});
      for (const Part& p : parts_) {
        if (p.part_class != r.part_class) continue;
        ++offered;
        if (const std::string why = unfit(t, r, p, c.places); !why.empty()) {
          screened_roles_[t.id][why] += 1;
          continue;
        }
        c.list.push_back({&p, floor_share(brief_, {&p, c.places})});
      }
      std::stable_sort(c.list.begin(), c.list.end(),
                       [](const Choice& a, const Choice& b) { return a.cost < b.cost; });
      s.count.total *= offered;
      open *= static_cast<double>(c.list.size());
      s.roles.push_back(std::move(c));
    }
    s.usable = open > 0 && static_cast<double>(t.pins.size()) <= brief_.controller.pins &&
               !settings_of(t).empty();
    if (!s.usable) open = 0;
    s.count.screened = s.count.total - open;
    out_.space[t.id] = s.count;
    return s;
  }

  std::string unfit(const Template& t, const Role& r, const Part& p, int places) const {
    if (p.lifecycle == "obsolete") return "lifecycle";
    if (!cost_faults(brief_, {{&p, places}}).empty()) return "no price";
    if (!missing_figures(p).empty()) return "missing figure";
    return screened_by({brief_, t, r}, p);
  }

  // --- settings
  // -------------------------------------------------------------------------------------------------

  /// Resistor values all low, all middle, all high in the template's lists, each sequence and stop
  /// the brief leaves open.
  std::vector<Settings> settings_of(const Template& t) const {
    std::vector<Settings> out;
    const auto choices = [](const std::string& asked, std::vector<std::string> all) {
      return asked == "any" ? std::move(all) : std::vector<std::string>{asked};
    };
    for (const std::string& sequence :
         choices(brief_.motion.sequence, {"two-phase", "one-phase", "half"})) {
      if (!physics::supports(t, sequence)) continue;
      for (const std::string& stop : choices(brief_.motion.stop, {"brake", "coast"}))
        for (double level : {0.5, 0.0, 1.0}) {
          Settings s;
          s.sequence = sequence, s.stop = stop;
          for (const Role& r : t.roles)
            if (!r.values.empty())
              s.value[r.name] = r.values[static_cast<std::size_t>(
                  std::lround(level * static_cast<double>(r.values.size() - 1)))];
          out.push_back(std::move(s));
        }
    }
    return out;
  }

  // --- candidates
  // -----------------------------------------------------------------------------------------------

  /// Those a first guess is tried at: all levels of the first sequence and stop, the middle level
  /// of the other sequences.
  std::vector<Settings> likely_settings(const Template& t) const {
    constexpr std::size_t kLevels = 3;
    const std::vector<Settings> all = settings_of(t);
    std::vector<Settings> out;
    for (std::size_t k = 0; k < all.size(); ++k)
      if (k < kLevels || (k % kLevels == 0 && all[k].stop == all[0].stop)) out.push_back(all[k]);
    return out;
  }

  Design design_of(const Space& s, const Pick& pick, const Settings& settings) const {
    Design d{brief_, assumed_, *s.wiring, {}, settings};
    for (std::size_t r = 0; r < pick.size(); ++r)
      if (const Part* p = s.roles[r].list[pick[r]].part) d.parts[s.roles[r].role->name] = *p;
    for (auto v = d.settings.value.begin(); v != d.settings.value.end();)
      v = d.parts.contains(v->first) ? std::next(v) : d.settings.value.erase(v);
    return d;
  }

  std::vector<CostLine> lines_of(const Space& s, const Pick& pick) const {
    std::vector<CostLine> lines;
    for (std::size_t r = 0; r < pick.size(); ++r)
      if (const Part* p = s.roles[r].list[pick[r]].part) lines.push_back({p, s.roles[r].places});
    return lines;
  }
  double cost_of(const Space& s, const Pick& pick) const {
    return landed_cost(brief_, lines_of(s, pick)).total;
  }

  /// The full proof at each setting until one passes; the first failure is what is reported.
  /// With `trial` only nominal and the corners that mattered so far are run: quick, and no proof.
  Tried attempt(const Space& s, const Pick& pick, const std::vector<Settings>& settings,
                bool trial) const {
    Tried t;
    for (const Settings& choice : settings) {
      ProofOptions o;
      o.stop = o_.stop, o.fail_first = true, o.trial = trial;
      if (const auto h = hints_.find(s.wiring->id); h != hints_.end()) o.try_first = h->second;
      const Proof p = prove(design_of(s, pick, choice), o);
      if (p.verdict.passes) {
        t.passes = true, t.settings = choice;
        return t;
      }
      note_failure(p, t);
      if (o_.stop.stop_requested()) break;
    }
    return t;
  }

  static void note_failure(const Proof& p, Tried& t) {
    for (const std::string& u : p.verdict.undecided) t.undecided = true, t.why = u;
    const Check* worst = nullptr;
    for (const Check& c : p.verdict.checks)
      if (!c.passes && (!worst || c.margin < worst->margin)) worst = &c;
    if (!worst || !t.check.empty()) return;
    t.check = worst->id, t.subject = worst->subject, t.unit = worst->unit, t.value = worst->value,
    t.limit = worst->limit;
  }

  bool late() const { return o_.stop.stop_requested() || (o_.out_of_time && o_.out_of_time()); }

  // --- first a passing design, then cheaper ones
  // --------------------------------------------------------------------

  /// A pick that has most going for it: the switches with least on-resistance among the cheaper
  /// half, the largest capacitors, nothing optional at first.
  Pick generous(const Space& s, bool with_optional) const {
    Pick pick(s.roles.size(), 0);
    for (std::size_t r = 0; r < s.roles.size(); ++r) {
      const auto& list = s.roles[r].list;
      double best = -1e300;
      for (std::size_t k = 0; k < list.size(); ++k) {
        const double g = list[k].part ? promise(*list[k].part) : (with_optional ? -1e299 : 1e299);
        if (g > best) best = g, pick[r] = k;
      }
    }
    return pick;
  }

  /// A guess where to begin, nothing more: no candidate is rejected by it.
  double promise(const Part& p) const {
    const std::string& c = p.part_class;
    if (c == "n-mosfet" || c == "p-mosfet") {
      const double starved =
          figure(p, "rds_gate") > 0.95 * brief_.controller.logic_voltage_V ? 1e6 : 0.0;
      return -figure(p, "rds_max") * figure(p, "rth_ja") - starved;
    }
    if (c == "npn" || c == "pnp")
      return figure(p, "ic_max") / figure(p, "vce_sat_max") / figure(p, "rth_ja");
    if (is_capacitor(c)) return figure(p, "capacitance") - 1e-6 * figure(p, "esr");
    if (c == "diode") return figure(p, "if_max") - figure(p, "vf_high_max");
    if (c == "resistor") return figure(p, "power_max") - figure(p, "tolerance");
    return -figure(p, "rth_ja");
  }

  void descend(Space& s) {
    if (!s.usable || late()) return;
    std::optional<Pick> best;
    Settings settings;
    for (bool with_optional : {false, true}) {
      const Pick pick = generous(s, with_optional);
      for (const Settings& choice : likely_settings(*s.wiring)) {
        if (late()) return;
        if (!attempt(s, pick, {choice}, true).passes) continue;
        best = pick, settings = choice;
        break;
      }
      if (best) break;
    }
    if (!best) return;
    // The generous design itself, proven in full: a design to fall back on, and the corners that
    // matter here.
    if (!accept(s, *best, settings)) return;
    // A trial may be too kind: then what the full proof found joins the corners tried, and the
    // descent starts again.
    constexpr int kRounds = 4;
    Pick start = *best;
    for (int round = 0; round < kRounds && !late(); ++round) {
      Pick pick = start;
      for (bool better = true; better && !late();) {
        better = false;
        for (std::size_t r = 0; r < s.roles.size() && !late(); ++r)
          better = cheapen(s, pick, r, settings) || better;
      }
      if (accept(s, pick, settings)) return;
    }
  }

  /// Cheapest choice of one role that still passes with the rest as it is; two at a time, the
  /// cheaper one first.
  bool cheapen(Space& s, Pick& best, std::size_t r, const Settings& settings) {
    const double now = cost_of(s, best);
    std::vector<std::pair<double, std::size_t>> cheaper;
    for (std::size_t k = 0; k < s.roles[r].list.size(); ++k) {
      Pick p = best;
      p[r] = k;
      if (const double c = cost_of(s, p); c < now) cheaper.push_back({c, k});
    }
    std::stable_sort(cheaper.begin(), cheaper.end());
    constexpr std::size_t kAtOnce = 2;
    for (std::size_t at = 0; at < cheaper.size() && !late(); at += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, cheaper.size() - at);
      std::vector<Pick> picks(count, best);
      std::vector<Tried> tried(count);
      for (std::size_t k = 0; k < count; ++k) picks[k][r] = cheaper[at + k].second;
      o_.parallel(count, [&](std::size_t k) { tried[k] = attempt(s, picks[k], {settings}, true); });
      for (std::size_t k = 0; k < count; ++k) {
        if (!tried[k].passes) continue;
        best = picks[k];
        return true;
      }
    }
    return false;
  }

  bool accept(Space& s, const Pick& pick, const Settings& settings) {
    Ranked r;
    r.design = design_of(s, pick, settings);
    ProofOptions o;
    o.parallel = o_.parallel, o.stop = o_.stop;
    r.proof = prove(r.design, o);
    r.cost = landed_cost(brief_, lines_of(s, pick));
    r.floor = floor_cost(brief_, lines_of(s, pick));
    learn(s, r.proof);
    if (!r.proof.verdict.passes) {
      Tried t;
      note_failure(r.proof, t);
      note_miss(s, pick, t);
      return false;
    }
    if (accepted_.insert({s.wiring->id, pick}).second) {
      s.count.passed += 1;
      found_.push_back(std::move(r));
    }
    return true;
  }

  /// Corners of the tightest checks: the next candidates of this template are tried there before
  /// anything else.
  void learn(const Space& s, const Proof& p) {
    constexpr std::size_t kTightest = 3;
    std::vector<const Check*> order;
    for (const Check& c : p.verdict.checks)
      if (!c.corner.empty()) order.push_back(&c);
    std::stable_sort(order.begin(), order.end(),
                     [](const Check* a, const Check* b) { return a->margin < b->margin; });
    auto& hints = hints_[s.wiring->id];
    std::size_t added = 0;
    for (const Check* c : order) {
      if (added == kTightest) break;
      if (std::find(hints.begin(), hints.end(), c->corner) != hints.end()) continue;
      hints.insert(hints.begin() + static_cast<std::ptrdiff_t>(added++), c->corner);
    }
  }

  const Tried& remember(Space& s, const Pick& pick, const Tried& t) {
    const auto [at, fresh] = tried_.try_emplace({s.wiring->id, pick}, t);
    if (!fresh || t.passes) return at->second;
    ++(t.undecided || t.check.empty() ? s.count.undecided : s.count.failed);
    if (!t.check.empty()) out_.rejected[t.check] += 1;
    note_miss(s, pick, t);
    return at->second;
  }

  void note_miss(const Space& s, const Pick& pick, const Tried& t) {
    const double cost = cost_of(s, pick);
    NearMiss& n = misses_[s.wiring->id];
    if (!t.check.empty() && (n.check_id.empty() || cost < n.floor))
      n = {s.wiring->title, t.check, t.subject, t.value, t.limit, cost, t.unit};
  }

  // --- everything cheaper
  // ---------------------------------------------------------------------------------------------

  struct Open {
    double cost;
    std::size_t space;
    Pick pick;
    bool operator>(const Open& o) const {
      return std::tie(cost, space, pick) > std::tie(o.cost, o.space, o.pick);
    }
  };

  /// Never above the landed cost of the pick, and rising with every role's choice: a sum over
  /// roles.
  double bound(const Space& s, const Pick& pick) const {
    std::set<std::string> classes;
    for (const RoleChoices& r : s.roles)
      if (!r.role->optional) classes.insert(r.role->part_class);
    double sum = floor_base(brief_, static_cast<int>(classes.size()));
    for (std::size_t r = 0; r < pick.size(); ++r) sum += s.roles[r].list[pick[r]].cost;
    return sum;
  }

  /// Candidates by rising floor, until the floor reaches the winner's landed cost. Those that
  /// really cost less than the winner are proven one by one, at every setting.
  void exhaust() {
    std::priority_queue<Open, std::vector<Open>, std::greater<>> heap;
    std::set<std::pair<std::size_t, Pick>> seen;
    for (std::size_t i = 0; i < spaces_.size(); ++i)
      if (spaces_[i].usable) {
        Pick first(spaces_[i].roles.size(), 0);
        heap.push({bound(spaces_[i], first), i, first});
        seen.insert({i, first});
      }
    complete_ = true;
    long done = 0;
    while (!heap.empty()) {
      const Open top = heap.top();
      if (!found_.empty() && top.cost >= found_.front().cost.total) break;
      if (late()) {
        complete_ = false;
        undecided_floor_ = top.cost;
        break;
      }
      heap.pop();
      Space& s = spaces_[top.space];
      visit(s, top.pick);
      if (o_.progress) o_.progress(++done, top.cost);
      for (std::size_t r = 0; r < top.pick.size(); ++r) {
        Pick next = top.pick;
        if (++next[r] >= s.roles[r].list.size() || !seen.insert({top.space, next}).second) continue;
        heap.push({bound(s, next), top.space, std::move(next)});
      }
    }
  }

  void visit(Space& s, const Pick& pick) {
    if (tried_.contains({s.wiring->id, pick}) || accepted_.contains({s.wiring->id, pick})) return;
    if (!found_.empty() && cost_of(s, pick) >= found_.front().cost.total) return;
    const auto settings = settings_of(*s.wiring);
    std::vector<Tried> tried(settings.size());
    o_.parallel(settings.size(),
                [&](std::size_t k) { tried[k] = attempt(s, pick, {settings[k]}, false); });
    for (const Tried& t : tried)
      if (t.passes) {
        accept(s, pick, t.settings);
        std::stable_sort(found_.begin(), found_.end(), [](const Ranked& a, const Ranked& b) {
          return a.cost.total < b.cost.total;
        });
        return;
      }
    Tried all = tried.front();
    for (const Tried& t : tried) all.undecided = all.undecided || t.undecided;
    remember(s, pick, all);
  }

  // --- words
  // ------------------------------------------------------------------------------------------------------------

  /// No driver can push a current through this winding at this rate if the back-EMF alone exceeds
  /// the supply.
  bool impossible() {
    const double k = motor_constant(brief_.motor) * (1.0 - brief_.motor.torque_tolerance);
    const double w =
        brief_.motion.rate_steps_s * 2.0 * 3.141592653589793 / brief_.motor.steps_per_turn;
    const double v1 =
        4.0 / 3.141592653589793 * brief_.supply.voltage_V * (1.0 + brief_.supply.tolerance);
    const double r =
        brief_.motor.winding_resistance_ohm * (1.0 - brief_.motor.resistance_tolerance);
    const double x = 2.0 * 3.141592653589793 / 4.0 * brief_.motion.rate_steps_s *
                     brief_.motor.winding_inductance_H * (1.0 - brief_.motor.inductance_tolerance);
    const double z = std::hypot(r, x), load = (brief_.load.torque_Nm / brief_.load.gear_efficiency +
                                               std::abs(brief_.load.gravity_torque_Nm)) /
                                              brief_.load.gear_ratio;
    // Greatest pull-out torque of a lossless driver: K V1/Z - K^2 w R/Z^2 is greatest at one K;
    // take the best of the box.
    double most = -1e300;
    for (double scale :
         {1.0 - brief_.motor.torque_tolerance, 1.0, 1.0 + brief_.motor.torque_tolerance}) {
      const double kk = k / (1.0 - brief_.motor.torque_tolerance) * scale;
      most = std::max(most, kk * v1 / z - kk * kk * w * r / (z * z));
    }
    if (most > load) return false;
    out_.impossible_key = "motion.rate";
    out_.impossible_why =
        "at this rate the winding's impedance and back-EMF leave less torque than the load asks, "
        "even from a driver without loss";
    return true;
  }

  void finish() {
    for (Space& s : spaces_) {
      s.count.beyond_cost =
          s.count.total - s.count.screened - s.count.failed - s.count.passed - s.count.undecided;
      out_.space[s.wiring->id] = s.count;
    }
    for (auto& [id, n] : misses_)
      if (!n.check_id.empty()) out_.near_misses.push_back(n);
    out_.cancelled = o_.stop.stop_requested();
    double undecided = 0;
    for (const Space& s : spaces_) undecided += s.count.undecided;
    if (undecided > 0)
      out_.undecided.push_back(significant(undecided, 6) +
                               " candidates ended without a finished proof");
    if (!complete_)
      out_.undecided.push_back("candidates with a floor cost from " +
                               significant(undecided_floor_, 4) +
                               " on were not visited: out of time");
    if (found_.size() > static_cast<std::size_t>(o_.top))
      found_.erase(found_.begin() + o_.top, found_.end());
    out_.nothing_cheaper = !found_.empty() && complete_ && undecided == 0 && !out_.cancelled;
    out_.designs = std::move(found_);
    out_.claim =
        out_.designs.empty() ? "no candidate passed"
        : out_.nothing_cheaper
            ? "nothing cheaper passes, under these rules, templates, settings and this motor"
            : "the cheapest found; cheaper candidates were left undecided";
  }

  const Brief& brief_;
  const std::vector<Assumed>& assumed_;
  const std::vector<Part>& parts_;
  const SearchOptions& o_;
  std::vector<Space> spaces_;
  std::vector<Ranked> found_;
  std::map<std::pair<std::string, Pick>, Tried> tried_;
  std::set<std::pair<std::string, Pick>> accepted_;
  std::map<std::string, std::map<std::string, double>> screened_roles_;
  std::map<std::string, std::vector<std::map<std::string, std::string>>> hints_;
  std::map<std::string, NearMiss> misses_;
  SearchResult out_;
  bool complete_ = false;
  double undecided_floor_ = 0;
};

}  // namespace

SearchResult search(const Brief& brief, const std::vector<Assumed>& assumed,
                    const std::vector<Template>& templates, const std::vector<Part>& parts,
                    const SearchOptions& options) {
  return Search(brief, assumed, templates, parts, options).run();
}

}  // namespace pb
