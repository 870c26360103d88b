// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/space.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <utility>

#include "judgement/screens.h"
#include "physics/drive_table.h"
#include "physics/plan.h"

namespace pb {
namespace {

constexpr std::string_view kResistor = "resistor";
constexpr double kNotToBeHad = std::numeric_limits<double>::infinity();  // a cost

/// A resistor as good as the best of the list in each figure: where it fails, all of them fail.
/// Less tolerance leaves a box within theirs; more rating only widens a limit.
Part finest_of(const std::vector<Choice>& list) {
  Part out;
  for (const Choice& c : list) {
    if (!c.kind) continue;
    if (out.figures.empty()) out = *c.part();
    const PartClass& k = *find_part_class(kResistor);
    double& tolerance = out.figures[static_cast<std::size_t>(figure_index(k, "tolerance"))];
    double& power_W = out.figures[static_cast<std::size_t>(figure_index(k, "power_max"))];
    tolerance = std::min(tolerance, figure(*c.part(), "tolerance"));
    power_W = std::max(power_W, figure(*c.part(), "power_max"));
  }
  return out;
}

RoleChoices choices_of(const Brief& brief, const Template& t, const Role& r, const Shelf& shelf,
                       Space& s) {
  RoleChoices c{&r,
                static_cast<int>(std::count_if(t.places.begin(), t.places.end(),
                                               [&](const Place& p) { return p.role == r.name; })),
                {}};
  c.reel = reel_of(t, r.name);
  if (r.optional) c.list.push_back({nullptr});
  const auto of_class = shelf.find(r.part_class);
  std::uint64_t offered = c.list.size();
  if (of_class != shelf.end()) {
    offered += of_class->second.rows;
    const RoleScreen screen({brief, t, r});
    for (const Kind& k : of_class->second.kinds) {
      const auto rows = std::count_if(k.rows.begin(), k.rows.end(), [&](const Part* p) {
        return in_stock(brief, {p, c.places});
      });
      if (rows > 0 && screen.turns_away(k.part()).empty())
        c.list.push_back({&k, 0, static_cast<std::uint64_t>(rows)});
    }
  }
  for (const Choice& choice : c.list) c.rows += choice.rows;
  s.count.total *= offered;
  return c;
}

/// Solder joints that no pick has fewer of.
int least_joints(const Space& s) {
  int out = 0;
  for (const RoleChoices& r : s.roles) {
    int least = std::numeric_limits<int>::max();
    for (const Choice& c : r.list)
      least = std::min(least, c.kind ? joints_of({c.part(), r.places}) : 0);
    if (!r.list.empty()) out += least;
  }
  return out;
}

/// Places of every order that a role's part may belong to: of the role alone, or of some others of
/// its class as well.
std::set<int> order_sizes(const Space& s, const RoleChoices& role) {
  std::set<int> out{role.places};
  for (const RoleChoices& other : s.roles) {
    if (&other == &role || other.role->part_class != role.role->part_class ||
        other.reel != role.reel)
      continue;
    std::set<int> more = out;
    for (int n : out) more.insert(n + other.places);
    out = std::move(more);
  }
  return out;
}

/// What each choice adds at the least, and the order of the lists that follows. A part that no
/// other role can share is an order of its own, with its set-up; of one that may be shared a role
/// bears its places' part of the order that is the cheapest a piece.
void price(const Brief& brief, Space& s, Buyer& buyer) {
  const int joints = least_joints(s);
  for (RoleChoices& r : s.roles) {
    const std::set<int> sizes = order_sizes(s, r);
    r.shares = sizes.size() > 1;
    const double setup = r.shares ? 0.0 : brief.build.setup_per_line / brief.build.quantity;
    for (Choice& c : r.list) {
      if (!c.kind || r.places == 0) continue;
      double pieces = std::numeric_limits<double>::infinity();  // money a board
      for (int n : sizes)
        pieces = std::min(pieces, buyer.money(*c.kind, n) * r.places / n / brief.build.quantity);
      c.cost = floor_share(brief, {c.part(), r.places}, pieces, joints) + setup;
    }
    std::stable_sort(r.list.begin(), r.list.end(),
                     [](const Choice& a, const Choice& b) { return a.cost < b.cost; });
  }
}

/// Whether what stands in a role stands across the rail with both its ends.
bool across_rail(const Template& t, const Role& r) {
  return std::all_of(t.places.begin(), t.places.end(), [&](const Place& p) {
    return p.role != r.name ||
           (p.nodes.size() == 2 && std::count(p.nodes.begin(), p.nodes.end(), kRail) > 0 &&
            std::count(p.nodes.begin(), p.nodes.end(), kGround) > 0);
  });
}

/// Places in the lists of values, each with every decay.
std::vector<std::pair<double, std::string>> levels_by_decay(
    const std::vector<std::string>& decays) {
  std::vector<std::pair<double, std::string>> out;
  for (double level : {0.5, 0.0, 1.0, 0.25, 0.75})
    for (const std::string& decay : decays) out.emplace_back(level, decay);
  return out;
}

}  // namespace

std::vector<Settings> settings_of(const Brief& brief, const Template& t) {
  std::vector<Settings> out;
  const auto choices = [](const std::string& asked, std::vector<std::string> all) {
    return asked == "any" ? std::move(all) : std::vector<std::string>{asked};
  };
  for (const std::string& sequence :
       choices(brief.motion.sequence, {"two-phase", "one-phase", "half"})) {
    if (!physics::supports(t, sequence) || !physics::supports_regulation(t, brief)) continue;
    std::vector<std::string> decays{Settings{}.decay};
    if (regulated(brief)) {
      decays = choices(brief.regulation.decay, {"diode", "slow", "fast", "mixed"});
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

Space space_of(const Brief& brief, const Template& t, const Shelf& shelf, Buyer& buyer) {
  Space s{&t, {}, {}, {}, settings_of(brief, t), {}, true, 0};
  s.count.total = 1;
  Natural open = 1;
  std::set<std::pair<std::string, int>> orders;  // class and reel of roles that must be filled
  for (const Role& r : t.roles) {
    RoleChoices c = choices_of(brief, t, r, shelf, s);
    open *= c.rows;
    if (is_resistor(c)) {
      s.resistors.push_back(s.roles.size());
      c.finest = finest_of(c.list);
    }
    if (!is_resistor(c) || r.optional) s.core.push_back(s.roles.size());
    if (!r.optional) orders.emplace(r.part_class, c.reel);
    s.roles.push_back(std::move(c));
  }
  std::stable_partition(s.core.begin(), s.core.end(),
                        [&](std::size_t r) { return !across_rail(t, *s.roles[r].role); });
  s.usable = !open.is_zero() && controller_pins(t) <= brief.controller.pins && !s.settings.empty();
  s.count.screened = s.count.total - (s.usable ? open : 0);
  price(brief, s, buyer);
  int shared = 0;  // set-ups that no role bears alone
  bool chip = false;
  for (const auto& [name, reel] : orders) {
    const auto roles = std::ranges::count_if(s.roles, [&](const RoleChoices& r) {
      return r.role->part_class == name && r.reel == reel;
    });
    shared += roles > 1 ? 1 : 0;
    chip = chip || is_bought_driver(*find_part_class(name));
  }
  s.base = floor_base(brief, shared, chip, least_joints(s));
  return s;
}

void screen_out(Space& s, const std::function<bool(const Role&, const Part&)>& screen) {
  Natural open = 1;
  for (RoleChoices& r : s.roles) {
    std::erase_if(r.list, [&](const Choice& c) {
      return c.kind && std::any_of(c.kind->rows.begin(), c.kind->rows.end(),
                                   [&](const Part* p) { return screen(*r.role, *p); });
    });
    r.rows = 0;
    for (const Choice& c : r.list) r.rows += c.rows;
    open *= r.rows;
  }
  s.usable = s.usable && !open.is_zero();
  s.count.screened = s.count.total - (s.usable ? open : 0);
}

double bound(const Space& s, const Pick& pick) {
  double sum = s.base;
  for (std::size_t r = 0; r < pick.size(); ++r) sum += s.roles[r].list[pick[r]].cost;
  return sum;
}

double core_cost(const Brief& brief, const Space& s, const Pick& pick, Buyer& buyer) {
  std::vector<Buyer::Need> needs;
  needs.reserve(s.core.size());
  for (std::size_t r : s.core)
    if (const Kind* k = s.roles[r].list[pick[r]].kind; k && !is_resistor(s.roles[r]))
      needs.push_back({k, s.roles[r].places});
  const std::vector<CostLine> lines = buyer.cheapest(needs);
  return lines.size() < needs.size() ? kNotToBeHad : landed_cost(brief, lines).total;
}

double resistors_add(const Brief& brief, const Space& s, const Pick& pick) {
  double sum = 0;
  std::set<int> reels;  // that several roles may share
  for (std::size_t r : s.resistors) {
    const Choice& c = s.roles[r].list[pick[r]];
    sum += c.cost;
    if (c.kind && s.roles[r].shares) reels.insert(s.roles[r].reel);
  }
  return sum +
         static_cast<double>(reels.size()) * brief.build.setup_per_line / brief.build.quantity;
}

double sharp_bound(const Brief& brief, const Space& s, const Pick& pick, Buyer& buyer) {
  // Lines add up but for scrap, and more joints only make more of that.
  return core_cost(brief, s, pick, buyer) + resistors_add(brief, s, pick);
}

Bought bought(const Space& s, const Pick& pick, Buyer& buyer) {
  Bought out{std::vector<const Part*>(pick.size(), nullptr), {}};
  std::vector<Buyer::Need> needs;
  std::vector<std::size_t> role;
  for (std::size_t r = 0; r < pick.size(); ++r)
    if (const Kind* k = s.roles[r].list[pick[r]].kind) {
      needs.push_back({k, s.roles[r].places, s.roles[r].reel});
      role.push_back(r);
    }
  out.lines = buyer.cheapest(needs);
  out.all = out.lines.size() == needs.size();
  for (std::size_t k = 0; k < out.lines.size(); ++k) out.row[role[k]] = out.lines[k].part;
  return out;
}

double cost_of(const Brief& brief, const Space& s, const Pick& pick, Buyer& buyer) {
  const Bought b = bought(s, pick, buyer);
  return b.all ? landed_cost(brief, b.lines).total : kNotToBeHad;
}

Natural rows_of(const Space& s, const Pick& pick) {
  Natural out = 1;
  for (std::size_t r = 0; r < pick.size(); ++r) out *= s.roles[r].list[pick[r]].rows;
  return out;
}

Natural rows_below(const Space& s, const Pick& pick, std::size_t depth) {
  Natural out = 1;
  for (std::size_t k = 0; k < s.core.size(); ++k) {
    const RoleChoices& role = s.roles[s.core[k]];
    if (k >= depth)
      out *= role.rows;
    else if (!is_resistor(role))
      out *= role.list[pick[s.core[k]]].rows;
    else if (pick[s.core[k]] > 0)
      out *= role.rows - 1;
  }
  for (std::size_t r : s.resistors)
    if (!s.roles[r].role->optional) out *= s.roles[r].rows;
  return out;
}

bool agree(const Space& s, const Pick& a, const Pick& b, std::size_t depth) {
  return std::all_of(s.core.begin(), s.core.begin() + static_cast<std::ptrdiff_t>(depth),
                     [&](std::size_t r) {
                       return is_resistor(s.roles[r]) ? (a[r] > 0) == (b[r] > 0) : a[r] == b[r];
                     });
}

bool is_resistor(const RoleChoices& role) { return role.role->part_class == kResistor; }

std::size_t core_choices(const Space& s, std::size_t role) {
  const RoleChoices& r = s.roles[role];
  return is_resistor(r) ? std::min<std::size_t>(r.list.size(), 2) : r.list.size();
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
      const Part* p = s.roles[r].list[k].part();
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
    if (const Part* p = s.roles[r].list[pick[r]].part()) d.parts[s.roles[r].role->name] = *p;
  if (resistors == Resistors::finest)
    for (std::size_t r : s.resistors)
      if (s.roles[r].list[pick[r]].kind) d.parts[s.roles[r].role->name] = s.roles[r].finest;
  for (auto v = d.settings.value.begin(); v != d.settings.value.end();)
    v = d.parts.contains(v->first) ? std::next(v) : d.settings.value.erase(v);
  return d;
}

}  // namespace pb
