// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/moment.h"

#include <cmath>

#include "physics/transient.h"

namespace pb::physics {
namespace {

std::vector<Branch> branches_of(const System& system) {
  const Circuit& c = system.circuit();
  std::vector<Branch> out;
  out.reserve(system.names.size());
  std::size_t e = 0;
  const auto add = [&](int from, int to) {
    out.push_back({system.names[e].ref, c.nodes[static_cast<std::size_t>(from)].name,
                   c.nodes[static_cast<std::size_t>(to)].name, system.readings[e].current_A});
    ++e;
  };
  // The order of System::names.
  for (const ResistorElement& r : c.resistors) add(r.a, r.b);
  for (const DiodeElement& d : c.diodes) add(d.anode, d.cathode);
  for (const MosfetElement& m : c.mosfets) add(m.drain, m.source);
  for (const BipolarElement& q : c.bipolars) add(q.collector, q.emitter);
  e += c.bridges.size();
  for (const InductorElement& l : c.inductors) add(l.a, l.b);
  e += c.pins.size();
  for (const WindingElement& w : c.windings) add(w.a, w.b);
  return out;
}

}  // namespace

std::vector<Branch> currents_at(const Design& design, const std::vector<Spread>& spreads,
                                const Point& point, const Temperatures& temperatures,
                                const Plan& plan, double t_s, const StopToken& stop) {
  System system(assemble(design, spreads, point, temperatures, plan, {}));
  Transient transient(system, {});
  for (const PlannedState& s : plan.states) transient.landings_s.push_back(s.t_s);
  transient.start(-plan.settle_s);
  const double end_s = std::min(t_s, plan.end_s);
  if (transient.run_to(0.0, stop) != Outcome::reached_end) return {};
  if (end_s > 0 && transient.run_to(end_s, stop) != Outcome::reached_end) return {};
  return branches_of(system);
}

std::vector<double> currents_into(const std::vector<Branch>& branches, const std::string& ref,
                                  const std::vector<std::string>& nodes) {
  std::vector<double> out(nodes.size(), std::nan(""));
  const auto add = [&](const std::string& node, double current_A) {
    for (std::size_t k = 0; k < nodes.size(); ++k)
      if (nodes[k] == node) {
        out[k] = (std::isnan(out[k]) ? 0.0 : out[k]) + current_A;
        return;
      }
  };
  for (const Branch& b : branches) {
    if (b.ref != ref) continue;
    add(b.from, b.current_A);
    add(b.to, -b.current_A);
  }
  if (out.size() == 2 && std::isnan(out[0]) != std::isnan(out[1]))
    (std::isnan(out[0]) ? out[0] : out[1]) = std::isnan(out[0]) ? -out[1] : -out[0];
  return out;
}

}  // namespace pb::physics
