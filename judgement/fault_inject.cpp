// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/fault_inject.h"

#include <algorithm>

#include "base/check.h"
#include "model/template.h"

namespace pb::inject {

using namespace physics;

namespace {

constexpr double kStray_F = 1e-12;    // what is left between the pads of a lifted part
constexpr double kLeak_S = 1e-8;      // a pin at high impedance: as in physics/assembly.cpp
constexpr double kPinEdge_s = 50e-9;  // as there

int node_of(const Circuit& c, const std::string& name) {
  const int n = c.find_node(name);
  PB_CHECK(n >= 0, name);
  return n;
}

/// As it stands at t, and then no corner any more.
void cut(Profile& p, double t_s) {
  while (!p.t_s.empty() && p.t_s.size() > 1 && p.t_s.back() > t_s)
    p.t_s.pop_back(), p.value.pop_back();
}

/// Whatever a latch of the controller wants of this pin, it does not get it.
void let_go(Circuit& c, const std::string& pin) {
  for (ChopperElement& e : c.choppers) {
    ChoppedPins& p = e.pins;
    for (std::size_t k = p.pins.size(); k-- > 0;) {
      if (c.pins[static_cast<std::size_t>(p.pins[k])].ref != pin) continue;
      p.pins.erase(p.pins.begin() + static_cast<std::ptrdiff_t>(k));
      p.off.erase(k, 1);
      for (ChoppedState& s : p.states)
        for (std::string* levels : {&s.driven, &s.slow, &s.fast})
          if (k < levels->size()) levels->erase(k, 1);
    }
  }
}

/// A chip's latch goes with it; a comparator that is not there never says that anything is reached.
void open_choppers(Circuit& c, const std::string& ref) {
  constexpr double kNever_V = 1e3;
  for (ChopperElement& e : c.choppers) {
    if (e.bridge < 0 && e.ref == ref) e.offset_V = kNever_V;
    if (e.bridge < 0) continue;
    const auto at = c.bridges.begin() + e.bridge;
    if (at->ref == ref)
      e.bridge = -2;
    else
      e.bridge -= static_cast<int>(
          std::count_if(c.bridges.begin(), at, [&](const auto& b) { return b.ref == ref; }));
  }
  std::erase_if(c.choppers, [](const ChopperElement& e) { return e.bridge == -2; });
}

}  // namespace

void open_part(Circuit& c, const std::string& ref) {
  const auto is_ref = [&](const auto& e) { return e.ref == ref; };
  for (ResistorElement& r : c.resistors)
    if (is_ref(r)) r.conductance_S = 1.0 / kOpen_ohm;
  for (CapacitorElement& k : c.capacitors)
    if (is_ref(k)) k.capacitance_F = kStray_F;
  for (auto& k : c.depletions)
    if (is_ref(k)) k.law.zero_F = kStray_F;
  for (auto& k : c.ceramics)
    if (is_ref(k)) k.law.zero_F = kStray_F;
  for (PinElement& p : c.pins)
    if (is_ref(p)) p.conductance_S = {{p.conductance_S.t_s.front()}, {kLeak_S}};
  let_go(c, ref);
  open_choppers(c, ref);
  std::erase_if(c.diodes, is_ref);
  std::erase_if(c.mosfets, is_ref);
  std::erase_if(c.bipolars, is_ref);
  std::erase_if(c.bridges, is_ref);
  std::erase_if(c.limiters, is_ref);
}

void bridge(Circuit& c, const std::string& from, const std::string& to, double ohm,
            const std::string& ref) {
  c.resistors.push_back({ref, node_of(c, from), node_of(c, to), 1.0 / ohm});
}

void lift_gate(Circuit& c, const std::string& ref, const std::string& leaks_to) {
  const std::string lifted = "lifted gate of " + ref;
  const int gate = c.add_node(lifted);
  for (MosfetElement& m : c.mosfets)
    if (m.ref == ref) m.gate = gate;
  c.capacitors.push_back({"", gate, 0, kStray_F});
  bridge(c, lifted, leaks_to, kLeak_ohm, "leakage");
}

void stick_pin(Circuit& c, const std::string& pin, Stuck at, double driven_S) {
  let_go(c, pin);
  for (PinElement& p : c.pins) {
    if (p.ref != pin) continue;
    const double begin_s = p.level_V.t_s.front();
    p.conductance_S = {{begin_s}, {at == Stuck::floating ? kLeak_S : driven_S}};
    p.level_V = {{begin_s}, {0.0}};
    if (at == Stuck::high) p.level_V = c.nodes[node_of(c, kLogic)].voltage_V;
  }
}

void reset_pins(Circuit& c, double t_s, double level_V, double conductance_S) {
  for (ChopperElement& e : c.choppers) {  // the controller's own latches end; its pins are pulled
    ChoppedPins& p = e.pins;
    if (p.pins.empty()) continue;
    std::erase_if(p.states, [&](const ChoppedState& s) { return s.t_s >= t_s; });
    const char level = conductance_S <= kLeak_S ? 'z' : level_V > 0 ? '1' : '0';
    p.states.push_back({t_s, std::string(p.pins.size(), level), {}, {}, false});
  }
  for (PinElement& p : c.pins) {
    cut(p.level_V, t_s);
    cut(p.conductance_S, t_s);
    p.level_V.hold_then_go(t_s, kPinEdge_s, level_V);
    p.conductance_S.hold_then_go(t_s, kPinEdge_s, conductance_S);
  }
}

namespace {

/// What iron takes beside a winding, a per cent of its current, does not follow a lead that is put
/// elsewhere.
void without_iron_loss(Circuit& c) {
  std::erase_if(c.resistors, [](const auto& r) { return r.ref.starts_with("winding_"); });
}

}  // namespace

void open_winding(Circuit& c, std::size_t winding) {
  without_iron_loss(c);
  c.windings.at(winding).resistance_ohm = kOpen_ohm;
}

void turn_winding(Circuit& c, std::size_t winding) {
  std::swap(c.windings.at(winding).a, c.windings.at(winding).b);
}

void cross_windings(Circuit& c) {
  without_iron_loss(c);
  std::swap(c.windings.at(0).b, c.windings.at(1).a);
}

void reverse_supply(Circuit& c) {
  for (double& v : c.nodes[node_of(c, "inside supply")].voltage_V.value) v = -v;
  // A source that cannot take current back still cannot, the other way round.
  for (DiodeElement& d : c.diodes)
    if (d.ref == "supply") std::swap(d.anode, d.cathode);
  for (LimiterElement& l : c.limiters)
    if (l.ref == "supply") std::swap(l.a, l.b);
}

void unplug_supply(Circuit& c) { open_part(c, "supply"); }

void turn_rotor(Circuit& c, double speed_rad_s) {
  // A hand far stronger than the motor: viscous drag against a turning frame, with a time constant
  // of a few milliseconds. Within 1 % of its speed for any motor whose torque is below a hundredth
  // of what the drag has then.
  const double pull_Nms = 100.0 * std::max(c.rotor.motor_constant_Vs, 0.1);
  constexpr double kStart_s = 3e-3;
  Rotor& r = c.rotor;
  r.locked = false;
  r.inertia_kgm2 = pull_Nms * kStart_s;
  r.viscous_Nms = pull_Nms;
  r.gravity_Nm = -pull_Nms * speed_rad_s;
  c.end_stop.reset();
  c.loose_load.reset();
}

}  // namespace pb::inject
