// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "tests/slow/small_world.h"

#include <algorithm>
#include <cmath>

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

class Maker {
 public:
  Maker(std::uint64_t seed, const WorldSize& size) : draws_(seed, 0), size_(size) {}

  World make() {
    w_.brief = brief();
    choose_templates();
    for (const auto& [name, count] : classes())
      for (int k = 0; k < count; ++k) w_.parts.push_back(part(name, k));
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
    b.motion.sequence = size_.sequence;
    b.build.quantity = std::floor(std::pow(10.0, real("quantity", 2.5, 4.5)));
    b.build.one_off = chance("one off", 0.5) ? 0 : 3000;
    b.load.torque_Nm *= real("torque", 0.5, 2.0);
    b.motion.rate_steps_s *= real("rate", 0.6, 1.2);
    b.controller.pin_source_current_A *= real("pin current", 2.0, 6.0);
    if (chance("high logic", 0.15)) b.controller.logic_voltage_V = 12;
    b.controller.pin_sink_current_A = b.controller.pin_source_current_A;
    return b;
  }

  void choose_templates() {
    std::vector<Template> wired, bought;
    for (Template& t : shipped())
      if ((physics::supports(t, w_.brief.motion.sequence) || size_.sequence == "any") &&
          resistor_roles(t) <= size_.resistor_roles)
        (is_bought(t) ? bought : wired).push_back(std::move(t));
    take(wired, size_.templates, "wired");
    take(bought, size_.chips, "bought");
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
        const bool control = r.part_class == "npn" || r.part_class == "pnp" ||
                             r.part_class == "n-mosfet" || r.part_class == "p-mosfet" ||
                             is_driver_chip(*find_part_class(r.part_class));
        if (control)
          out[r.part_class] = size_.switches;
        else if (r.part_class == "resistor")
          out[r.part_class] = size_.resistors;
        else if (!r.optional)
          out[r.part_class] = size_.others;
        else if (size_.optional)
          out.try_emplace(r.part_class, 1);
      }
    return out;
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
    std::vector<const Part*> rows, good;
    for (const Part& p : starter())
      if (p.part_class == part_class && missing_figures(p).empty()) {
        rows.push_back(&p);
        if (may_do(p)) good.push_back(&p);
      }
    if (!good.empty() && !chance(id + " any", 0.15)) rows = good;
    const Part* before = k > 0 ? &w_.parts.back() : nullptr;
    Part out =
        before && chance(id + " same figures", 0.25) ? *before : *rows[index(id, rows.size())];
    if (!before || out.number != before->number) move_figures(out, id);
    out.number = part_class + "-" + std::string(1, static_cast<char>('a' + k));
    out.lifecycle = "active";
    if (before && chance(id + " same price", 0.2)) {
      out.package = before->package;
      out.price_breaks = before->price_breaks;
    } else {
      price(out, id);
    }
    return out;
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

Proof at_corner(const Design& d, const std::map<std::string, std::string>& corner) {
  ProofOptions o;
  o.depth = Depth::trial;
  if (!corner.empty()) o.try_first = {corner};
  return prove(d, o);
}

/// A check missed by more than the numerics may be wrong by.
const Check* failed(const Proof& p) {
  for (const Check& c : p.verdict.checks)
    if (c.margin * std::abs(c.limit) < -c.allowance) return &c;
  return nullptr;
}

}  // namespace

World small_world(std::uint64_t seed, const WorldSize& size) { return Maker(seed, size).make(); }

std::vector<Candidate> all_candidates(const World& w, const std::vector<const Template*>& wirings) {
  std::vector<Candidate> out;
  for (const Template* t : wirings) {
    std::vector<Candidate> part{{t, {}, 0}};
    for (const Role& r : t->roles) {
      std::vector<Candidate> more;
      for (const Candidate& c : part) {
        if (r.optional) more.push_back(c);
        for (const Part& p : w.parts)
          if (p.part_class == r.part_class) {
            more.push_back(c);
            more.back().parts[r.name] = &p;
          }
      }
      part = std::move(more);
    }
    out.insert(out.end(), part.begin(), part.end());
  }
  for (Candidate& c : out) {
    std::map<std::string, int> places;
    for (const Place& p : c.wiring->places) ++places[p.role];
    std::vector<CostLine> lines;
    for (const auto& [role, part] : c.parts) lines.push_back({part, places[role]});
    c.landed_cost = landed_cost(w.brief, lines).total;
  }
  std::stable_sort(out.begin(), out.end(), [](const Candidate& a, const Candidate& b) {
    return a.landed_cost < b.landed_cost;
  });
  return out;
}

bool Prover1x1::passes(const Candidate& c) {
  if (static_cast<double>(c.wiring->pins.size()) > world_.brief.controller.pins) return false;
  for (const Settings& s : settings_of(world_.brief, *c.wiring)) {
    Design d{world_.brief, {}, *c.wiring, {}, s};
    for (const auto& [role, part] : c.parts) d.parts[role] = *part;
    for (auto v = d.settings.value.begin(); v != d.settings.value.end();)
      v = d.parts.contains(v->first) ? std::next(v) : d.settings.value.erase(v);
    const auto [at, fresh] = known_.try_emplace(seen_of(d));
    if (fresh) {
      at->second = passes(d);
      ++proven_;
      passing_ += at->second ? 1 : 0;
    }
    if (at->second) return true;
  }
  return false;
}

bool Prover1x1::passes(const Design& d) {
  if (failed(at_corner(d, {}))) return false;
  for (const auto& corner : corners_)
    if (failed(at_corner(d, corner))) return false;
  ++wholes_;
  const Proof whole = prove(d, {});
  if (const Check* c = failed(whole);
      c && !c->corner.empty() &&
      std::find(corners_.begin(), corners_.end(), c->corner) == corners_.end())
    corners_.insert(corners_.begin(), c->corner);
  return whole.verdict.passes;
}

}  // namespace pb::test
