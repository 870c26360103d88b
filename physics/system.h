// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The equations of a circuit: d/dt q(x, t) + f(x, t) = 0. Unknowns x: voltages of the nodes that
// are not driven, then currents of inductors and windings, then rotor speed and angle. q: charge at
// nodes, flux linkage, momentum, angle. f at a node: the sum of the currents leaving it. What is
// linear is one matrix, built once and scaled once a step; only the devices are worked out anew at
// every Newton iteration. Tested by tests/unit/physics_system.cpp.
#pragma once

#include <vector>

#include "physics/circuit.h"
#include "physics/sparse.h"

namespace pb::physics {

/// What one element does at one instant. voltage and current along its main path (drain-source,
/// collector-emitter, anode-cathode; of a bridge: supply to ground, and the greater output
/// current); control: gate-source or base-emitter voltage (of a bridge: the higher input); power:
/// its own v*i, all paths, no storage.
struct Reading {
  double voltage_V = 0, current_A = 0, control_V = 0, power_W = 0;
};

/// All elements in one numbering, for ledgers and probes: resistors, diodes, mosfets, bipolars,
/// bridges, inductors (their resistance), pins, windings (their resistance), in the circuit's
/// order.
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
  int unknown(int node) const { return place_[node] < size() ? place_[node] : -1; }
  int winding_unknown(int w) const { return first_winding_ + w; }
  int inductor_unknown(int l) const { return first_inductor_ + l; }
  int speed_unknown() const { return first_winding_ + 2; }
  int angle_unknown() const { return first_winding_ + 3; }
  bool has_rotor() const { return !c_.windings.empty(); }
  double node_voltage(const std::vector<double>& x, int node) const {
    const int p = place_[node];
    return p < size() ? x[p] : at_[p];
  }

  /// Sets the driven voltages and pin levels for time t.
  void set_time(double t_s);
  /// f at x and the time set; afterwards `lu.values` holds df/dx, not factored.
  void evaluate(const std::vector<double>& x);
  /// q at x and the time set.
  void charge(const std::vector<double>& x, std::vector<double>& q) const;
  /// Diagonal of dq/dx: what slope of an unknown a given f means.
  double storage(int unknown) const { return capacitance_[lu.find(unknown, unknown)]; }

  /// Steps with this factor before f follow.
  void set_factor(double hg);
  /// One Newton iteration for q(x) + hg f(x) = rhs at the time set: dx is the change that the
  /// linearised equations ask for. False if they are singular.
  bool newton(const std::vector<double>& x, const std::vector<double>& rhs,
              std::vector<double>& dx);

  /// Readings and powers at x, not far from where the devices were last evaluated: their currents
  /// are carried on along their slopes, so that they add up to zero at every node as the solution's
  /// do.
  void read(const std::vector<double>& x);
  /// Power the driven nodes and pin levels put into the circuit at the last read. [W]
  double source_power_W() const { return source_power_W_; }
  /// Power leaving by friction, viscous drag and gravity at the last read. [W]
  double load_power_W() const { return load_power_W_; }
  /// Stored energy: capacitors, inductors, windings, rotor, detent. [J]
  double stored_J(const std::vector<double>& x) const;

  std::vector<double> f;
  std::vector<Reading> readings;
  std::vector<ElementName> names;
  SparseLu lu;

 private:
  /// Slots of a two-terminal stamp, or of a branch with a current unknown: (node a, i), (node b,
  /// i), (i, node a), (i, node b).
  struct Pair {
    int aa, ab, ba, bb;
  };
  struct Three {
    int slot[3][3];
  };
  /// Devices as they were last evaluated. Terminals are places in `at_` and `residual_`.
  struct DiodeState {
    int anode, cathode;
    bool breaks_down;
    double per_V, offset, scale_A, per_ohm, saturation_A;  // of the forward junction
    double v_V, i_A, g_S;
    Pair slots;
  };
  struct MosfetState {
    int drain, gate, source;
    double vgs_V, vds_V, i_A, g_gs_S, g_ds_S;
    Three slots;
  };
  struct BipolarState {
    int collector, base, emitter;
    double vbe_V, vbc_V;
    BipolarCurrent i;
    Three slots;
  };
  struct BridgeState {
    int place[kBridgeTerminals];
    double v_V[kBridgeTerminals];
    BridgeCurrent i;
    int slot[kBridgeTerminals][kBridgeTerminals];
  };
  /// A driven node seen from the row of an unknown.
  struct DrivenTerm {
    int row, driven;
    double capacitance_F, conductance_S;
  };

  Pair pair(int a, int b) const;
  Pair branch(int i, int a, int b) const;
  Three three(int a, int b, int c) const;
  int slot_or_bin(int row_place, int column_place) const;
  void number_unknowns();
  void name_elements();
  void build_pattern();
  void build_devices();
  void build_linear();
  void build_storage();
  void stamp(std::vector<double>& m, const Pair& s, double value);
  void couple(int a, int b, double capacitance_F, double conductance_S);
  double stamped(std::size_t resistor) const;

  void assemble(const std::vector<double>& base, double hg, const std::vector<double>& x);
  void pins(double hg);
  void diodes(double hg);
  void mosfets(double hg);
  void bipolars(double hg);
  void bridges(double hg);
  void motor(double hg);
  void read_devices(std::size_t first);
  Reading read_bridge(const BridgeState& b);
  void read_branches(std::size_t first_inductor, std::size_t first_winding);
  void flow(int a, int b, double i_A) {
    flow_[a] += i_A;
    flow_[b] -= i_A;
  }

  Circuit c_;
  std::vector<int> place_;  // of a node in at_: its unknown, or behind the unknowns if driven
  std::vector<int> driven_nodes_;
  std::vector<double> at_;        // x, then the driven voltages
  std::vector<double> residual_;  // as at_; what falls on driven nodes is not used
  std::vector<double> flow_;      // as at_: currents leaving, of the last read
  std::vector<double> capacitance_, linear_, base_;  // matrices, in slots
  std::vector<double> pin_level_V_, pin_g_S_;
  std::vector<std::size_t> driven_cursor_, pin_cursor_;
  std::vector<DrivenTerm> driven_terms_;
  std::vector<DiodeState> diode_;
  std::vector<MosfetState> mosfet_;
  std::vector<BipolarState> bipolar_;
  std::vector<BridgeState> bridge_;
  std::vector<int> pin_slots_, motor_slots_;
  struct StorageTerm {
    int row, column;
    double value;
  };
  std::vector<StorageTerm> storage_terms_;  // of dq/dx
  int first_inductor_ = 0, first_winding_ = 0;
  double hg_ = 0, source_power_W_ = 0, load_power_W_ = 0;
};

/// Value of a profile at t; `cursor` remembers the segment, so that times that rise cost nothing to
/// look up.
double profile_at(const Profile& p, double t_s, std::size_t& cursor);

}  // namespace pb::physics
