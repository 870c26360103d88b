// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/proof.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <memory>
#include <optional>
#include <span>

#include "base/check.h"
#include "judgement/corners.h"
#include "physics/chopped_run.h"

namespace pb {
namespace {

using namespace physics;
class Prover {
 public:
  Prover(const Design& d, const ProofOptions& o) : design_(d), o_(o) {}

  Proof run() {
    case_ = std::make_unique<Case>(case_of(design_));
    case_->drive_edit = o_.drive_edit;
    proof_.verdict.not_judged = ids_not_judged();
    // Only chopping makes anything stand still with edges in it.
    if (has_means(design_) && !set_dead_time()) return finish();
    if (o_.fail_first) standing_still();
    if (done() || o_.depth == Depth::standing) return finish();
    if (!set_dead_time()) return finish();
    if (o_.depth == Depth::trial) killer();
    if (done()) return finish();
    nominal();
    if (done()) return finish();
    hints();
    if (done() || o_.depth == Depth::trial) return finish();
    sensitivities();
    if (done()) return finish();
    corners();
    return finish();
  }

 private:
  // Of a run's figures at the usual tolerances; a tenth of them costs a tenth of it. Those of a
  // chopped drive on means are further off.
  static constexpr double kMeansAccuracy = 0.05, kSharper = 0.1;

  bool set_dead_time() {
    if (proof_.dead_time_s > 0) return true;
    case_->dead_time_s = proof_.dead_time_s = dead_time_of(*case_);
    if (!given(case_->dead_time_s))
      undecided(
          "dead time: a switch does not turn off within half a step, or the driver oscillates");
    return given(case_->dead_time_s);
  }

  bool done() {
    if (o_.stop.stop_requested()) proof_.cancelled = true;
    if (proof_.cancelled || rings_ || !proof_.verdict.undecided.empty()) return true;
    return has_failed();
  }
  /// Clearly, where that is all that is asked.
  bool has_failed() const {
    return o_.fail_first && std::any_of(found_.begin(), found_.end(), [](const auto& f) {
             return margin(f.second) < -allowance(f.second);
           });
  }
  void undecided(const std::string& why) {
    auto& u = proof_.verdict.undecided;
    if (std::find(u.begin(), u.end(), why) == u.end()) u.push_back(why);
  }
  By usually() const { return has_means(design_) ? By::means : By::edges; }
  void come_by(Found& f, By by) const {
    const Accuracy& of_runs = f.row->accuracy;
    f.by = by;
    f.accuracy = by == By::means   ? std::max(kMeansAccuracy, of_runs.usual)
                 : by == By::edges ? of_runs.usual
                                   : of_runs.sharp;
  }

  /// Reads every check (or those of one kind) off one point's evidence; keeps the worst.
  void read(const Signs& signs, const Evidence& e, bool is_nominal,
            std::optional<Reads> only = std::nullopt) {
    const Point p = point_of(case_->spreads, signs);
    if (const std::string why = trouble_of(e); !why.empty()) {
      if (!rings(signs, turned_on_by_ringing(*case_, p, e))) undecided(why);
      return;
    }
    for (const CheckRow& row : check_rows()) {
      if (only && row.reads != *only) continue;
      for (const Measured& m : row.measure(*case_, p, e)) {
        if (!std::isfinite(m.value) || !std::isfinite(m.limit)) {
          undecided(std::string(row.id) + " of " + m.subject +
                    " has no number: a figure is missing");
          continue;
        }
        auto [at, fresh] = found_.try_emplace({std::string(row.id), m.subject});
        Found& f = at->second;
        if (fresh) {
          f = first(row, m, signs, usually());
        } else if (margin_of(row.sense, m.value, m.limit) < margin(f) - kLastDigit) {
          f.worst = m;
          f.signs = signs;
          come_by(f, usually());
        }
        if (is_nominal) f.nominal = m.value;
      }
    }
    keep_books(e);
  }

  Found first(const CheckRow& row, const Measured& m, const Signs& signs, By by) const {
    Found f{&row, m, m.value, signs, std::vector<double>(signs.size(), 0.0), found_.size()};
    come_by(f, by);
    return f;
  }

  /// A driver that oscillates by itself and thereby turns on what is meant to be off fails,
  /// whatever the rest of its run would show. False where nothing is turned on.
  bool rings(const Signs& signs, const std::vector<Measured>& turned_on) {
    for (const Measured& m : turned_on) {
      const auto [at, fresh] = found_.try_emplace({std::string(ringing_row().id), m.subject});
      if (fresh)
        at->second = first(ringing_row(), m, signs, usually());
      else
        at->second.worst = m, at->second.signs = signs;
      rings_ = true;
    }
    return !turned_on.empty();
  }

  void keep_books(const Evidence& e) {
    double& worst = proof_.verdict.energy_residual;
    for (const RunFigures* f :
         {&e.move.figures, &e.hold.figures, &e.reset, &e.rail_only, &e.logic_only})
      worst = std::max(worst, energy_residual(f->ledger));
  }

  /// What standing still refutes already: most candidates that cannot work end here. Tried at
  /// nominal, with most heat, and with least drive: three points of the box like any other.
  void standing_still() {
    const auto push = [&](std::initializer_list<std::pair<std::string_view, int>> moved) {
      Signs s(case_->spreads.size(), 0);
      for (const auto& [name, sign] : moved)
        for (std::size_t k = 0; k < s.size(); ++k)
          if (case_->spreads[k].name == name) s[k] = sign;
      return s;
    };
    for (const Signs& signs :
         {push({}), push({{"supply.voltage", 1}, {"motor.winding_resistance", -1}, {"ambient", 1}}),
          push({{"supply.voltage", -1}, {"controller.logic_voltage", -1}, {"ambient", -1}})}) {
      refute_standing(signs);
      proof_.standing = !found_.empty();
      if (proof_.standing || o_.stop.stop_requested()) return;
    }
  }

  void refute_standing(const Signs& signs) {
    // A run stops short of rest, and at its own accuracy: a resting state refutes only what it
    // misses by more than that.
    constexpr double kClear = 0.01;
    // Of a chopped hold: means are off by up to 5 %, a single period of them a little more.
    constexpr double kClearOfMeans = 0.1;
    // Each reads what has settled, or the peak of something whose peak is no less.
    constexpr std::string_view kStill[] = {
        "gate_drive_on",  "base_drive_on",  "gate_off",       "shoot_through_reset",
        "partial_supply", "permanent_hold", "switch_voltage", "resistor_power"};
    // Of a regulated drive, whose winding current is not that of standing pins, levels, what its
    // own hold heats, and what a chip's sense resistors are to measure.
    constexpr std::string_view kLevels[] = {"gate_off", "shoot_through_reset", "partial_supply",
                                            "permanent_hold", "switch_peak"};
    const bool levels_only = regulated(design_.brief);
    const std::span<const std::string_view> readable =
        levels_only ? std::span<const std::string_view>(kLevels) : kStill;
    const Point p = point_of(case_->spreads, signs);
    const Evidence e = gather_standing(*case_, p);
    if (!trouble_of(e).empty()) return;  // the whole run will tell
    for (const CheckRow& row : check_rows()) {
      if (std::find(readable.begin(), readable.end(), row.id) == readable.end()) continue;
      const double clear = levels_only && row.id == "permanent_hold" ? kClearOfMeans : kClear;
      for (const Measured& m : row.measure(*case_, p, e))
        if (std::isfinite(m.value) && margin_of(row.sense, m.value, m.limit) < -clear)
          found_.try_emplace({std::string(row.id), m.subject}, first(row, m, signs, By::edges));
    }
  }

  void nominal() {
    const Signs typ(case_->spreads.size(), 0);
    EvidenceWanted w;
    w.waveforms = !has_means(design_);  // else every_edge() takes them
    w.torque = w.scan = w.patterns = o_.depth == Depth::whole;
    w.parallel = &o_.parallel;
    nominal_ = gather(*case_, point_of(case_->spreads, typ), w, o_.stop);
    has_nominal_ = trouble_of(nominal_).empty();
    least_torque_ = nominal_.torque_factor;
    proof_.nominal = nominal_.move.figures;
    proof_.plan = move_plan(*case_);
    read(typ, nominal_, true);
    settle_misses();
    progress(0.15);
  }

  /// A chopped drive's means say where it is tightest; there, and at nominal, every edge is run,
  /// and what that shows stands.
  void every_edge() {
    const Found* least = nullptr;
    for (const auto& [key, f] : found_)
      if (f.row->reads == Reads::waveform && !is_of_the_design(f.row->id) &&
          (!least || tighter(&f, least)))
        least = &f;
    std::vector<Signs> list{Signs(case_->spreads.size(), 0)};
    if (least && least->signs != list.front()) list.push_back(least->signs);
    std::vector<Evidence> e(list.size());
    o_.parallel(list.size(), [&](std::size_t k) {
      EvidenceWanted w;
      w.every_edge = true, w.nominal = &nominal_, w.waveforms = k == 0;
      e[k] = gather(*case_, point_of(case_->spreads, list[k]), w, o_.stop);
    });
    if (o_.stop.stop_requested()) return;
    proof_.nominal = e.front().move.figures;
    for (std::size_t k = 0; k < list.size(); ++k) stands(list[k], e[k]);
  }

  /// A miss by less than means may be off by would leave a search that asks only whether anything
  /// fails to go on to the end of its proof: every edge of its corner settles it there and then.
  void settle_misses() {
    constexpr int kMost = 2;  // what stays as near to its limit as that is left to the end
    if (!o_.fail_first || !has_means(design_)) return;
    while (!done() && settled_ < kMost) {
      const auto open = std::find_if(found_.begin(), found_.end(), [](const auto& f) {
        return margin(f.second) < 0 && f.second.by == By::means &&
               f.second.row->reads == Reads::waveform && !is_of_the_design(f.second.row->id);
      });
      if (open == found_.end()) return;
      const Signs signs = open->second.signs;
      ++settled_;
      EvidenceWanted w;
      w.every_edge = true;
      if (has_nominal_) w.nominal = &nominal_;
      stands(signs, gather(*case_, point_of(case_->spreads, signs), w, o_.stop));
      if (open->second.signs == signs && open->second.by == By::means) return;
    }
  }

  /// Numbers of every edge, in the place of those of the means at the same corner.
  void stands(const Signs& signs, const Evidence& e) {
    if (const std::string why = trouble_of(e); !why.empty()) return undecided(why);
    const Point p = point_of(case_->spreads, signs);
    for (const CheckRow& row : check_rows()) {
      if (row.reads != Reads::waveform) continue;
      for (const Measured& m : row.measure(*case_, p, e)) {
        const auto f = found_.find({std::string(row.id), m.subject});
        if (f == found_.end() || !std::isfinite(m.value) || !std::isfinite(m.limit)) continue;
        const bool worse = margin_of(row.sense, m.value, m.limit) < margin(f->second) - kLastDigit;
        if (!worse && f->second.signs != signs) continue;
        f->second.worst = m, f->second.signs = signs;
        come_by(f->second, By::edges);
      }
    }
    keep_books(e);
  }

  Signs signs_of(const std::map<std::string, std::string>& corner) const {
    Signs s(case_->spreads.size(), 0);
    for (std::size_t k = 0; k < s.size(); ++k)
      if (const auto side = corner.find(case_->spreads[k].name); side != corner.end())
        s[k] = side->second == "min" ? -1 : 1;
    return s;
  }

  /// What killed a similar design most likely kills this one: even before nominal.
  void killer() {
    if (!o_.try_first.empty()) evaluate({signs_of(o_.try_first.front())}, 0.0, 0.1);
  }

  void hints() {
    std::vector<Signs> list;
    list.reserve(o_.try_first.size());
    for (const auto& corner : o_.try_first) list.push_back(signs_of(corner));
    if (o_.depth == Depth::trial && !list.empty()) list.erase(list.begin());  // the killer
    evaluate(list, 0.15, 0.2);
  }

  std::map<std::string, std::string> named(const Signs& signs) const {
    std::map<std::string, std::string> out;
    for (std::size_t k = 0; k < signs.size(); ++k)
      if (signs[k] != 0) out[case_->spreads[k].name] = signs[k] < 0 ? "min" : "max";
    return out;
  }

  /// What the margins make of each figure, and of both supplies at once.
  void sensitivities() {
    slopes_about(Signs(case_->spreads.size(), 0));
    progress(0.35);
    for (const Signs& rails : rails_apart(case_->spreads)) both_rails(rails);
    progress(0.4);
  }

  /// visit(found, measured) for every number of this point, at the nominal temperatures.
  template <class F>
  void at_point(const Signs& signs, const Evidence& e, F visit) {
    if (!trouble_of(e).empty()) return;  // the corner itself will tell
    const Point p = point_of(case_->spreads, signs);
    for (const CheckRow& row : check_rows())
      for (const Measured& m : row.measure(*case_, p, e))
        if (const auto f = found_.find({std::string(row.id), m.subject}); f != found_.end())
          visit(f->second, m);
  }

  // Margins are compared, not values: a limit may move with the figure (a rail against its own
  // supply).
  static double nominal_margin(const Found& f) {
    return margin_of(f.row->sense, f.nominal, f.worst.limit);
  }

  /// One figure at a time from there to its far end: into the slopes of the checks that this is
  /// the joint move of, or of all.
  void slopes_about(const Signs& base) {
    const std::size_t n = case_->spreads.size();
    const bool of_all = std::count(base.begin(), base.end(), 0) == std::ssize(base);
    std::vector<Evidence> moved(n);
    std::vector<Signs> to(n, base);
    EvidenceWanted w;
    w.heat = false, w.nominal = &nominal_;
    o_.parallel(n, [&](std::size_t k) {
      to[k][k] = base[k] == 0 ? far_end(case_->spreads[k]) : base[k];
      if (to[k] != base) moved[k] = gather(*case_, point_of(case_->spreads, to[k]), w, o_.stop);
    });
    for (std::size_t k = 0; k < n; ++k)
      if (to[k] != base)
        at_point(to[k], moved[k], [&](Found& f, const Measured& m) {
          if (!of_all && f.joint != base) return;
          const double before = of_all ? nominal_margin(f) : f.joint_margin;
          f.slope[k] = to[k][k] * (margin_of(f.row->sense, m.value, m.limit) - before);
        });
  }

  /// Where the two do more than each by itself, that is where the others' slopes are told.
  void both_rails(const Signs& rails) {
    EvidenceWanted w;
    w.heat = false, w.nominal = &nominal_;
    at_point(rails, gather(*case_, point_of(case_->spreads, rails), w, o_.stop),
             [&](Found& f, const Measured& m) {
               note_joint(f, nominal_margin(f), rails, margin_of(f.row->sense, m.value, m.limit));
             });
    if (std::any_of(found_.begin(), found_.end(),
                    [&](const auto& f) { return f.second.joint == rails; }))
      slopes_about(rails);
  }

  void evaluate(const std::vector<Signs>& list, double from, double to) {
    // In groups, so that a failing corner ends a fail-first proof early, and a corner need only
    // tell whether it carries less than those before; the same way for any number of threads.
    const std::size_t group = o_.fail_first ? 2 : 8;
    for (std::size_t at = 0; at < list.size() && !done(); at += group) {
      const std::size_t count = std::min(group, list.size() - at);
      std::vector<Evidence> e(count);
      const std::optional<double> torque_known = least_torque_;
      o_.parallel(count, [&](std::size_t k) {
        EvidenceWanted w;
        w.torque = o_.depth == Depth::whole, w.torque_known = torque_known;
        w.torque_asked = o_.depth == Depth::corners;
        if (has_nominal_) w.nominal = &nominal_;
        e[k] = gather(*case_, point_of(case_->spreads, list[at + k]), w, o_.stop);
      });
      if (o_.stop.stop_requested()) return;
      for (std::size_t k = 0; k < count; ++k) {
        read(list[at + k], e[k], false);
        if (least_torque_ && e[k].torque_factor)
          least_torque_ = std::min(*least_torque_, *e[k].torque_factor);
        settle_misses();
      }
      progress(mix(from, to, static_cast<double>(at + count) / static_cast<double>(list.size())));
    }
  }

  void corners() {
    const std::vector<Signs> list = distinct_corners(found_);
    for (const Signs& s : list) proof_.corners.push_back(named(s));
    evaluate(list, 0.4, 0.75);
    if (done()) return;
    if (o_.depth == Depth::whole) beyond_slopes();
    if (done()) return;
    evaluate(flips(found_, case_->spreads, list), 0.75, 1.0);
    if (has_means(design_) && o_.depth == Depth::whole && !done()) every_edge();
  }

  /// What no slope tells: the scan again at the corner where the rotor lags most, and the patterns
  /// of the pins where the logic reaches least far up the supply.
  void beyond_slopes() {
    Signs lag(case_->spreads.size(), 0), reach = lag;
    for (const auto& [key, f] : found_)
      if (key.first == "start_rate") lag = f.signs;
    for (std::size_t k = 0; k < reach.size(); ++k) {
      const std::string& name = case_->spreads[k].name;
      if (name == "supply.voltage" || name == "ambient") reach[k] = 1;
      if (name == "controller.logic_voltage") reach[k] = -1;
    }
    for (const auto& [signs, reads] :
         {std::pair{lag, Reads::scan}, std::pair{reach, Reads::patterns}}) {
      EvidenceWanted w;
      w.heat = w.windows = false, w.nominal = &nominal_, w.parallel = &o_.parallel;
      w.scan = reads == Reads::scan, w.patterns = reads == Reads::patterns;
      read(signs, gather(*case_, point_of(case_->spreads, signs), w, o_.stop), false, reads);
    }
  }

  void progress(double share) const {
    if (o_.progress) o_.progress(share);
  }

  Check check_of(const Found& f) const {
    Check c;
    c.id = f.row->id, c.subject = f.worst.subject, c.unit = f.row->unit, c.sense = f.row->sense;
    c.source = f.row->source, c.help = f.row->help;
    c.value = f.worst.value, c.nominal = f.nominal, c.limit = f.worst.limit,
    c.grade = f.worst.grade;
    c.margin = margin(f);
    c.allowance = allowance(f) * std::abs(c.limit);
    if (f.by == By::small_steps && std::abs(c.margin) < allowance(f)) {
      c.value += c.sense == Sense::max ? c.allowance : -c.allowance;
      c.margin = margin_of(c.sense, c.value, c.limit);
      c.help += "; too close to call, even at a tenth of the tolerances: counts as failed";
    }
    c.passes = c.margin >= 0;
    c.inputs = inputs_of(f);
    c.hand_formula = f.worst.hand.formula, c.hand_value = f.worst.hand.value;
    c.facts = f.worst.facts;
    c.corner = named(f.signs);
    if (f.row->id == "gate_drive_on" && o_.depth == Depth::whole) winding_loss(c);
    return c;
  }

  std::vector<Input> inputs_of(const Found& f) const {
    constexpr std::size_t kStrongest = 3;
    constexpr double kTold = 1e-4;  // of the limit
    std::vector<Input> out;
    for (std::size_t k = 0; k < f.slope.size(); ++k)
      if (std::abs(f.slope[k]) > kTold) {
        const int end = far_end(case_->spreads[k]);
        out.push_back({case_->spreads[k].name, end > 0 ? "max" : "min", f.slope[k] * end});
      }
    std::stable_sort(out.begin(), out.end(), [](const Input& a, const Input& b) {
      return std::abs(a.margin_change) > std::abs(b.margin_change);
    });
    if (out.size() > kStrongest) out.resize(kStrongest);
    return out;
  }

  /// A number nearer to its limit than its own accuracy decides nothing. One of means is run again
  /// at its corner by every edge; what is still too near, at a tenth of the tolerances; and what is
  /// too near then, fails.
  void sharpen() {
    look_again(By::means, By::edges);
    look_again(By::edges, By::small_steps);
  }

  /// What was come by in the one way and is too near to tell, in the other. Where
  /// only the torque asked for was tried, what is told is whether it was carried: nothing is near.
  void look_again(By from, By to) {
    std::map<std::pair<Signs, Reads>, Evidence> sharp;
    for (auto& [key, f] : found_) {
      if (f.by != from || !(std::abs(margin(f)) < allowance(f))) continue;
      if (f.row->reads == Reads::torque && o_.depth == Depth::corners) continue;
      const Point p = point_of(case_->spreads, f.signs);
      const auto [at, fresh] = sharp.try_emplace({f.signs, f.row->reads});
      if (fresh) {
        EvidenceWanted w;
        w.tolerance = to == By::small_steps ? kSharper : 1.0, w.every_edge = true;
        if (has_means(design_) && has_nominal_) w.nominal = &nominal_;
        w.torque = f.row->reads == Reads::torque, w.scan = f.row->reads == Reads::scan;
        w.patterns = f.row->reads == Reads::patterns;
        at->second = gather(*case_, p, w, o_.stop);
      }
      if (const std::string why = trouble_of(at->second); !why.empty()) return undecided(why);
      come_by(f, to);
      for (const Measured& m : f.row->measure(*case_, p, at->second))
        if (m.subject == f.worst.subject) f.worst = m;
    }
  }

  /// Volts the winding loses across this switch: typical, and at its greatest threshold.
  void winding_loss(Check& c) const {
    const auto& typ = nominal_.move.figures.switches;
    if (const auto s = typ.find(c.subject); s != typ.end())
      c.facts["winding_loss_typ_V"] = s->second.on_drop_V;
    const Place* place = find_switched(design_.wiring, c.subject);
    if (!place) return;  // a chip's supply: no switch
    // A transistor loses most at its greatest threshold; a chip's own gates are out of sight.
    Signs signs(case_->spreads.size(), 0);
    const bool chip = is_driver_chip(*find_part_class(design_.parts.at(place->role).part_class));
    for (std::size_t k = 0; k < signs.size(); ++k)
      if (case_->spreads[k].name == place->role + (chip ? ".on_resistance" : ".threshold"))
        signs[k] = 1;
    EvidenceWanted w;
    w.heat = false, w.windows = false, w.nominal = &nominal_;
    const Evidence e = gather(*case_, point_of(case_->spreads, signs), w, o_.stop);
    if (const auto s = e.move.figures.switches.find(c.subject); s != e.move.figures.switches.end())
      c.facts["winding_loss_worst_V"] = s->second.on_drop_V;
  }

  Proof finish() {
    Verdict& v = proof_.verdict;
    if (o_.depth != Depth::trial && !proof_.cancelled && !rings_ && v.undecided.empty() &&
        !has_failed())
      sharpen();
    std::vector<const Found*> all;
    all.reserve(found_.size());
    for (const auto& [key, f] : found_) all.push_back(&f);
    std::stable_sort(all.begin(), all.end(),
                     [](const Found* a, const Found* b) { return a->order < b->order; });
    for (const Found* f : all) v.checks.push_back(check_of(*f));
    if (proof_.cancelled) undecided("cancelled");
    v.passes = v.undecided.empty() && std::all_of(v.checks.begin(), v.checks.end(),
                                                  [](const Check& c) { return c.passes; });
    return std::move(proof_);
  }

  const Design& design_;
  const ProofOptions& o_;
  std::unique_ptr<Case> case_;
  Evidence nominal_;
  bool has_nominal_ = false, rings_ = false;
  int settled_ = 0;                     // misses
  std::optional<double> least_torque_;  // factor, of all points so far
  Findings found_;
  Proof proof_;
};

}  // namespace

double standing_margin(const Design& design, const std::map<std::string, std::string>& corner,
                       const std::string& id, const std::string& subject) {
  Case c = case_of(design);
  if (has_means(design)) c.dead_time_s = dead_time_of(c);
  if (!given(c.dead_time_s)) return std::numeric_limits<double>::infinity();
  Signs signs(c.spreads.size(), 0);
  for (std::size_t k = 0; k < signs.size(); ++k)
    if (const auto side = corner.find(c.spreads[k].name); side != corner.end())
      signs[k] = side->second == "min" ? -1 : 1;
  const Point p = point_of(c.spreads, signs);
  const Evidence e = gather_standing(c, p);
  double least = std::numeric_limits<double>::infinity();
  if (!trouble_of(e).empty()) return least;
  for (const CheckRow& row : check_rows())
    if (row.id == id)
      for (const Measured& m : row.measure(c, p, e))
        if (m.subject == subject && std::isfinite(m.value))
          least = std::min(least, margin_of(row.sense, m.value, m.limit));
  return least;
}

Proof prove(const Design& design, const ProofOptions& options) {
  return Prover(design, options).run();
}

}  // namespace pb
