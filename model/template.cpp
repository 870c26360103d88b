// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "model/template.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/part.h"

namespace pb {
namespace {

template <class T, class Field>
const T* find_by(const std::vector<T>& all, Field field, const std::string& name) {
  for (const T& x : all)
    if (x.*field == name) return &x;
  return nullptr;
}

class Inspection {
 public:
  explicit Inspection(const Template& t) : t_(t) {}

  Problems all() {
    unique_names();
    places();
    windings();
    floating_nodes();
    groups();
    legs();
    measures();
    return std::move(problems_);
  }

 private:
  void wrong(std::string key, std::string expected, std::string found) {
    problems_.push_back(
        {.key = std::move(key), .expected = std::move(expected), .found = std::move(found)});
  }

  void unique_names() {
    std::set<std::string> seen;
    for (const Role& r : t_.roles) {
      if (!seen.insert("role " + r.name).second) wrong("role", "each role once", r.name + " twice");
      if (!find_part_class(r.part_class))
        wrong("role." + r.name + ".class", "a part class", r.part_class);
      const bool used = std::any_of(t_.places.begin(), t_.places.end(),
                                    [&](const Place& p) { return p.role == r.name; });
      if (!used) wrong("role." + r.name, "at least one place", "none");
      if (r.part_class == "resistor" && r.values.empty())
        wrong("role." + r.name + ".values", "resistances to choose from", "none");
    }
    // Currents and losses are reported under these names, the circuit's own among them.
    std::set<std::string> reported = {"supply", "supply cable", "supply cable loss", "winding_a",
                                      "winding_b"};
    const std::set<std::string> own = reported;
    for (const Place& p : t_.places)
      if (!reported.insert(p.ref).second)
        wrong("place." + p.ref, "each ref once",
              p.ref + (own.contains(p.ref) ? " (taken)" : " twice"));
    for (const Pin& p : t_.pins)
      if (!reported.insert(p.name).second)
        wrong("pin." + p.name, "each pin once, and no ref",
              p.name + (own.contains(p.name) ? " (taken)" : " twice"));
  }

  void places() {
    for (const Place& p : t_.places) {
      const Role* r = find_role(t_, p.role);
      if (!r) {
        wrong("place." + p.ref + ".role", "a role of this template", p.role);
        continue;
      }
      const PartClass* c = find_part_class(r->part_class);
      if (c && is_pair(*c))
        wrong("role." + r->name + ".class", "a class of single parts: pairs are tried for two",
              r->part_class);
      else if (c && c->terminals.size() != p.nodes.size())
        wrong("place." + p.ref, std::to_string(c->terminals.size()) + " terminals",
              std::to_string(p.nodes.size()));
    }
  }

  void windings() {
    if (t_.winding_a.size() != 2 || t_.winding_b.size() != 2)
      wrong("winding", "two nodes for winding a and two for winding b", "other");
  }

  /// A node that only one terminal touches carries no current: a slip of the pen.
  void floating_nodes() {
    std::map<std::string, int> touches;
    for (const Place& p : t_.places)
      for (const std::string& n : p.nodes) ++touches[n];
    for (const Pin& p : t_.pins) ++touches[p.node];
    for (const auto* w : {&t_.winding_a, &t_.winding_b})
      for (const std::string& n : *w) ++touches[n];
    for (const Measure& m : t_.measures) ++touches[m.reference], ++touches[m.reached];
    touches.erase("");
    for (const auto& [node, count] : touches)
      if (count < 2 && node != kGround && node != kRail && node != kLogic)
        wrong("node." + node, "at least two terminals", "one: it floats");
  }

  void groups() {
    std::set<std::string> covered;
    std::string windings;
    for (const DriveGroup& g : t_.groups) {
      windings += g.windings;
      for (const std::string& p : g.pins) {
        if (!find_pin(t_, p)) wrong("drive.pins", "a pin of this template", p);
        covered.insert(p);
      }
      for (const DriveState& s : g.states) state(g, s);
      need_both_ways(g);
    }
    std::sort(windings.begin(), windings.end());
    if (windings != "ab")
      wrong("drive", "windings a and b, each in one group", windings.empty() ? "none" : windings);
    constexpr std::size_t kMostPins = 16;  // of the drive code
    if (t_.pins.size() > kMostPins) wrong("pin", "at most 16 pins", std::to_string(t_.pins.size()));
    for (const Pin& p : t_.pins)
      if (p.clock_Hz == 0 && !covered.contains(p.name))
        wrong("pin." + p.name, "a drive group that sets it", "none");
    clocks(covered);
  }

  /// The drive code numbers the pins that it sets; a timer has the others.
  void clocks(const std::set<std::string>& set_by_states) {
    for (std::size_t k = 0; k < t_.pins.size(); ++k) {
      const Pin& p = t_.pins[k];
      if (p.clock_Hz == 0) {
        if (k > 0 && t_.pins[k - 1].clock_Hz != 0)
          wrong("pin." + p.name, "clocked pins after all others", p.name + " after one");
        continue;
      }
      const std::string key = "pin." + p.name + ".clock";
      if (p.clock_Hz != clock_of(t_)) wrong(key, "one frequency of all clocked pins", "another");
      if (p.clock_Hz != std::round(p.clock_Hz)) wrong(key, "a whole number of hertz", "a fraction");
      if (set_by_states.contains(p.name)) wrong(key, "a pin that no drive group sets", p.name);
      if (p.off != '-') wrong("pin." + p.name + ".off", "-", std::string(1, p.off));
    }
    if (clock_of(t_) != 0 && !t_.measures.empty())
      wrong("measure", "none beside a clocked pin", "some");
  }

  void state(const DriveGroup& g, const DriveState& s) {
    if (s.flow.size() != g.windings.size()) wrong("drive.state", "one sign a winding", s.flow);
    if (s.flow.find_first_not_of("+-0bpm") != std::string::npos)
      wrong("drive.state", "signs + - 0 b p m", s.flow);
    if (s.levels.size() != g.pins.size() || s.levels.find_first_not_of("01z") != std::string::npos)
      wrong("drive.state." + s.flow, std::to_string(g.pins.size()) + " levels of 0 1 z", s.levels);
    for (const std::string& ref : s.on)
      if (!find_switched(t_, ref))
        wrong("drive.state." + s.flow + ".on", "a place or an input of a driver chip", ref);
  }

  void need_both_ways(const DriveGroup& g) {
    for (std::size_t w = 0; w < g.windings.size(); ++w)
      for (char sign : {'+', '-'}) {
        const bool has = std::any_of(g.states.begin(), g.states.end(), [&](const DriveState& s) {
          return s.flow.size() > w && s.flow[w] == sign;
        });
        if (!has) wrong("drive." + g.windings, std::string("a state with flow ") + sign, "none");
      }
  }

  bool chip_at(const Place& p) const {
    const Role* r = find_role(t_, p.role);
    const PartClass* c = r ? find_part_class(r->part_class) : nullptr;
    return c && is_driver_chip(*c);
  }

  void legs() {
    // What a chip has inside is not told apart into switches.
    const bool chip =
        std::any_of(t_.places.begin(), t_.places.end(), [&](const Place& p) { return chip_at(p); });
    if (t_.legs.empty() && !chip) wrong("leg", "at least one leg", "none");
    for (const Leg& l : t_.legs)
      for (const auto* refs : {&l.high, &l.low})
        for (const std::string& r : *refs)
          if (const Place* p = find_place(t_, r); !p || chip_at(*p))
            wrong("leg." + l.output, "a place with a switch", r);
  }

  bool touched_by(const std::string& node, std::string_view part_class,
                  std::string_view terminal) const {
    return std::any_of(t_.places.begin(), t_.places.end(), [&](const Place& p) {
      const Role* r = find_role(t_, p.role);
      const PartClass* c = r ? find_part_class(r->part_class) : nullptr;
      if (!c || (!part_class.empty() && c->name != part_class)) return false;
      for (std::size_t k = 0; k < c->terminals.size() && k < p.nodes.size(); ++k)
        if (p.nodes[k] == node && (terminal.empty() || c->terminals[k] == terminal)) return true;
      return false;
    });
  }

  void measures() {
    if (t_.measures.empty()) return;
    const bool each =
        t_.measures.size() == 2 && t_.measures[0].winding == "a" && t_.measures[1].winding == "b";
    if (!each) wrong("measure", "none, or one for winding a and then one for b", "other");
    for (const Measure& m : t_.measures) {
      const std::string key = "measure." + m.winding;
      if (!touched_by(m.sense, "resistor", ""))
        wrong(key + ".sense", "a node with a resistor", m.sense);
      if (!touched_by(m.reference, "", ""))
        wrong(key + ".reference", "a node with a part", m.reference);
      if (!m.reached.empty() && !touched_by(m.reached, "comparator", "out"))
        wrong(key + ".reached", "the output of a comparator", m.reached);
      if (m.reached.empty() && !touched_by(m.sense, "dual-chopper-chip", ""))
        wrong(key + ".reached", "the output of a comparator", "none, and no chip that compares");
    }
  }

  const Template& t_;
  Problems problems_;
};

}  // namespace

const Role* find_role(const Template& t, const std::string& name) {
  return find_by(t.roles, &Role::name, name);
}
const Place* find_place(const Template& t, const std::string& ref) {
  return find_by(t.places, &Place::ref, ref);
}
const Pin* find_pin(const Template& t, const std::string& name) {
  return find_by(t.pins, &Pin::name, name);
}

std::string input_name(std::string_view ref, std::string_view terminal) {
  return std::string(ref) + "." + std::string(terminal);
}
const Place* find_switched(const Template& t, const std::string& name) {
  if (const Place* p = find_place(t, name)) return p;
  const std::size_t dot = name.rfind('.');
  if (dot == std::string::npos) return nullptr;
  const Place* p = find_place(t, name.substr(0, dot));
  const Role* r = p ? find_role(t, p->role) : nullptr;
  const PartClass* c = r ? find_part_class(r->part_class) : nullptr;
  const bool has =
      c && std::find(c->inputs.begin(), c->inputs.end(), name.substr(dot + 1)) != c->inputs.end();
  return has ? p : nullptr;
}

double clock_of(const Template& t) { return t.pins.empty() ? 0.0 : t.pins.back().clock_Hz; }

std::size_t set_pins(const Template& t) {
  return static_cast<std::size_t>(
      std::count_if(t.pins.begin(), t.pins.end(), [](const Pin& p) { return p.clock_Hz == 0; }));
}

int controller_pins(const Template& t) {
  std::size_t n = t.pins.size();
  for (const Measure& m : t.measures) n += m.reached.empty() ? 1 : 2;
  return static_cast<int>(n);
}

Problems faults_of(const Template& t) { return Inspection(t).all(); }

}  // namespace pb
