// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Closed forms beside the simulated numbers: what a designer would work out on paper, at the same
// point of the spread, from the brief's and the parts' figures. No run is read here. They are
// checks on the order of magnitude, and where they differ, the difference is the news: a follower's
// lost threshold, a hot winding, back-EMF.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "judgement/evidence.h"
#include "physics/heat.h"

namespace pb::checks {

/// One design at one point.
class Paper {
 public:
  Paper(const Case& c, const physics::Point& p) : c_(c), p_(p) {}

  double value(const std::string& name) const { return physics::value_of(c_.spreads, p_, name); }
  double supply_V() const { return value("supply.voltage"); }
  double logic_V() const { return value("controller.logic_voltage"); }

  /// (V - drops)/(R + R_on): one winding at rest, through the two switches of the first state;
  /// times the mean share of the supply that a drive by duty puts across it, and no more than a
  /// drive that measures lets flow. [A]
  double winding_A() const {
    if (!winding_A_) winding_A_ = settled_A();
    return *winding_A_;
  }
  /// D; 2 D - 1 where the decay turns the supply round; 1 without a regulation by duty.
  double mean_share() const;
  /// Windings that are on at once at the most.
  double windings() const;
  /// n L I^2/2. [J]
  double winding_energy_J() const;
  /// First-order torque of a voltage drive with sinusoids of the drive's fundamental, V1 = 4 V/pi:
  /// K V1/Z - K^2 w R/Z^2. [N m]. Source: Acarnley, Stepping Motors, 4th ed. 2002, ch. 5.
  double pull_out_Nm() const;
  /// Friction and gravity at the rotor. [N m]
  double load_Nm() const;
  /// asin(T/T_h) 2/pi: how far a load holds the rotor off the state's equilibrium. [step]
  double static_lag_step() const;
  /// sqrt(N T_h/J)/(2 pi) about the equilibrium of the first state. [Hz]
  double natural_Hz() const;

  /// Share of the drive states in which a switch is meant to be on.
  double duty(const std::string& ref) const;
  /// Its longest time on without a pause. [s]
  double longest_on_s() const;
  bool on_in_hold(const std::string& ref) const;
  /// The power that would heat these stages as much, if it lasted, as moving, holding and resting
  /// in turns does: of a brief without rests that of the move (physics/duty_heat.h). `idle_W`: let
  /// go. [W]
  double lasting_W(std::span<const physics::ThermalStage> stages, double move_W, double hold_W,
                   double idle_W = 0) const;
  bool in_a_leg(const std::string& ref) const;
  /// Loss while a switch of a leg carries: I^2 R_on, I V_BE (follower) or I V_CE(sat). [W]
  double on_loss_W(const Place& place) const;
  /// Volts it loses then. [V]
  double on_drop_V(const Place& place) const;
  /// V - (V_logic - V_th): what an N switch on top cannot follow. [V]
  double lost_threshold_V(const Place& place) const;
  /// Gate-source voltage, towards on, with the pin at its on (or off) level: the divider of the
  /// resistors at the gate, a follower's threshold; NaN where a current pulls it on. [V]
  double gate_V(const Place& place, bool on) const;
  /// Resistors from a node to anywhere else, in parallel. [S]
  double conductance_S(const std::string& node, const std::string& other = "") const;

  /// Of the capacitors across the rail: their charge at the supply's voltage, over that voltage.
  double rail_F() const;
  /// Their energy at a voltage.
  double rail_stored_J(double v) const;
  /// Series resistance of the largest of them.
  double rail_esr_ohm() const;
  /// sqrt(V^2 + 2 E/C): the rail after it has swallowed the windings' energy. [V]
  double swallowed_V() const;

  /// Ground, or but for the little that a sense resistor takes.
  bool at_ground(const std::string& node) const;

 private:
  double settled_A() const;
  const Part* part_of(const Place& place) const;
  /// visit(part, farad) for every capacitor across the rail.
  template <class F>
  void for_rail_capacitors(F visit) const;

  const Case& c_;
  const physics::Point& p_;
  mutable std::optional<double> winding_A_;  // most of the closed forms ask for it, some many times
};

}  // namespace pb::checks
