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

Circuit held(const Circuit& circuit, bool stores) {
  Circuit out = circuit;
  for (WindingElement& w : out.windings) w.inductance_H = kHolds_H;
  out.rotor.locked = true;
  take_anything_back(out);
  const int from = out.find_node("inside supply"), rail = out.find_node(kRail);
  if (stores && from >= 0 && rail >= 0)
    out.inductors.push_back({"stored", from, rail, kHolds_H, 0.0});
  return out;
}

}  // namespace

HeldCircuit::HeldCircuit(const Circuit& circuit, bool stores)
    : system_(held(circuit, stores)), x_(static_cast<std::size_t>(system_.size()), 0.0) {
  const std::size_t inductors = system_.circuit().inductors.size();
  if (inductors > circuit.inductors.size())
    stored_ = system_.inductor_unknown(static_cast<int>(inductors) - 1);
}

bool HeldCircuit::settle_at(const MotorState& at, double stored_A) {
  for (int w : {0, 1}) x_[static_cast<std::size_t>(system_.winding_unknown(w))] = at.i_A[w];
  x_[static_cast<std::size_t>(system_.angle_unknown())] = at.th_rad;
  x_[static_cast<std::size_t>(system_.speed_unknown())] = 0.0;
  if (stored_ >= 0) x_[static_cast<std::size_t>(stored_)] = stored_A;
  if (!system_.circuit().choppers.empty()) Chopping(system_, at.t_s).begin_driven(at.t_s);
  return settle(system_, at.t_s, x_);
}

std::vector<double> HeldCircuit::at(const MotorState& at, double stored_A) {
  if (!settle_at(at, stored_A)) {
    std::fill(x_.begin(), x_.end(), 0.0);
    if (!settle_at(at, stored_A)) {
      std::fill(x_.begin(), x_.end(), 0.0);
      return {};
    }
  }
  std::vector<double> x = x_;
  x[static_cast<std::size_t>(system_.speed_unknown())] = at.w_rad_s;
  if (stored_ >= 0) x.erase(x.begin() + stored_);
  return x;
}

std::vector<double> at_state(const Circuit& circuit, const MotorState& at, double stored_A) {
  return HeldCircuit(circuit, stored_A != 0).at(at, stored_A);
}

}  // namespace pb::physics
