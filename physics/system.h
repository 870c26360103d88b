// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The equations of a circuit: d/dt q(x, t) + f(x, t) = 0. Unknowns x: voltages of the nodes that
// are not driven, then currents of inductors and windings, then rotor speed and angle. q: charge at
// nodes, flux linkage, momentum, angle. f at a node: the sum of the currents leaving it. One pass
// gives f, its Jacobian and every element's current and power.
#pragma once

#include <vector>

#include "physics/circuit.h"
#include "physics/sparse.h"

namespace pb::physics {

/// What one element does at one instant. voltage and current along its main path (drain-source,
/// collector-emitter, anode-cathode); control: gate-source or base-emitter voltage; power: its own
/// v*i, all paths, no storage.
struct Reading {
  double voltage_V = 0, current_A = 0, control_V = 0, power_W = 0;
};

/// All elements in one numbering, for ledgers and probes: resistors, diodes, mosfets, bipolars,
/// inductors (their resistance), pins, windings (their resistance), in the circuit's order.
struct ElementName {
  std::string ref;
  const char* kind;
};

class System {
 public:
  explicit System(const Circuit& circuit);

  int size() const { return lu.size(); }
  const Circuit& circuit() const { return c_; }
  /// Index of a node's voltage among the unknowns; -1 for driven nodes.
  int unknown(int node) const { return unknown_[node]; }
  int winding_unknown(int w) const { return first_winding_ + w; }
  int inductor_unknown(int l) const { return first_inductor_ + l; }
  int speed_unknown() const { return first_winding_ + 2; }
  int angle_unknown() const { return first_winding_ + 3; }
  bool has_rotor() const { return !c_.windings.empty(); }
  double node_voltage(const std::vector<double>& x, int node) const {
    return unknown_[node] >= 0 ? x[unknown_[node]] : driven_V_[node];
  }

  /// Sets the driven voltages and pin levels for time t.
  void set_time(double t_s);
  /// Fills f, g (df/dx, in the LU's slots) and readings at x and the time set.
  void evaluate(const std::vector<double>& x);
  /// Fills q at x and the time set.
  void charge(const std::vector<double>& x, std::vector<double>& q) const;
  /// Stored energy: capacitors, inductors, windings, rotor, detent. [J]
  double stored_J(const std::vector<double>& x) const;
  /// Power the driven nodes and pin levels put into the circuit at the last evaluate. [W]
  double source_power_W() const;
  /// Power leaving by friction, viscous drag and gravity at the last evaluate. [W]
  double load_power_W = 0;

  std::vector<double> f, g;         // g in slots; entry nonzeros() is a bin for driven nodes
  std::vector<double> capacitance;  // dq/dx in slots
  std::vector<Reading> readings;
  std::vector<ElementName> names;
  SparseLu lu;
  double pin_power_W = 0;

 private:
  struct Pair {
    int aa, ab, ba, bb;
  };  // slots of a two-terminal stamp
  struct Three {
    int slot[3][3];
  };
  Pair pair(int a, int b) const;
  int slot_or_bin(int row_node, int column_node) const;
  void conductance(const Pair& s, double g_S);
  void flow(int a, int b, double i_A) {
    f_node_[a] += i_A;
    f_node_[b] -= i_A;
  }
  void build_pattern();
  void build_slots();
  void build_capacitance();
  void passive(const std::vector<double>& x);
  void diodes();
  void mosfets();
  void bipolars();
  void magnetics(const std::vector<double>& x);
  void motor(const std::vector<double>& x);

  Circuit c_;
  std::vector<int> unknown_;
  std::vector<double> driven_V_, v_, f_node_;
  std::vector<double> pin_level_V_, pin_g_S_;
  std::vector<std::size_t> node_cursor_, pin_cursor_;
  std::vector<Pair> resistor_slots_, diode_slots_, inductor_slots_, winding_slots_;
  std::vector<Three> mosfet_slots_, bipolar_slots_;
  std::vector<int> pin_slots_;
  std::vector<int> motor_slots_;
  int first_inductor_ = 0, first_winding_ = 0, bin_ = 0;
  double t_s_ = 0;
};

/// Value of a profile at t; `cursor` remembers the segment, so that times that rise cost nothing to
/// look up.
double profile_at(const Profile& p, double t_s, std::size_t& cursor);

}  // namespace pb::physics
