// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "tests/slow/small_world.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/random.h"
#include "tests/slow/small_design.h"

namespace pb::test {
namespace {

/// Ratings that may be moved to the edge: the check that reads them has a limit in proportion.
struct Rating {
  const char *check, *part_class, *figure;
};
constexpr Rating kRatings[] = {
    {"switch_voltage", "npn", "vce_max"},
    {"switch_voltage", "pnp", "vce_max"},
    {"switch_peak", "npn", "ic_max"},
    {"switch_peak", "pnp", "ic_max"},
    {"switch_peak", "n-mosfet", "drain_pulsed"},
    {"switch_peak", "p-mosfet", "drain_pulsed"},
    {"diode_reverse", "diode", "vr_max"},
    {"capacitor_voltage", "electrolytic", "voltage_max"},
    {"capacitor_voltage", "ceramic", "voltage_max"},
    {"capacitor_ripple", "electrolytic", "ripple_max"},
    {"resistor_power", "resistor", "power_max"},
};

double& figure_of(Part& p, std::string_view name) {
  return p.figures[static_cast<std::size_t>(figure_index(*find_part_class(p.part_class), name))];
}

/// A check missed by more than the numerics may be wrong by.
const Check* failed(const Proof& p) {
  for (const Check& c : p.verdict.checks)
    if (c.fails_clearly()) return &c;
  return nullptr;
}

class Maker {
 public:
  Maker(std::uint64_t seed, const WorldSize& size) : seed_(seed), draws_(seed, 0), size_(size) {}

  World make() {
    w_.brief = brief();
    choose_templates();
    for (int draw = 0; draw < (size_.lean ? size_.draws : 1); ++draw) {
      draws_ = Draws(seed_, static_cast<std::uint64_t>(draw));
      w_.parts.clear();
      for (const auto& [name, count] : classes())
        for (int k = 0; k < count; ++k) w_.parts.push_back(part(name, k));
      if (!size_.lean || something_works()) break;
    }
    to_the_edge();
    return std::move(w_);
  }

 private:
  double real(const std::string& what, double low, double high) {
    return draws_.uniform(what, low, high);
  }
  std::size_t index(const std::string& what, std::size_t count) {
    return static_cast<std::size_t>(real(what, 0, 1) * static_cast<double>(count));
  }
  bool chance(const std::string& what, double share) { return real(what, 0, 1) < share; }

  Brief brief() {
    const auto read = read_brief("test", R"(format = 1
[motor]
winding_resistance = "50 ohm"
winding_inductance = "15 mH"
steps_per_turn = "48 step"
holding_torque = "10 mN m"
rated_current = "0.1 A"
rotor_inertia = "1 g cm2"
detent_torque = "0.8 mN m"
thermal_resistance = "30 K/W"
[load]
torque = "0.8 mN m"
inertia = "1 g cm2"
[motion]
rate = "300 step/s"
move = "4 step"
hold = "off"
stop = "coast"
[supply]
voltage = "5 V"
tolerance = "5 %"
current_limit = "1 A"
[controller]
logic_voltage = "5 V"
total_current = "500 mA"
[ambient]
min = "5 degC"
max = "40 degC"
[build]
quantity = 1000
)");
    EXPECT_TRUE(read) << (read ? "" : to_lines(read.error()));
    Brief b = read->brief;
    b.motion.sequence = size_.sequence, b.motion.move_steps = size_.steps;
    if (chance("rests", 0.5)) b.motion.rest_s = real("rest", 0.2, 5.0);
    b.build.quantity = std::floor(std::pow(10.0, real("quantity", 2.5, 4.5)));
    b.build.one_off = chance("one off", 0.5) ? 0 : 3000;
    b.load.torque_Nm *= real("torque", 0.5, 2.0);
    b.motion.rate_steps_s *= real("rate", 0.6, 1.2);
    b.controller.pin_source_current_A *= real("pin current", 2.0, 6.0);
    if (chance("high logic", 0.15)) b.controller.logic_voltage_V = 12;
    b.controller.pin_sink_current_A = b.controller.pin_source_current_A;
    if (size_.lean) make_lean(b);
    return b;
  }

  /// A motor with torque to spare, so that the driver decides; and exact in most of what it says.
  void make_lean(Brief& b) {
    b.load.torque_Nm *= 0.5, b.motion.rate_steps_s *= 0.75;
    if (b.controller.logic_voltage_V > b.supply.voltage_V) b.controller.logic_voltage_V = 8;
    const std::pair<const char*, double*> tolerances[] = {
        {"motor resistance", &b.motor.resistance_tolerance},
        {"motor inductance", &b.motor.inductance_tolerance},
        {"motor torque", &b.motor.torque_tolerance},
        {"load torque", &b.load.torque_tolerance},
        {"load inertia", &b.load.inertia_tolerance},
        {"supply", &b.supply.tolerance},
        {"logic", &b.controller.tolerance},
    };
    for (const auto& [name, tolerance] : tolerances)
      if (chance(std::string(name) + " exact", size_.exact)) *tolerance = 0;
    if (size_.exact >= 1) b.ambient.min_K = b.ambient.max_K;
  }

  void choose_templates() {
    std::vector<Template> wired, bought;
    for (Template& t : shipped())
      if (!settings_of(w_.brief, t).empty() && can_be_filled(t) &&
          resistor_roles(t) <= size_.resistor_roles)
        (is_bought(t) ? bought : wired).push_back(std::move(t));
    take(wired, size_.templates, "wired");
    take(bought, size_.chips, "bought");
  }

  /// Rows of the starter catalogue that a part may be drawn from.
  static std::vector<const Part*> rows_of(const std::string& part_class) {
    std::vector<const Part*> out;
    for (const Part& p : starter())
      if (p.part_class == part_class && missing_figures(p).empty()) out.push_back(&p);
    return out;
  }

  static bool can_be_filled(const Template& t) {
    return std::ranges::all_of(
        t.roles, [](const Role& r) { return r.optional || !rows_of(r.part_class).empty(); });
  }

  static int resistor_roles(const Template& t) {
    return static_cast<int>(std::count_if(
        t.roles.begin(), t.roles.end(), [](const Role& r) { return r.part_class == "resistor"; }));
  }

  void take(std::vector<Template>& from, int count, const std::string& what) {
    for (int k = 0; k < count && !from.empty(); ++k) {
      const auto at =
          from.begin() + static_cast<std::ptrdiff_t>(index(what + std::to_string(k), from.size()));
      for (Role& r : at->roles) {
        std::vector<double> values;
        for (int v = 0; v < size_.values && !r.values.empty(); ++v)
          values.push_back(r.values[index(what + r.name + std::to_string(v), r.values.size())]);
        std::sort(values.begin(), values.end());
        values.erase(std::unique(values.begin(), values.end()), values.end());
        r.values = values;
      }
      w_.templates.push_back(std::move(*at));
      from.erase(at);
    }
  }

  /// How many rows of each class.
  std::map<std::string, int> classes() {
    std::map<std::string, int> out;
    for (const Template& t : w_.templates)
      for (const Role& r : t.roles) {
        if (controls(r.part_class))
          out[r.part_class] = size_.switches;
        else if (r.part_class == "resistor")
          out[r.part_class] = size_.resistors;
        else if (!r.optional)
          out[r.part_class] = size_.others;
        else if (size_.optional && !rows_of(r.part_class).empty())
          out.try_emplace(r.part_class, 1);
      }
    return out;
  }

  int kinds_of(const std::string& part_class) const {
    if (part_class == "resistor") return size_.resistor_kinds;
    return controls(part_class) ? size_.switch_kinds : size_.other_kinds;
  }

  static bool controls(const std::string& part_class) {
    return part_class == "npn" || part_class == "pnp" || part_class == "n-mosfet" ||
           part_class == "p-mosfet" || is_driver_chip(*find_part_class(part_class));
  }

  /// Whether the most promising parts of some wiring of single parts pass a trial at some setting.
  bool something_works() {
    const Shelf shelf = shelf_of(w_.brief, w_.parts);
    Buyer buyer(w_.brief);
    bool any_wired = false;
    for (const Template& t : w_.templates) {
      if (is_bought(t)) continue;
      any_wired = true;
      const Space s = space_of(w_.brief, t, shelf, buyer);
      if (!s.usable) continue;
      const Pick pick = generous(w_.brief, s, false);
      for (const Settings& at : s.settings) {
        ProofOptions trial;
        trial.depth = Depth::trial, trial.fail_first = true;
        if (!failed(prove(design_of(w_.brief, {}, s, pick, at, Resistors::finest), trial)))
          return true;
      }
    }
    return !any_wired;
  }

  /// Whether a row of the starter catalogue could do in some role.
  bool may_do(const Part& p) {
    for (const Template& t : w_.templates)
      for (const Role& r : t.roles)
        if (r.part_class == p.part_class && screened_by({w_.brief, t, r}, p).empty()) return true;
    return false;
  }

  Part part(const std::string& part_class, int k) {
    const std::string id = part_class + std::to_string(k);
    std::vector<const Part*> rows = rows_of(part_class), good;
    std::ranges::copy_if(rows, std::back_inserter(good), [&](const Part* p) { return may_do(*p); });
    if (!good.empty() && !chance(id + " any", 0.15)) rows = good;
    const Part* before = k > 0 ? &w_.parts.back() : nullptr;
    const bool again = before && (k >= kinds_of(part_class) || chance(id + " same figures", 0.25));
    if (again && k >= kinds_of(part_class))
      before = &w_.parts[w_.parts.size() - 1 - index(id + " of", static_cast<std::size_t>(k))];
    Part out = again ? *before : *rows[index(id, rows.size())];
    if (!again) move_figures(out, id);
    const bool poor = size_.lean && k == 0 && chance(id + " poor", 0.6);
    if (poor) worsen(out);
    out.number = part_class + "-" + std::string(1, static_cast<char>('a' + k));
    out.lifecycle = "active";
    if (before && chance(id + " same price", 0.2)) {
      out.package = before->package;
      out.price_breaks = before->price_breaks;
    } else {
      price(out, id);
      if (poor)
        for (PriceBreak& b : out.price_breaks) b.unit_price *= 0.6;
    }
    return out;
  }

  /// A cheap part has its reason.
  void worsen(Part& p) {
    const PartClass& c = *find_part_class(p.part_class);
    constexpr std::pair<const char*, double> kPoor[] = {
        {"rds_max", 2.5},
        {"rds_typ", 2.5},
        {"vce_sat_max", 2},
        {"hfe_min", 0.5},
        {"rth_ja", 1.7},
        {"capacitance", 0.3},
        {"ripple_max", 0.4},
        {"ic_max", 0.5},
        {"drain_pulsed", 0.5},
        {"power_max", 0.3},
        {"on_resistance_max", 2.5},
        {"on_resistance_typ", 2.5},
    };
    for (const auto& [name, times] : kPoor)
      if (figure_index(c, name) >= 0) figure_of(p, name) *= times;
  }

  void move_figures(Part& p, const std::string& id) {
    const PartClass& c = *find_part_class(p.part_class);
    for (const char* name : {"rth_ja", "rds_max", "vce_sat_max", "hfe_min", "esr", "capacitance",
                             "on_resistance_max", "power_max"})
      if (figure_index(c, name) >= 0) figure_of(p, name) *= std::exp(real(id + name, -0.6, 0.6));
    if (is_capacitor(p.part_class)) figure_of(p, "capacitance") *= 2;
    // Typical figures must stay on their side.
    for (const auto& [typ, max] :
         {std::pair{"rds_typ", "rds_max"}, {"on_resistance_typ", "on_resistance_max"}})
      if (figure_index(c, typ) >= 0) figure_of(p, typ) = 0.75 * figure(p, max);
    if (figure_index(c, "hfe_typ") >= 0) {
      figure_of(p, "hfe_typ") = std::max(figure(p, "hfe_typ"), 1.5 * figure(p, "hfe_min"));
      figure_of(p, "hfe_max") = std::max(figure(p, "hfe_max"), 3 * figure(p, "hfe_min"));
    }
  }

  /// Breaks lie about the need of one role of four, so that a second role reaches the next.
  void price(Part& p, const std::string& id) {
    const double unit = p.price_breaks.back().unit_price * std::exp(real(id + "price", -0.5, 0.9));
    const double need = 4 * w_.brief.build.quantity;
    const double first = std::ceil(need * real(id + "first", 0.2, 0.9)),
                 second = std::ceil(need * real(id + "second", 1.05, 2.5));
    p.price_breaks = {{1, 2 * unit}, {first, unit}, {second, unit * real(id + "cut", 0.5, 0.9)}};
    p.minimum = 1;
    p.multiple = chance(id + "reel", 0.2) ? 500 : 1;
  }

  /// Ratings of some parts to where they just do or just do not, after what one design measures.
  void to_the_edge() {
    for (const Template& t : w_.templates) {
      Design d{w_.brief, {}, t, {}, settings_of(w_.brief, t).at(0)};
      for (const Role& r : t.roles)
        for (const Part& p : w_.parts)
          if (p.part_class == r.part_class && !r.optional) d.parts.try_emplace(r.name, p);
      for (auto v = d.settings.value.begin(); v != d.settings.value.end();)
        v = d.parts.contains(v->first) ? std::next(v) : d.settings.value.erase(v);
      if (!faults_of(d).empty()) continue;
      ProofOptions trial;
      trial.depth = Depth::trial;
      const Proof proof = prove(d, trial);
      for (const Check& c : proof.verdict.checks)
        if (const Place* place = find_place(t, c.subject)) move_rating(c, d.parts.at(place->role));
    }
  }

  void move_rating(const Check& c, const Part& measured) {
    for (const Rating& r : kRatings) {
      if (c.id != r.check || measured.part_class != r.part_class) continue;
      for (Part& p : w_.parts) {
        const std::string id = p.number + r.figure;
        if (p.part_class != r.part_class || edged_.contains(id) || !chance(id, 0.15)) continue;
        figure_of(p, r.figure) =
            figure(measured, r.figure) * c.value / c.limit * real(id + "edge", 1.0, 1.4);
        edged_.insert(id);
      }
    }
  }

  std::uint64_t seed_;
  Draws draws_;
  WorldSize size_;
  World w_;
  std::set<std::string> edged_;
};

/// What the physics sees of a design: the wiring, the settings, the figures; not who sells a part.
std::string seen_of(const Design& d) {
  std::string out = d.wiring.id + '|' + d.settings.sequence + '|' + d.settings.stop;
  for (const auto& [role, ohm] : d.settings.value) out += '|' + role + std::to_string(ohm);
  for (const auto& [role, part] : d.parts) {
    out += '|' + role + ':';
    out.append(reinterpret_cast<const char*>(part.figures.data()),
               part.figures.size() * sizeof(double));
  }
  return out;
}

}  // namespace

World small_world(std::uint64_t seed, const WorldSize& size) { return Maker(seed, size).make(); }

namespace {

/// Of one template: every choice of every role.
std::vector<Candidate> of_template(const World& w, const Template& t) {
  std::vector<Candidate> out{{&t, {}, 0, 0}};
  for (const Role& r : t.roles) {
    std::vector<Candidate> more;
    const auto add = [&](const Candidate& c, const Part* part) {
      more.push_back(c);
      more.back().parts.push_back(part);
    };
    for (const Candidate& c : out) {
      if (r.optional) add(c, nullptr);
      for (const Part& p : w.parts)
        if (p.part_class == r.part_class) add(c, &p);
    }
    out = std::move(more);
  }
  return out;
}

constexpr double kNotToBeHad = std::numeric_limits<double>::infinity();

double cost_of(const World& w, const Candidate& c) {
  std::vector<CostLine> lines;
  for (std::size_t r = 0; r < c.parts.size(); ++r) {
    if (!c.parts[r]) continue;
    const std::string& role = c.wiring->roles[r].name;
    const auto places =
        std::ranges::count_if(c.wiring->places, [&](const Place& p) { return p.role == role; });
    // A reel for each list of values.
    const auto alike = std::ranges::find_if(c.wiring->roles, [&](const Role& other) {
      return other.values == c.wiring->roles[r].values;
    });
    lines.push_back(
        {c.parts[r], static_cast<int>(places), static_cast<int>(alike - c.wiring->roles.begin())});
  }
  for (const CostLine& line : lines) {
    CostLine order = line;
    order.count = 0;
    for (const CostLine& l : lines) order.count += l.same_order(line) ? l.count : 0;
    if (!in_stock(w.brief, order)) return kNotToBeHad;
  }
  return landed_cost(w.brief, lines).total;
}

}  // namespace

std::vector<Candidate> all_candidates(const World& w, const std::vector<const Template*>& wirings) {
  std::vector<Candidate> out;
  for (const Template* t : wirings) {
    const std::size_t settings = settings_of(w.brief, *t).size();
    for (Candidate& c : of_template(w, *t)) {
      c.landed_cost = cost_of(w, c);
      if (!std::isfinite(c.landed_cost)) continue;
      for (c.setting = 0; c.setting < settings; ++c.setting) out.push_back(c);
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const Candidate& a, const Candidate& b) {
    return a.landed_cost < b.landed_cost;
  });
  return out;
}

Design Prover1x1::design_of(const Candidate& c) const {
  Design d{world_.brief, {}, *c.wiring, {}, settings_of(world_.brief, *c.wiring)[c.setting]};
  for (std::size_t r = 0; r < c.parts.size(); ++r) {
    const std::string& role = c.wiring->roles[r].name;
    if (c.parts[r])
      d.parts[role] = *c.parts[r];
    else
      d.settings.value.erase(role);
  }
  return d;
}

bool Prover1x1::passes(const Candidate& c) {
  if (static_cast<double>(c.wiring->pins.size()) > world_.brief.controller.pins) return false;
  const Design d = design_of(c);
  const auto [at, fresh] = known_.try_emplace(seen_of(d));
  if (fresh) {
    at->second = passes(d);
    ++proven_;
  }
  return at->second;
}

bool Prover1x1::known_to_pass(const Candidate& c) const {
  const auto at = known_.find(seen_of(design_of(c)));
  return at != known_.end() && at->second;
}

void Prover1x1::remember(const Design& d, const Verdict& of_the_whole) {
  known_[seen_of(d)] = of_the_whole.passes;
}

bool Prover1x1::passes(const Design& d) {
  constexpr std::size_t kCorners = 6;
  ProofOptions o;
  o.fail_first = true;
  ProofOptions trial = o;
  trial.depth = Depth::trial, trial.try_first = corners_;
  Proof proof = prove(d, trial);
  if (!failed(proof)) {
    ++wholes_;
    proof = prove(d, o);
  }
  if (const Check* c = failed(proof); c && !c->corner.empty()) {
    std::erase(corners_, c->corner);
    corners_.insert(corners_.begin(), c->corner);
    if (corners_.size() > kCorners) corners_.resize(kCorners);
    return false;
  }
  return proof.verdict.passes;
}

}  // namespace pb::test
