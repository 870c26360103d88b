// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/conflicts.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>
#include <set>
#include <span>

#include "base/check.h"
#include "base/math.h"
#include "judgement/checks_parts.h"
#include "judgement/evidence.h"
#include "judgement/hand.h"
#include "physics/sense_path.h"

namespace pb {
namespace {

bool across_rail(const Template& t, const Role& r) {
  return std::all_of(t.places.begin(), t.places.end(),
                     [&](const Place& p) { return p.role != r.name || checks::across_rail(p); });
}

/// Roles that a resting state reads: all but capacitors, which carry nothing then, and clamps
/// across the rail, whose knee the screens have put above the highest supply.
std::vector<bool> standing_roles(const Space& s, const Design&) {
  std::vector<bool> out(s.roles.size(), false);
  for (std::size_t r : s.core) {
    const Role& role = *s.roles[r].role;
    const bool clamp = role.part_class == "zener" && across_rail(*s.wiring, role);
    out[r] = !is_capacitor(role.part_class) && !clamp;
  }
  return out;
}

/// How far the rail rises when the supply is plugged in is a matter of what stands across it: the
/// legs add a thousandth of its capacitance, and what they may conduct can only hold it down. How
/// far it may rise is a rating: of one of those parts, or of the part whose rating it is.
std::vector<bool> rail_roles(const Space& s, const Design& d) {
  std::vector<bool> out(s.roles.size(), false);
  const double rating = checks::rail_rating(Case{d, {}, 0.0, 0, ""});
  for (std::size_t r : s.core) {
    const Role& role = *s.roles[r].role;
    if (!d.parts.contains(role.name)) {
      out[r] = across_rail(*s.wiring, role);
      continue;
    }
    Design alone = d;
    for (const RoleChoices& other : s.roles)
      if (other.role != &role) alone.parts.erase(other.role->name);
    const Case c{alone, {}, 0.0, 0, ""};
    out[r] = across_rail(*s.wiring, role) || checks::rail_rating(c) <= rating * (1.0 + 1e-9);
  }
  return out;
}

/// The current that a drive takes in pulses is the capacitors' to share: a clamp below its knee
/// takes none.
std::vector<bool> capacitor_roles(const Space& s, const Design&) {
  std::vector<bool> out(s.roles.size(), false);
  for (std::size_t r : s.core)
    out[r] = is_capacitor(s.roles[r].role->part_class) && across_rail(*s.wiring, *s.roles[r].role);
  return out;
}

/// Whether the ripple of a capacitor is what the windings draw in periods. It is not where the
/// switches set the current, nor where two of a leg conduct at once for an edge: peaks below the
/// rating, lasting next to no time, add next to nothing to a value past it.
bool ripple_of_windings(const Design& d, const Verdict& v, const Check& ripple) {
  if (!regulated(d.brief)) return false;
  std::set<std::string> seen;
  for (const Check& c : v.checks) {
    if (c.id != "shoot_through_edge") continue;
    if (!(c.value < ripple.limit)) return false;
    seen.insert(c.subject);
  }
  return std::ranges::all_of(d.wiring.legs, [&](const Leg& l) { return seen.contains(l.output); });
}

/// Where a chip measures, the windings' current is what it compares with, whoever feeds it.
bool measured_by_chip(const Design& d, const Verdict&, const Check&) {
  return measures_current(d.brief) && std::ranges::any_of(d.parts, [](const auto& p) {
           return physics::is_chopper_chip(*find_part_class(p.second.part_class));
         });
}

/// Driver chips.
std::vector<bool> chip_roles(const Space& s, const Design&) {
  std::vector<bool> out(s.roles.size(), false);
  for (std::size_t r : s.core)
    out[r] = is_driver_chip(*find_part_class(s.roles[r].role->part_class));
  return out;
}

/// How far past its limit a check must be, as a share of the limit, before the parts it does not
/// name are taken to have no say in it; where a condition is given, if it holds.
struct Rule {
  std::string_view check;
  double clear;
  std::vector<bool> (*roles)(const Space&, const Design&);
  bool any_stop, any_values, any_setting;
  bool (*holds)(const Design&, const Verdict&, const Check&) = nullptr;
};
constexpr Rule kRules[] = {
    // Of a chip that measures: squares of that current and edges at the supply's voltage, which a
    // soft rail changes by some per cent; and what back-EMF adds to it, which no rail does.
    {"switch_junction", 0.1, chip_roles, false, false, false, measured_by_chip},
    {"switch_peak", 0.05, chip_roles, false, false, false, measured_by_chip},
    // Of the rail alone; the legs add a thousandth to its capacitance.
    {"hot_plug", 0.02, rail_roles, true, true, true},
    // What the motor gives back is the motor's; the diodes on its way keep a drop or two of the
    // rail's voltage more or less, a tenth.
    {"clamp_energy", 0.5, rail_roles, false, true, false},
    {"rail_peak", 0.25, rail_roles, false, true, false},
    // What a winding draws in periods is the regulation's; drops on its way make it a little less.
    {"capacitor_ripple", 0.5, capacitor_roles, true, true, false, ripple_of_windings},
    // A chip that measures lets through its reference, and its drops are a tenth of the winding's.
    {"capacitor_ripple", 0.25, capacitor_roles, true, true, false, measured_by_chip},
    // Read where a state has settled: capacitors carry nothing then.
    {"gate_drive_on", 0.02, standing_roles, true, false, false},
    {"base_drive_on", 0.02, standing_roles, true, false, false},
    {"gate_off", 0.02, standing_roles, true, false, false},
    {"shoot_through_reset", 0.02, standing_roles, true, false, false},
    {"permanent_hold", 0.02, standing_roles, true, false, false},
};

}  // namespace

Refuted refuted_by(const Space& s, const Design& design, const Proof& proof) {
  const auto said = [&](const Check& c) {
    Refuted out;
    out.check = c.id, out.subject = c.subject, out.unit = c.unit;
    out.value = c.value, out.limit = c.limit, out.corner = c.corner;
    return out;
  };
  const Check* worst = nullptr;
  for (const Check& c : proof.verdict.checks)
    if (!c.passes && (!worst || c.margin < worst->margin)) worst = &c;
  PB_CHECK(worst != nullptr, s.wiring->id);
  if (proof.standing) {
    Refuted out = said(*worst);
    out.roles = standing_roles(s, design);
    out.any_stop = out.same_hold = out.standing = true;
    return out;
  }
  std::vector<Refuted> by_rule;
  for (const Rule& rule : kRules)
    for (const Check& c : proof.verdict.checks)
      if (c.id == rule.check && -c.margin > rule.clear &&
          !c.facts.contains(kOscillates) &&  // which every part of it may have a say in
          (!rule.holds || rule.holds(design, proof.verdict, c))) {
        Refuted out = said(c);
        out.roles = rule.roles(s, design);
        out.any_stop = rule.any_stop;
        out.any_values = rule.any_values;
        out.any_setting = rule.any_setting;
        by_rule.push_back(std::move(out));
      }
  if (!by_rule.empty()) {
    Refuted out = std::move(by_rule.front());
    out.others.assign(std::make_move_iterator(by_rule.begin() + 1),
                      std::make_move_iterator(by_rule.end()));
    return out;
  }
  Refuted out = said(*worst);
  out.roles.assign(s.roles.size(), false);
  for (std::size_t r : s.core) out.roles[r] = true;
  return out;
}

namespace {

/// What a resting state sees of a part: its resistance or drop, what it takes to turn it on, what
/// it leaks.
constexpr std::string_view kSeenAtRest[] = {
    "rds_max", "threshold_max", "threshold_min", "hfe_min", "vf_high_max",
    "ir_max",  "ir_hot_max",    "vce_sat_max",   "vz",      "on_resistance_max"};

/// Indices of the choices of a role that have the least or the most of what a resting state sees.
std::set<std::size_t> extremes(const RoleChoices& role) {
  std::set<std::size_t> out;
  const PartClass* c = find_part_class(role.role->part_class);
  PB_CHECK(c != nullptr, role.role->part_class);
  for (std::string_view name : kSeenAtRest) {
    const int f = figure_index(*c, name);
    if (f < 0) continue;
    std::optional<std::size_t> least, most;
    const auto value = [&](std::size_t k) {
      return role.list[k].part()->figures[static_cast<std::size_t>(f)];
    };
    for (std::size_t k = 0; k < role.list.size(); ++k) {
      if (!role.list[k].kind || !given(value(k))) continue;
      if (!least || value(k) < value(*least)) least = k;
      if (!most || value(k) > value(*most)) most = k;
    }
    if (least && value(*least) < value(*most)) out.insert({*least, *most});
  }
  if (role.role->optional) out.insert(0);
  return out;
}

}  // namespace

void leave_out_bystanders(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                          const Pick& pick, const Settings& settings, const ParallelFor& parallel,
                          Refuted& why) {
  const auto margin = [&](const Pick& p) {
    return standing_margin(design_of(brief, assumed, s, p, settings, Resistors::finest), why.corner,
                           why.check, why.subject);
  };
  const double past = -margin(pick);
  struct Effect {
    double most;
    std::size_t role;
    auto operator<=>(const Effect&) const = default;
  };
  std::vector<Effect> effects;  // the most that other choices of each role change the margin
  for (std::size_t r : s.core)
    if (why.roles[r] && !is_resistor(s.roles[r])) effects.push_back({0.0, r});
  parallel(effects.size(), [&](std::size_t at) {
    auto& [most, r] = effects[at];
    for (std::size_t k : extremes(s.roles[r])) {
      if (k == pick[r] || most > 0.5 * past) continue;
      Pick other = pick;
      other[r] = k;
      most = std::max(most, past + margin(other));
    }
  });
  std::sort(effects.begin(), effects.end());
  double together = 0;
  for (const Effect& e : effects)
    if (together + e.most <= 0.5 * past) together += e.most, why.roles[e.role] = false;
}

namespace {

/// What a running driver sees of the rail: how much it holds (a ceramic by its rating as well), how
/// fast it gives, where it is held.
constexpr std::string_view kSeenOfRail[] = {"capacitance", "voltage_max", "left_at_rating", "esr",
                                            "vz"};

/// Checks of the rail itself, which what stands across it decides.
constexpr std::string_view kOfTheRail[] = {"clamp_standoff",   "clamp_energy",     "clamp_power",
                                           "rail_peak",        "rail_dip",         "hot_plug",
                                           "supply_mean",      "supply_peak",      "supply_inrush",
                                           "capacitor_ripple", "capacitor_voltage"};

/// Every role across the rail with its choice of least, or of most, of one figure; one that may be
/// left out is, where it has no such figure and on the side of least.
Pick rail_extreme(const Space& s, const Pick& pick, std::string_view name, bool most) {
  Pick out = pick;
  for (std::size_t r : s.core) {
    const RoleChoices& role = s.roles[r];
    if (!across_rail(*s.wiring, *role.role)) continue;
    const int f = figure_index(*find_part_class(role.role->part_class), name);
    if (role.role->optional && (f < 0 || !most)) out[r] = 0;
    if (f < 0) continue;
    double best = 0;
    bool any = false;
    for (std::size_t k = 0; k < role.list.size(); ++k) {
      const Part* p = role.list[k].part();
      if (!p || (role.role->optional && !most)) continue;
      const double x = p->figures[static_cast<std::size_t>(f)];
      if (!given(x) || (any && (most ? x <= best : x >= best))) continue;
      any = true, best = x, out[r] = k;
    }
  }
  return out;
}

/// The pick with that choice of a role that has the most or the least of a figure.
Pick with_extreme(const Space& s, const Pick& pick, std::size_t role, std::string_view name,
                  bool most) {
  Pick out = pick;
  const RoleChoices& choices = s.roles[role];
  const int f = figure_index(*find_part_class(choices.role->part_class), name);
  std::optional<double> best;
  for (std::size_t k = 0; f >= 0 && k < choices.list.size(); ++k) {
    const Part* p = choices.list[k].part();
    const double x = p ? p->figures[static_cast<std::size_t>(f)] : kNotGiven;
    if (!given(x) || (best && (most ? x <= *best : x >= *best))) continue;
    best = x, out[role] = k;
  }
  return out;
}

/// Whether all these picks fail the same check at the same corner, none by half of what it is past
/// its limit off.
bool fails_alike(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                 const std::vector<Pick>& picks, const Settings& settings,
                 const ParallelFor& parallel, const StopToken& stop, const Refuted& why) {
  const double past = std::abs(why.value - why.limit) / std::abs(why.limit);
  const auto alike = [&](const Pick& pick) {
    ProofOptions o;
    o.stop = stop, o.fail_first = true, o.depth = Depth::trial;
    if (!why.corner.empty()) o.try_first = {why.corner};
    const Proof p = prove(design_of(brief, assumed, s, pick, settings, Resistors::finest), o);
    return std::ranges::any_of(p.verdict.checks, [&](const Check& c) {
      return c.id == why.check && c.subject == why.subject && c.corner == why.corner && !c.passes &&
             std::abs(c.value - why.value) < 0.5 * past * std::abs(why.limit);
    });
  };
  constexpr std::size_t kAtOnce = 2;  // most that matter show at the first
  for (std::size_t at = 0; at < picks.size(); at += kAtOnce) {
    std::vector<char> yes(std::min(kAtOnce, picks.size() - at), 0);
    parallel(yes.size(), [&](std::size_t k) { yes[k] = alike(picks[at + k]) ? 1 : 0; });
    if (stop.stop_requested() || std::ranges::count(yes, 0) > 0) return false;
  }
  return true;
}

}  // namespace

bool reads_all(const Space& s, const Refuted& why) {
  return !why.standing &&
         std::all_of(s.core.begin(), s.core.end(), [&](std::size_t r) { return why.roles[r]; });
}

Pick without_rail(const Space& s, const Pick& pick) {
  Pick out = pick;
  for (std::size_t r : s.core)
    if (across_rail(*s.wiring, *s.roles[r].role)) out[r] = 0;
  return out;
}

std::optional<Pick> ripple_alone(const Space& s, const Pick& pick, const Refuted& why) {
  if (why.check != "capacitor_ripple") return std::nullopt;
  const Place* subject = find_place(*s.wiring, why.subject);
  Pick out = pick;
  for (std::size_t r = 0; r < s.roles.size(); ++r) {
    const bool capacitor = is_capacitor(s.roles[r].role->part_class);
    if (why.roles[r] && !capacitor) return std::nullopt;
    if (!subject || !why.roles[r] || s.roles[r].role->name != subject->role) out[r] = 0;
  }
  return subject ? std::optional(out) : std::nullopt;
}

void leave_out_capacitors(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                          const Pick& pick, const Settings& settings, const ParallelFor& parallel,
                          const StopToken& stop, Refuted& why) {
  const Place* subject = find_place(*s.wiring, why.subject);
  std::vector<bool> others = why.roles;
  std::vector<Pick> ends;
  for (std::size_t r = 0; r < s.roles.size(); ++r) {
    others[r] = others[r] && s.roles[r].role->name != subject->role;
    if (!others[r]) continue;
    for (std::string_view name : {"capacitance", "esr"})
      for (bool most : {true, false})
        if (Pick end = with_extreme(s, pick, r, name, most);
            end != pick && std::find(ends.begin(), ends.end(), end) == ends.end())
          ends.push_back(std::move(end));
  }
  if (!fails_alike(brief, assumed, s, ends, settings, parallel, stop, why)) return;
  for (std::size_t r = 0; r < s.roles.size(); ++r)
    if (others[r]) why.roles[r] = false;
}

std::optional<Refuted> holds_too_little(const Space& s, const Design& other,
                                        const Refuted& before) {
  // How much comes back depends on the rail a little: a stiff one at the supply's voltage takes
  // 1 - ln 2 of V I L/R, 0.61 of L I^2/2, where the current is at most V/R; none takes more than
  // all. Twice that ratio is left for what else may differ.
  constexpr double kClear = 2.0 / 0.61;
  const bool capacitors = before.check == "clamp_energy" && !find_place(*s.wiring, before.subject);
  const bool clamped = std::ranges::any_of(s.core, [&](std::size_t r) {
    const Role& role = *s.roles[r].role;
    return role.part_class == "zener" && across_rail(*s.wiring, role) &&
           other.parts.contains(role.name);
  });
  if (!capacitors || clamped) return std::nullopt;
  const Case c = case_of(other);
  physics::Point p = physics::typical(c.spreads);
  for (std::size_t k = 0; k < c.spreads.size(); ++k)
    if (const auto side = before.corner.find(c.spreads[k].name); side != before.corner.end())
      p.value[k] = side->second == "min" ? c.spreads[k].min : c.spreads[k].max;
  const checks::Paper paper(c, p);
  const double room_J =
      paper.rail_stored_J(checks::rail_rating(c)) - paper.rail_stored_J(paper.supply_V());
  if (before.value < kClear * std::max(room_J, 0.0)) return std::nullopt;
  Refuted out = before;
  out.limit = std::max(room_J, 0.0);
  out.roles = rail_roles(s, other);
  out.any_stop = out.any_setting = false, out.any_values = true;
  return out;
}

void leave_out_rail(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                    const Pick& pick, const Settings& settings, const ParallelFor& parallel,
                    const StopToken& stop, Refuted& why) {
  // Less than this is a matter of a run's accuracy.
  constexpr double kClear = 0.005;
  const double past = std::abs(why.value - why.limit) / std::abs(why.limit);
  if (!(past > kClear) || std::ranges::count(kOfTheRail, why.check) > 0) return;
  std::vector<Pick> ends;
  for (std::string_view name : kSeenOfRail)
    for (bool most : {false, true})
      if (Pick end = rail_extreme(s, pick, name, most);
          end != pick && std::find(ends.begin(), ends.end(), end) == ends.end())
        ends.push_back(std::move(end));
  if (!fails_alike(brief, assumed, s, ends, settings, parallel, stop, why)) return;
  for (std::size_t r : s.core)
    if (across_rail(*s.wiring, *s.roles[r].role)) why.roles[r] = false;
}

Conflicts::Key Conflicts::key_of(const Pick& pick, const Reads& reads) {
  Key out;
  out.reserve(reads.size());
  for (std::size_t r : reads) out.push_back(pick[r]);
  return out;
}

void Conflicts::learn(const Space& s, const Pick& pick, std::size_t setting, const Refuted& why) {
  at_.resize(s.settings.size());
  Reads reads;
  for (std::size_t r = 0; r < pick.size(); ++r)
    if (why.roles[r]) reads.push_back(r);
  std::size_t depth = 0;
  for (std::size_t k = 0; k < s.core.size(); ++k)
    if (why.roles[s.core[k]]) depth = k + 1;
  const Key key = key_of(pick, reads);
  const Settings& here = s.settings[setting];
  for (std::size_t k = 0; k < s.settings.size(); ++k) {
    const Settings& there = s.settings[k];
    const bool holds =
        (there.sequence == here.sequence ||
         (why.same_hold && hold_flow_of(there.sequence) == hold_flow_of(here.sequence))) &&
        there.decay == here.decay && (why.any_stop || there.stop == here.stop) &&
        (why.any_values || there.value == here.value);
    if (!why.any_setting && !holds) continue;
    Group& group = at_[k][reads];
    group.depth = depth;
    group.keys.emplace(key, why.check);
  }
}

const std::string* Conflicts::find(const Pick& pick, std::size_t depth, std::size_t setting) const {
  if (setting >= at_.size()) return nullptr;
  for (const auto& [reads, group] : at_[setting]) {
    if (group.depth > depth) continue;
    if (const auto k = group.keys.find(key_of(pick, reads)); k != group.keys.end())
      return &k->second;
  }
  return nullptr;
}

const std::string* Conflicts::find_alone(const Pick& pick, std::size_t role,
                                         std::size_t setting) const {
  if (setting >= at_.size()) return nullptr;
  const auto group = at_[setting].find({role});
  if (group == at_[setting].end()) return nullptr;
  const auto k = group->second.keys.find({pick[role]});
  return k != group->second.keys.end() ? &k->second : nullptr;
}

}  // namespace pb
