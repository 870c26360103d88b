// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/space.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "judgement/screens.h"
#include "physics/drive_table.h"
#include "physics/plan.h"

namespace pb {
namespace {

constexpr std::string_view kResistor = "resistor";

std::string unfit(const Brief& brief, const RoleScreen& screen, const Part& p, int places) {
  if (p.lifecycle == "obsolete") return "lifecycle";
  if (!cost_faults(brief, {{&p, places}}).empty()) return "no price";
  if (!missing_figures(p).empty()) return "missing figure";
  return screen.turns_away(p);
}

/// Places in the lists of values, each with every decay.
std::vector<std::pair<double, std::string>> levels_by_decay(
    const std::vector<std::string>& decays) {
  std::vector<std::pair<double, std::string>> out;
  for (double level : {0.5, 0.0, 1.0, 0.25, 0.75})
    for (const std::string& decay : decays) out.emplace_back(level, decay);
  return out;
}

/// Resistor values from the middle, the ends and the quarters of the template's lists, all at the
/// same place, for each sequence, stop and decay the brief leaves open.
std::vector<Settings> settings_of(const Brief& brief, const Template& t) {
  std::vector<Settings> out;
  const auto choices = [](const std::string& asked, std::vector<std::string> all) {
    return asked == "any" ? std::move(all) : std::vector<std::string>{asked};
  };
  for (const std::string& sequence :
       choices(brief.motion.sequence, {"two-phase", "one-phase", "half"})) {
    if (!physics::supports(t, sequence)) continue;
    std::vector<std::string> decays{Settings{}.decay};
    if (regulated(brief)) {
      decays = choices(brief.regulation.decay, {"diode", "slow", "fast"});
      std::erase_if(decays, [&](const std::string& decay) {
        return !physics::supports_decay(t, sequence, decay);
      });
    }
    // Without a braking state both ways to stop let go at once: one of them says it all.
    physics::PlannedState ignored;
    const bool brakes = physics::find_state(t, "bb", ignored);
    for (const std::string& stop :
         choices(brief.motion.stop, brakes ? std::vector<std::string>{"brake", "coast"}
                                           : std::vector<std::string>{"coast"}))
      for (const auto& [level, decay] : levels_by_decay(decays)) {
        Settings s;
        s.sequence = sequence, s.stop = stop, s.decay = decay;
        for (const Role& r : t.roles)
          if (!r.values.empty())
            s.value[r.name] = r.values[static_cast<std::size_t>(
                std::lround(level * static_cast<double>(r.values.size() - 1)))];
        if (std::none_of(out.begin(), out.end(), [&](const Settings& o) {
              return o.sequence == s.sequence && o.stop == s.stop && o.decay == s.decay &&
                     o.value == s.value;
            }))
          out.push_back(std::move(s));
      }
  }
  return out;
}

/// A resistor as good as the best of the list in each figure: where it fails, all of them fail.
/// Less tolerance leaves a box within theirs; more rating only widens a limit.
Part finest_of(const std::vector<Choice>& list) {
  Part out;
  for (const Choice& c : list) {
    if (!c.part) continue;
    if (out.figures.empty()) out = *c.part;
    const PartClass& k = *find_part_class(kResistor);
    double& tolerance = out.figures[static_cast<std::size_t>(figure_index(k, "tolerance"))];
    double& power_W = out.figures[static_cast<std::size_t>(figure_index(k, "power_max"))];
    tolerance = std::min(tolerance, figure(*c.part, "tolerance"));
    power_W = std::max(power_W, figure(*c.part, "power_max"));
  }
  return out;
}

RoleChoices choices_of(const Brief& brief, const Template& t, const Role& r,
                       const std::vector<Part>& parts, Space& s) {
  RoleChoices c{&r,
                static_cast<int>(std::count_if(t.places.begin(), t.places.end(),
                                               [&](const Place& p) { return p.role == r.name; })),
                {},
                {}};
  double offered = r.optional ? 1 : 0;
  if (r.optional) c.list.push_back({nullptr, 0});
  const RoleScreen screen({brief, t, r});
  for (const Part& p : parts) {
    if (p.part_class != r.part_class) continue;
    ++offered;
    if (const std::string why = unfit(brief, screen, p, c.places); !why.empty())
      s.screened_by[why] += 1;
    else
      c.list.push_back({&p, floor_share(brief, {&p, c.places})});
  }
  std::stable_sort(c.list.begin(), c.list.end(),
                   [](const Choice& a, const Choice& b) { return a.cost < b.cost; });
  s.count.total *= offered;
  return c;
}

}  // namespace

Space space_of(const Brief& brief, const Template& t, const std::vector<Part>& parts) {
  Space s{&t, {}, {}, {}, settings_of(brief, t), {}, {}, true, 0};
  s.count.total = 1;
  double open = 1;
  std::set<std::string> classes;
  for (const Role& r : t.roles) {
    RoleChoices c = choices_of(brief, t, r, parts, s);
    open *= static_cast<double>(c.list.size());
    if (is_resistor(c)) {
      s.resistors.push_back(s.roles.size());
      c.finest = finest_of(c.list);
    }
    if (!is_resistor(c) || r.optional) s.core.push_back(s.roles.size());
    if (!r.optional) classes.insert(r.part_class);
    s.roles.push_back(std::move(c));
  }
  s.usable = open > 0 && static_cast<double>(t.pins.size()) <= brief.controller.pins &&
             !s.settings.empty();
  s.count.screened = s.count.total - (s.usable ? open : 0);
  const bool chip = std::any_of(classes.begin(), classes.end(), [](const std::string& c) {
    return is_driver_chip(*find_part_class(c));
  });
  s.base = floor_base(brief, static_cast<int>(classes.size()), chip);
  return s;
}

double bound(const Space& s, const Pick& pick) {
  double sum = s.base;
  for (std::size_t r = 0; r < pick.size(); ++r) sum += s.roles[r].list[pick[r]].cost;
  return sum;
}

double sharp_bound(const Brief& brief, const Space& s, const Pick& pick) {
  std::vector<CostLine> lines;
  for (std::size_t r : s.core)
    if (const Part* p = s.roles[r].list[pick[r]].part; p && !is_resistor(s.roles[r]))
      lines.push_back({p, s.roles[r].places});
  // Lines add up but for scrap, and more joints only make more of that.
  double sum = landed_cost(brief, lines).total;
  double resistors = 0;
  for (std::size_t r : s.resistors) resistors += s.roles[r].list[pick[r]].cost;
  if (resistors > 0) sum += resistors + brief.build.setup_per_line / brief.build.quantity;
  return sum;
}

std::vector<CostLine> lines_of(const Space& s, const Pick& pick) {
  std::vector<CostLine> lines;
  for (std::size_t r = 0; r < pick.size(); ++r)
    if (const Part* p = s.roles[r].list[pick[r]].part) lines.push_back({p, s.roles[r].places});
  return lines;
}

bool is_resistor(const RoleChoices& role) { return role.role->part_class == kResistor; }

std::size_t core_choices(const Space& s, std::size_t role) {
  const RoleChoices& r = s.roles[role];
  return is_resistor(r) ? std::min<std::size_t>(r.list.size(), 2) : r.list.size();
}

double resistor_choices(const Space& s, const Pick& core) {
  double out = 1;
  for (std::size_t r : s.resistors) {
    const RoleChoices& role = s.roles[r];
    if (!role.role->optional)
      out *= static_cast<double>(role.list.size());
    else if (core[r] > 0)
      out *= static_cast<double>(role.list.size() - 1);
  }
  return out;
}

bool is_core_of(const Space& s, const Pick& core, const Pick& candidate) {
  return std::all_of(s.core.begin(), s.core.end(), [&](std::size_t r) {
    return is_resistor(s.roles[r]) ? (core[r] > 0) == (candidate[r] > 0) : core[r] == candidate[r];
  });
}

namespace {

/// How much a part has going for it, among parts of its class.
double promise(const Brief& brief, const Part& p) {
  const std::string& c = p.part_class;
  if (c == "n-mosfet" || c == "p-mosfet") {
    const bool starved = figure(p, "rds_gate") > 0.95 * brief.controller.logic_voltage_V;
    return -figure(p, "rds_max") * figure(p, "rth_ja") - (starved ? 1e6 : 0.0);
  }
  if (c == "npn" || c == "pnp")
    return figure(p, "ic_max") / figure(p, "vce_sat_max") / figure(p, "rth_ja");
  if (c == "electrolytic" || c == "ceramic")  // the energy it bears
    return figure(p, "capacitance") * figure(p, "voltage_max") * figure(p, "voltage_max");
  if (c == "diode") return figure(p, "if_max") - figure(p, "vf_high_max");
  return 0;
}

}  // namespace

Pick generous(const Brief& brief, const Space& s, bool with_optional) {
  Pick pick(s.roles.size(), 0);
  for (std::size_t r : s.core) {
    double best = -std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < core_choices(s, r); ++k) {
      const Part* p = s.roles[r].list[k].part;
      if (s.roles[r].role->optional && (p != nullptr) != with_optional) continue;
      const double g = p ? promise(brief, *p) : 0.0;
      if (g > best) best = g, pick[r] = k;
    }
  }
  return pick;
}

Design design_of(const Brief& brief, const std::vector<Assumed>& assumed, const Space& s,
                 const Pick& pick, const Settings& settings, Resistors resistors) {
  Design d{brief, assumed, *s.wiring, {}, settings};
  for (std::size_t r = 0; r < pick.size(); ++r)
    if (const Part* p = s.roles[r].list[pick[r]].part) d.parts[s.roles[r].role->name] = *p;
  if (resistors == Resistors::finest)
    for (std::size_t r : s.resistors)
      if (s.roles[r].list[pick[r]].part) d.parts[s.roles[r].role->name] = s.roles[r].finest;
  for (auto v = d.settings.value.begin(); v != d.settings.value.end();)
    v = d.parts.contains(v->first) ? std::next(v) : d.settings.value.erase(v);
  return d;
}

}  // namespace pb
