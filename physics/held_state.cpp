// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/held_state.h"

#include <algorithm>

#include "model/template.h"
#include "physics/chopping.h"
#include "physics/settle.h"

namespace pb::physics {
namespace {

/// So much inductance holds any current while everything else comes to rest [H]
constexpr double kHolds_H = 1e9;

/// Over the seconds to rest, a supply that cannot take current back would be pumped up without end.
void take_anything_back(Circuit& c) {
  constexpr double kSource_S = 10.0;
  const auto supply = std::find_if(c.diodes.begin(), c.diodes.end(),
                                   [](const DiodeElement& e) { return e.ref == "supply"; });
  if (supply == c.diodes.end()) return;
  c.resistors.push_back({"supply", supply->anode, supply->cathode, kSource_S});
  c.diodes.erase(supply);
}

}  // namespace

void expect_cable(const System& s, Transient& run, double winding_A) {
  constexpr double kOver = 10.0;
  for (std::size_t k = 0; k < s.circuit().inductors.size(); ++k)
    run.expect(s.inductor_unknown(static_cast<int>(k)), kOver * winding_A);
}

std::vector<double> at_state(const Circuit& circuit, const MotorState& at, double stored_A) {
  Circuit held = circuit;
  for (WindingElement& w : held.windings) w.inductance_H = kHolds_H;
  held.rotor.locked = true;
  take_anything_back(held);
  const int from = held.find_node("inside supply"), rail = held.find_node(kRail);
  const bool stored = stored_A != 0 && from >= 0 && rail >= 0;
  if (stored) held.inductors.push_back({"stored", from, rail, kHolds_H, 0.0});
  System s(held);
  std::vector<double> x(static_cast<std::size_t>(s.size()), 0.0);
  const auto put = [&](double speed_rad_s) {
    for (int w : {0, 1}) x[static_cast<std::size_t>(s.winding_unknown(w))] = at.i_A[w];
    x[static_cast<std::size_t>(s.angle_unknown())] = at.th_rad;
    x[static_cast<std::size_t>(s.speed_unknown())] = speed_rad_s;
  };
  const int stored_unknown = s.inductor_unknown(static_cast<int>(held.inductors.size()) - 1);
  if (stored) x[static_cast<std::size_t>(stored_unknown)] = stored_A;
  put(0.0);
  if (!held.choppers.empty()) Chopping(s, at.t_s).begin_driven(at.t_s);
  if (!settle(s, at.t_s, x)) return {};
  put(at.w_rad_s);
  if (stored) x.erase(x.begin() + stored_unknown);
  return x;
}

}  // namespace pb::physics
