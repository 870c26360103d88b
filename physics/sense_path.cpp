// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/sense_path.h"

#include <Eigen/Dense>
#include <algorithm>
#include <map>

#include "base/check.h"

namespace pb::physics {
namespace {

const PartClass* class_at(const Template& t, const Place& p) {
  const Role* r = find_role(t, p.role);
  return r ? find_part_class(r->part_class) : nullptr;
}

std::string node_of(const Place& p, const PartClass& c, std::string_view terminal) {
  const auto at = std::find(c.terminals.begin(), c.terminals.end(), terminal);
  PB_CHECK(at != c.terminals.end(), terminal);
  return p.nodes[static_cast<std::size_t>(at - c.terminals.begin())];
}

bool is_fixed(const std::string& node) {
  return node == kGround || node == kRail || node == kLogic;
}

/// Voltage at `seen` of a network of the design's resistors with 1 A into `into`, or 1 V behind
/// `behind_ohm` there; supplies at zero.
double network(const Design& d, const std::string& into, double behind_ohm,
               const std::string& seen) {
  std::map<std::string, Eigen::Index> index{{into, 0}};
  struct Branch {
    std::string a, b;
    double siemens;
  };
  std::vector<Branch> list;
  for (const Place& p : d.wiring.places) {
    const auto value = d.settings.value.find(p.role);
    if (value == d.settings.value.end() || !d.parts.contains(p.role)) continue;
    list.push_back({p.nodes[0], p.nodes[1], 1.0 / value->second});
  }
  for (std::size_t before = 0; before != index.size();) {  // what hangs together with it
    before = index.size();
    for (const Branch& e : list)
      for (const auto& [from, to] : {std::pair(e.a, e.b), std::pair(e.b, e.a)})
        if (index.contains(from) && !is_fixed(to))
          index.try_emplace(to, static_cast<Eigen::Index>(index.size()));
  }
  const auto n = static_cast<Eigen::Index>(index.size());
  Eigen::MatrixXd g = Eigen::MatrixXd::Zero(n, n);
  Eigen::VectorXd i = Eigen::VectorXd::Zero(n);
  for (const Branch& e : list) {
    const auto a = index.find(e.a), b = index.find(e.b);
    if (a != index.end()) g(a->second, a->second) += e.siemens;
    if (b != index.end()) g(b->second, b->second) += e.siemens;
    if (a == index.end() || b == index.end()) continue;
    g(a->second, b->second) -= e.siemens;
    g(b->second, a->second) -= e.siemens;
  }
  i(0) = 1.0;
  if (behind_ohm > 0) g(0, 0) += 1.0 / behind_ohm, i(0) = 1.0 / behind_ohm;
  const auto at = index.find(seen);
  if (at == index.end()) return 0;
  return g.fullPivLu().solve(i)(at->second);
}

const Measure& measure_of(const Template& t, int winding) {
  PB_CHECK(t.measures.size() == 2, t.measures.size());
  return t.measures[static_cast<std::size_t>(winding)];
}

}  // namespace

bool is_chopper_chip(const PartClass& c) { return figure_index(c, "reference_ratio") >= 0; }

Comparison comparison_of(const Template& t, int winding) {
  const Measure& m = measure_of(t, winding);
  for (const Place& p : t.places) {
    const PartClass* c = class_at(t, p);
    if (!c) continue;
    if (c->name == "comparator" && node_of(p, *c, "out") == m.reached)
      return {&p, 0, node_of(p, *c, "minus"), node_of(p, *c, "plus")};
    if (!is_chopper_chip(*c)) continue;
    for (int k : {0, 1}) {
      const std::string number = std::to_string(k + 1);
      if (node_of(p, *c, "sense" + number) == m.sense)
        return {&p, k, m.sense, node_of(p, *c, "ref" + number)};
    }
  }
  PB_CHECK(false, m.sense);
  return {};
}

double sense_ohm(const Design& d, int winding) {
  return network(d, measure_of(d.wiring, winding).sense, 0, comparison_of(d.wiring, winding).sense);
}

double reference_gain(const Design& d, int winding) {
  return network(d, measure_of(d.wiring, winding).reference, d.brief.controller.pin_resistance_ohm,
                 comparison_of(d.wiring, winding).reference);
}

double reference_share(const Design& d, int winding) {
  const Comparison c = comparison_of(d.wiring, winding);
  const Part& part = d.parts.at(c.place->role);
  const double ratio =
      is_chopper_chip(*find_part_class(part.part_class)) ? figure(part, "reference_ratio") : 1.0;
  const double needs_V = ratio * sense_ohm(d, winding) * regulated_current(d.brief);
  const double each_V = reference_gain(d, winding) * d.brief.controller.logic_voltage_V;
  return each_V > 0 ? needs_V / each_V : kNotGiven;
}

}  // namespace pb::physics
