// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A circuit ready to be run: like devices in arrays, nodes by number. Node 0 is ground. A node is
// either unknown or driven (its voltage is a given function of time). No names of parts or
// templates are known here: elements carry the ref they report under. Invariant: every node index
// is below nodes.size().
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "physics/devices/bipolar.h"
#include "physics/devices/bridge_chip.h"
#include "physics/devices/charge.h"
#include "physics/devices/chopper.h"
#include "physics/devices/contact.h"
#include "physics/devices/junction.h"
#include "physics/devices/mosfet.h"
#include "physics/devices/motor.h"
#include "physics/devices/saturation.h"
#include "physics/devices/supply_limit.h"

namespace pb::physics {

/// Piecewise linear function of time; constant before the first and after the last point. Times
/// rise.
struct Profile {
  std::vector<double> t_s, value;
  void hold_then_go(double t, double duration,
                    double to);  // keep the last value up to t, reach `to` after duration
};

struct Node {
  std::string name;
  bool driven = false;
  Profile voltage_V;  // driven nodes only
};

struct ResistorElement {
  std::string ref;
  int a, b;
  double conductance_S;
};
struct CapacitorElement {
  std::string ref;
  int a, b;
  double capacitance_F;
};
/// A capacitance that falls with its voltage, counted from a to b.
template <class Law>
struct ChargeElement {
  std::string ref;
  int a, b;
  Law law;
};
/// Breakdown is a second junction, reversed, behind an offset of `breakdown_V` (0: none).
struct DiodeElement {
  std::string ref;
  int anode, cathode;
  Junction forward;
  double breakdown_V = 0;
  Junction reverse{};
};
struct MosfetElement {
  std::string ref;
  int drain, gate, source;
  Channel channel;
};
struct BipolarElement {
  std::string ref;
  int collector, base, emitter;
  Bipolar transistor;
};
/// `inputs`: what the two inputs are reported under.
struct BridgeElement {
  std::string ref;
  int node[kBridgeTerminals];
  BridgeChip chip;
  std::string inputs[2];
};
struct InductorElement {
  std::string ref;
  int a, b;
  double inductance_H, resistance_ohm;
};
/// A source that limits its current, from a to b.
struct LimiterElement {
  std::string ref;
  int a, b;
  SupplyLimit law;
  Hiccup hiccup;
};
/// A controller pin: a level behind a conductance, both functions of time (high impedance is a
/// small conductance).
struct PinElement {
  std::string ref;
  int node;
  Profile level_V, conductance_S;
};
struct WindingElement {
  int a = 0, b = 0;
  double resistance_ohm = 1, inductance_H = 1e-3;
};

/// A winding's drive pins from t_s on, one level a pin ('0' '1' 'z'): while it is driven, and in
/// slow and fast decay. Where `chops` is false they stay at `driven`.
struct ChoppedState {
  double t_s;
  std::string driven, slow, fast;
  bool chops = false;
};
/// Pins that a latch of the controller steers.
struct ChoppedPins {
  std::vector<int> pins;  // of Circuit::pins
  std::string off;        // one a pin: the level that turns its switch off, '-' if there is none
  std::vector<ChoppedState> states;
  double from_s = 0;  // they float before
  double dead_s = 0;  // between turning something off and turning anything on
  double edge_s = 50e-9, high_V = 5, driven_S = 1, floating_S = 1e-8;
};
/// The law of devices/chopper.h at work: it drives nothing by itself, but steers a bridge, or pins.
/// The sense voltage is that of `sense`, compared with that of `reference` over `ratio`, plus
/// `offset_V`.
struct ChopperElement {
  std::string ref;
  int winding = 0, sense = 0, reference = 0;
  double ratio = 1, offset_V = 0;
  Chopper law;
  int bridge = -1;  // of Circuit::bridges; -1: pins
  double bridge_edge_s = 100e-9;
  ChoppedPins pins;
  /// In the comparator's place: how long the winding is driven the first time, and then each time.
  struct Pace {
    double first_s, on_s;
  };
  std::optional<Pace> pace;
};

struct Circuit {
  std::vector<Node> nodes;
  std::vector<ResistorElement> resistors;
  std::vector<CapacitorElement> capacitors;
  std::vector<ChargeElement<Depletion>> depletions;
  std::vector<ChargeElement<Ceramic>> ceramics;
  std::vector<DiodeElement> diodes;
  std::vector<MosfetElement> mosfets;
  std::vector<BipolarElement> bipolars;
  std::vector<BridgeElement> bridges;
  std::vector<LimiterElement> limiters;
  std::vector<InductorElement> inductors;
  std::vector<PinElement> pins;
  std::vector<WindingElement> windings;  // none, or two: a and b
  std::vector<ChopperElement> choppers;
  Rotor rotor;  // used when there are windings
  double theta0_rad = 0;
  /// In the place of the windings' inductance and the rotor's torque and EMF.
  std::optional<Iron> iron;
  /// In the way of the load, or of the rotor where the load is not loose.
  std::optional<EndStop> end_stop;
  /// Not rigid with the rotor, whose figures are then its own alone.
  std::optional<LooseLoad> loose_load;

  /// Test hook: the current of this resistor enters the node equations scaled, its power does not.
  /// The ledger must notice.
  int scaled_resistor = -1;
  double scale = 1.0;

  int add_node(std::string name);
  int find_node(const std::string& name) const;  // -1 if there is none
};

}  // namespace pb::physics
