// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The equations of a circuit: d/dt q(x, t) + f(x, t) = 0. Unknowns x: voltages of the nodes that
// are not driven, then currents of inductors and windings, then rotor speed and angle, and those of
// a load that is loose. q: charge at nodes, flux linkage, momentum, angle. f at a node: the sum of
// the currents leaving it. What is linear is one matrix, built once and scaled once a step; only
// the devices are worked out anew at every Newton iteration. All of it over a number type: double,
// or Lanes for units in lockstep. Tested by tests/unit/physics_transient.cpp and, as lanes, by
// tests/unit/physics_lanes.cpp.
#pragma once

#include <limits>
#include <vector>

#include "physics/circuit.h"
#include "physics/numbering.h"
#include "physics/sparse.h"

namespace pb::physics {

/// What one element does at one instant. voltage and current along its main path (drain-source,
/// collector-emitter, anode-cathode; of a bridge: supply to ground, and the greater output
/// current); control: gate-source or base-emitter voltage (of a bridge: the higher input); power:
/// its own v*i, all paths, no storage.
template <class R>
struct BasicReading {
  R voltage_V = 0, current_A = 0, control_V = 0, power_W = 0;
};
using Reading = BasicReading<double>;

template <class R>
class BasicSystem {
 public:
  using Vector = std::vector<R>;

  const Numbering& numbering() const { return n_; }
  int size() const { return n_.size(); }
  const Circuit& circuit() const { return n_.circuit; }
  /// Index of a node's voltage among the unknowns; -1 for driven nodes.
  int unknown(int node) const { return n_.place[node] < size() ? n_.place[node] : -1; }
  int winding_unknown(int w) const { return n_.first_winding + w; }
  int inductor_unknown(int l) const { return n_.first_inductor + l; }
  int speed_unknown() const { return n_.first_winding + 2; }
  int angle_unknown() const { return n_.first_winding + 3; }
  bool has_rotor() const { return n_.has_rotor; }
  bool has_loose_load() const { return n_.has_loose_load; }
  /// With a loose load only.
  int load_speed_unknown() const { return n_.first_winding + 4; }
  /// What the load turns with: the rotor, or its own.
  int load_angle_unknown() const { return n_.first_winding + (has_loose_load() ? 5 : 3); }
  /// Whether there is an end stop or a loose load.
  bool touches() const { return stops_ || has_loose_load(); }
  /// Stiffest contact of the rotor or the load; with touches() only. [N m/rad]
  R contact_stiffness_Nm_rad() const;
  /// Time until two bodies touch if speeds stay, but not below what takes them softly through the
  /// beginning of the contact; 1e300 if none come closer. With touches() only. [s]
  R until_touching(const Vector& x) const;
  /// What the end stop bore at the last measure; at the rotor. [N m]
  R stop_torque_Nm() const { return stop_torque_Nm_; }
  /// Rotor, and load in the middle of its gap, at this angle.
  void turn_to(Vector& x, const R& angle_rad) const {
    x[angle_unknown()] = angle_rad;
    x[load_angle_unknown()] = angle_rad;
  }
  R motor_constant_Vs() const { return rotor_.motor_constant_Vs; }
  R teeth() const { return rotor_.teeth; }
  bool locked() const { return rotor_.locked; }
  R start_angle_rad() const { return start_angle_rad_; }
  R node_voltage(const Vector& x, int node) const {
    const int p = n_.place[node];
    return p < size() ? x[p] : at_[p];
  }

  /// Sets the driven voltages and pin levels for time t. Lanes lie between the same corners.
  void set_time(const R& t_s);
  /// From now on the pin goes from what it is at to this level behind this conductance, in a
  /// straight line between two times; its profiles no longer count. set_time() comes after.
  void steer_pin(int pin, double from_s, double to_s, const R& level_V, const R& conductance_S);
  /// The same of how far a bridge is in decay.
  void steer_bridge(int bridge, double from_s, double to_s, const R& slow, const R& fast);
  /// f at x and the time set.
  void evaluate(const Vector& x);
  /// q at x and the time set.
  void charge(const Vector& x, Vector& q) const;
  /// dx/dt at x, with f there, of an unknown that alone stores what its equation balances
  /// (currents, speed, angle).
  R slope(const Vector& x, const Vector& f_there, int unknown) const;
  /// Transistors and after them driver chips among the elements.
  int first_switch() const { return static_cast<int>(resistor_.size() + diode_.size()); }
  int transistors() const { return static_cast<int>(mosfet_.size() + bipolar_.size()); }
  int switches() const { return transistors() + static_cast<int>(bridge_.size()); }
  /// What they lose, of what all elements do.
  R switches_W(const Vector& loss_W) const {
    R sum = R(0.0);
    for (int e = first_switch(), end = e + switches(); e < end; ++e) sum += loss_W[e];
    return sum;
  }
  /// Whether iron takes part: then a winding's current alone does not tell its flux.
  bool saturates() const { return saturates_; }
  /// With supplies that may shut off: at the start of a run, after each step, and the next time to
  /// land on.
  bool hiccups() const { return hiccups_; }
  void start_supplies();
  void advance_supplies(const Vector& x, const R& t_s);
  R next_turn(const R& t_s) const;
  /// Diagonal of dq/dx: what slope of an unknown a given f means.
  R storage(int unknown) const { return capacitance_[n_.lu.find(unknown, unknown)]; }

  /// Steps with this factor before f follow.
  void set_factor(const R& hg);
  /// One Newton iteration for q(x) + hg f(x) = rhs at the time set: dx is the change that the
  /// linearised equations ask for. False if they are singular.
  Which<R> newton(const Vector& x, const Vector& rhs, Vector& dx);
  /// What iterations may leave undone, after set_factor: this share of each tolerance.
  void set_allowed(const Vector& tolerance, double share);
  /// Whether the last iteration's dx leaves less than that to the next one: by how far each
  /// device's law can be from its tangent over that way.
  Which<R> left_little(const Vector& dx);
  /// What a small `error` in q + hg f means for x, by the last iteration's slopes. In place.
  void carry_over(Vector& error) { lu_.solve(error.data()); }

  /// Powers and currents of all elements at x, not far from where the devices were last evaluated:
  /// their currents are carried on along their slopes, so that they add up to zero at every node as
  /// the solution's do.
  void measure(const Vector& x, Vector& loss_W, Vector& current_A);
  /// Readings at the x last measured, of those lanes.
  void fill_readings(const Vector& loss_W, const Vector& current_A, const Which<R>& of);
  /// Both.
  void read(const Vector& x) {
    measure(x, loss_W_, current_A_);
    fill_readings(loss_W_, current_A_, which<R>(true));
  }
  /// Power the driven nodes and pin levels put into the circuit at the last measure. [W]
  R source_power_W() const { return source_power_W_; }
  /// Power leaving by friction, viscous drag, gravity and contacts at the last measure. [W]
  R load_power_W() const { return load_power_W_; }
  /// Stored energy: capacitors, inductors, windings, rotor, detent. [J]
  R stored_J(const Vector& x) const;
  /// Copies one unit's driven voltages, and what its stop bears, to a system of that unit.
  template <class One>
  void show_driven(int unit, One& to) const {
    for (std::size_t m = static_cast<std::size_t>(size()); m < at_.size(); ++m)
      to.at_[m] = at_[m][unit];
    to.stop_torque_Nm_ = stop_torque_Nm_[unit];
  }

  /// f(transistor, v, dv) for both junctions of every bipolar transistor, v and dv counted forward.
  template <class F>
  void for_junctions(const Vector& x, const Vector& delta, F visit) const {
    const auto v = [&](int place) { return place < size() ? x[place] : at_[place]; };
    const auto dv = [&](int place) { return place < size() ? delta[place] : R(0.0); };
    for (const Bipolar& q : bipolar_)
      for (const int other : {q.emitter, q.collector})
        visit(q.law, q.law.sign * (v(q.base) - v(other)), q.law.sign * (dv(q.base) - dv(other)));
  }

  /// f(z, dz) for every diode, either way it conducts: where its law was last evaluated, and how
  /// far `delta` takes it.
  template <class F>
  void for_diodes(const Vector& delta, F visit) const {
    const auto dv = [&](int place) { return place < size() ? delta[place] : R(0.0); };
    for (const Diode& d : diode_) {
      const R by = dv(d.anode) - dv(d.cathode);
      visit(d.z, d.forward.per_V * by);
      if (d.breaks_down) visit(d.reverse.z(-d.v_V - d.breakdown_V), -d.reverse.per_V * by);
    }
  }

  Vector f;
  std::vector<BasicReading<R>> readings;
  const std::vector<ElementName>& names;  // the elements, in the order of the readings

 protected:
  template <class>
  friend class BasicSystem;

  /// Of one circuit.
  explicit BasicSystem(const Numbering& numbering);
  /// Of eight that differ in values only.
  struct Units {
    const BasicSystem<double>* of[kLanes];
  };
  explicit BasicSystem(const Units& units);

 private:
  using Pair = Numbering::Pair;
  using Three = Numbering::Three;
  /// Elements with what does not change worked out, and as they were last evaluated. Terminals are
  /// places in `at_` and `residual_`.
  struct TwoTerminal {
    int a, b;
    R value, stamped;  // as it heats, and as the node equations see it
  };
  template <template <class> class Law>
  struct Charge {
    int a, b;
    Pair slots;
    Law<R> law;
    R v_V;  // where last evaluated
  };
  struct Diode {
    int anode, cathode;
    bool breaks_down;
    Pair slots;
    JunctionLaw<R> forward, reverse;
    R breakdown_V, v_V, z, i_A, g_S;
    bool conducts;  // where last evaluated
  };
  struct Mosfet {
    int drain, gate, source;
    Three slots;
    ChannelLaw<R> law;
    R vgs_V, vds_V, i_A, g_gs_S, g_ds_S;
  };
  struct Bipolar {
    int collector, base, emitter;
    Three slots;
    BasicBipolar<R> law;
    R vbe_V, vbc_V;
    BasicBipolarCurrent<R> i;
  };
  struct Bridge {
    int place[kBridgeTerminals], slot[kBridgeTerminals][kBridgeTerminals];
    BasicBridgeChip<R> law;
    R v_V[kBridgeTerminals];
    BasicBridgeCurrent<R> i;
    BasicReading<R> reading;
  };
  struct Limiter {
    int a, b;
    Pair slots;
    BasicSupplyLimit<R> law;
    BasicHiccup<R> hiccup;
    R share, v_V, i_A, g_S;
  };
  struct Branch {  // with a current of its own among the unknowns
    int unknown, a, b;
    R resistance_ohm, inductance_H;
  };
  struct Pin {
    int place, slot;
    R level_V, conductance_S;
  };
  /// A driven node seen from the row of an unknown.
  struct DrivenTerm {
    int row, driven;
    R capacitance_F, conductance_S;
  };
  /// Values of a profile at its corners.
  struct Source {
    const std::vector<double>* t_s;
    std::vector<R> value;
    std::size_t at;  // between corners at and at + 1
    bool moves;
  };

  /// A straight line between two times, for two quantities at once.
  struct Ramp {
    int of;
    double from_s, to_s;
    R from[2], to[2];
    R at(int k, double t_s) const {
      if (t_s >= to_s) return to[k];
      const double share = t_s <= from_s ? 0.0 : (t_s - from_s) / (to_s - from_s);
      return (1.0 - share) * from[k] + share * to[k];
    }
  };
  static void steer(std::vector<Ramp>& all, const Ramp& next);

  void pack_elements(const Units& units);
  void pack_sources(const Units& units);
  void build(const Circuit& c);
  void build_linear(const Circuit& c);
  void build_storage();
  void sum_leakage();
  void plan_product();
  void stamp(Vector& m, const Pair& s, const R& value);
  void couple(int a, int b, const R& capacitance_F, const R& conductance_S);
  void find_span(double t_s);
  R& driven_by(std::size_t source);

  void assemble(const Vector& base, const R& hg, const Vector& x);
  template <class List>
  void charges(List& list);
  template <class List>
  void add_charge(const List& list, const Vector& x, Vector& q) const;
  void pins(const R& hg);
  void diodes(const R& hg);
  void mosfets(const R& hg);
  void bipolars(const R& hg);
  void transits();
  void add_transits(const Vector& x, Vector& q) const;
  void bridges(const R& hg);
  void limiters(const R& hg);
  void iron();
  void iron_flux(const Vector& x, Vector& q) const;
  void motor(const R& hg);
  Which<R> motor_left_little(const Vector& dx) const;
  template <class Visit>
  void for_contacts(const Vector& x, Visit visit) const;
  void contacts(const R& hg);
  Which<R> contacts_left_little(const Vector& dx) const;
  void measure_contacts();
  R contacts_J(const Vector& x) const;
  void measure_bridge(Bridge& b, R& loss_W, R& current_A);
  void measure_ends(const Vector& current_A);

  const Numbering& n_;
  BasicLu<R> lu_;
  ProductPlan product_;                 // of linear_ and capacitance_
  Vector at_;                           // x, then the driven voltages
  Vector residual_;                     // as at_; what falls on driven nodes is not used
  Vector leakage_, hg_leakage_;         // as at_: what all diodes leak into each node; and by hg
  Vector capacitance_, linear_, base_;  // matrices, in slots
  Vector delta_;                        // as at_: changes; 0 for driven nodes
  Vector allow_, hold_;                 // as at_: of left_little
  Vector loss_W_, current_A_;
  std::vector<TwoTerminal> resistor_, capacitor_;
  std::vector<Charge<BasicDepletion>> depletion_;
  std::vector<Charge<BasicCeramic>> ceramic_;
  std::vector<Diode> diode_;
  std::vector<Mosfet> mosfet_;
  std::vector<Bipolar> bipolar_;
  std::vector<Bridge> bridge_;
  std::vector<Limiter> limiter_;
  std::vector<Branch> inductor_, winding_;
  std::vector<Pin> pin_;
  std::vector<DrivenTerm> driven_terms_;
  std::vector<Source> source_;  // of driven nodes; then of each pin, level and conductance
  std::vector<Ramp> steered_pins_, steered_bridges_;
  double span_from_s_ = 1.0, span_to_s_ = -1.0;  // no profile has a corner between
  struct StorageTerm {
    int column;
    R value;
  };
  std::vector<StorageTerm> storage_terms_;  // of dq/dx, row by row
  BasicRotor<R> rotor_;
  bool stops_ = false, saturates_ = false, hiccups_ = false;
  BasicIron<R> iron_;
  BasicEndStop<R> stop_;
  BasicLooseLoad<R> load_;
  R stop_torque_Nm_ = 0.0;
  R start_angle_rad_ = 0.0;
  R hg_ = 0.0, source_power_W_ = 0.0, load_power_W_ = 0.0;
};

/// Of one circuit.
class System : private NumberingOwner, public BasicSystem<double> {
 public:
  explicit System(const Circuit& circuit);
  System(const System&) = delete;
  System& operator=(const System&) = delete;
};

}  // namespace pb::physics
