// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/causes.h"

#include <algorithm>
#include <cmath>

namespace pb {
namespace {

using Nodes = std::vector<std::string>;

Candidate of_spread(const std::vector<physics::Spread>& spreads, std::size_t k, std::string unit,
                    std::vector<double> trials) {
  return {spreads[k].name, std::move(unit), spreads[k].typ, std::move(trials),
          [k](Variant& v, double x) { v.point.value[k] = x; }};
}

std::vector<double> times(double typ, std::initializer_list<double> factors) {
  std::vector<double> out;
  for (double f : factors) out.push_back(typ * f);
  return out;
}

/// Figures that vary more on a bench than any limit allows for.
void add_figures(std::vector<Candidate>& out, const std::vector<physics::Spread>& spreads) {
  for (std::size_t k = 0; k < spreads.size(); ++k) {
    const std::string& name = spreads[k].name;
    const double typ = spreads[k].typ;
    if (name == "supply.voltage")
      out.push_back(of_spread(spreads, k, "V", times(typ, {0.6, 0.75, 0.9, 1.0, 1.1, 1.25})));
    if (name == "motor.winding_resistance")
      out.push_back(of_spread(spreads, k, "ohm", times(typ, {0.5, 0.75, 1.0, 1.35, 2.0})));
    if (name == "motor.winding_inductance")
      out.push_back(of_spread(spreads, k, "H", times(typ, {0.35, 0.6, 1.0, 1.7, 3.0})));
    if (name.ends_with(".threshold"))
      out.push_back(of_spread(spreads, k, "V", {0.4 * typ, 0.7 * typ, typ, typ + 0.7, typ + 1.5}));
  }
}

/// A source resistance beyond the brief's: a long lead, a tired battery, a fuse, a meter in series.
Candidate supply_sag(const Design& d, const std::vector<physics::Spread>& spreads) {
  const double r = d.brief.supply.resistance_ohm;
  double load_ohm = d.brief.motor.winding_resistance_ohm;
  for (const physics::Spread& s : spreads)
    if (s.name == "motor.winding_resistance") load_ohm = s.typ;
  return {"supply.resistance",
          "ohm",
          r,
          {r, r + 0.02 * load_ohm, r + 0.06 * load_ohm, r + 0.2 * load_ohm, r + 0.6 * load_ohm},
          [](Variant& v, double x) { v.design.brief.supply.resistance_ohm = x; }};
}

/// Diodes left out or open: all of a role, and each alone.
void add_missing_paths(std::vector<Candidate>& out, const Design& d) {
  for (const Role& role : d.wiring.roles) {
    if (role.part_class != "diode" || !d.parts.contains(role.name)) continue;
    const std::string name = role.name;
    out.push_back({name + ".missing", "1", 0, {1}, [name](Variant& v, double) {
                     v.design.parts.erase(name);
                   }});
    const auto in_role = [&](const Place& p) { return p.role == name; };
    if (std::count_if(d.wiring.places.begin(), d.wiring.places.end(), in_role) < 2) continue;
    for (const Place& p : d.wiring.places) {
      if (!in_role(p)) continue;
      const std::string ref = p.ref;
      out.push_back({ref + ".missing", "1", 0, {1}, [ref](Variant& v, double) {
                       std::erase_if(v.design.wiring.places,
                                     [&](const Place& q) { return q.ref == ref; });
                     }});
    }
  }
}

/// What a probe on the board's lead to `node` reads of windings that lie between other nodes now.
void see_from(double (&row)[2], const std::string& node, double sign, const Nodes& a,
              const Nodes& b) {
  const Nodes* w[2] = {&a, &b};
  for (int k : {0, 1})
    row[k] = sign * (((*w[k])[0] == node ? 1.0 : 0.0) - ((*w[k])[1] == node ? 1.0 : 0.0));
}

/// Plugs wired otherwise. Probes stay where they were on the board, but for a winding turned round,
/// whose own current is what differs.
void add_miswirings(std::vector<Candidate>& out, const Design& d) {
  const Nodes a = d.wiring.winding_a, b = d.wiring.winding_b;
  struct Row {
    const char* key;
    Nodes a, b;
    bool at_board;
  };
  const Row rows[] = {{"winding_b.reversed", a, {b[1], b[0]}, false},
                      {"windings.exchanged", b, a, true},
                      {"windings.interleaved", {a[0], b[0]}, {a[1], b[1]}, true},
                      {"windings.interleaved_crossed", {a[0], b[1]}, {a[1], b[0]}, true}};
  for (const Row& row : rows) {
    if (row.a[0] == row.a[1] || row.b[0] == row.b[1]) continue;  // legs shared by both windings
    out.push_back({row.key, "1", 0, {1}, [row, a, b](Variant& v, double) {
                     v.design.wiring.winding_a = row.a, v.design.wiring.winding_b = row.b;
                     if (!row.at_board) return;
                     const bool shared = a[0] == b[0] || a[0] == b[1];
                     const bool shared_b = b[0] == a[0] || b[0] == a[1];
                     see_from(v.see[0], a[shared], shared ? -1 : 1, row.a, row.b);
                     see_from(v.see[1], b[shared_b], shared_b ? -1 : 1, row.a, row.b);
                   }});
  }
}

}  // namespace

std::vector<Candidate> candidates_of(const Design& design,
                                     const std::vector<physics::Spread>& spreads) {
  std::vector<Candidate> out{supply_sag(design, spreads)};
  add_figures(out, spreads);
  add_missing_paths(out, design);
  add_miswirings(out, design);
  return out;
}

}  // namespace pb
