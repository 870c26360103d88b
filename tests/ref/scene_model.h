// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The equations of the scenes as a fully implicit system F(t, y, y') = 0 of 27 unknowns with their
// analytic Jacobian, and the power of every element. scene.h states the laws.

#pragma once

#include <array>
#include <vector>

#include "tests/ref/junctions.h"
#include "tests/ref/scene.h"
#include "tests/ref/scene_drive.h"

namespace pb::ref {

/// Unknowns by index.
inline constexpr int kRail = 0;           // V
inline constexpr int kSupplyCurrent = 1;  // A
inline constexpr int kBulk = 2;           // V, behind the ESR
inline constexpr int kOut = 3;            // V, 4 outputs; algebraic
inline constexpr int kGate = 7;           // V, 8 gates
inline constexpr int kDrain = 15;         // V, 8 drains inside the series resistance
inline constexpr int kCurrentA = 23;      // A
inline constexpr int kCurrentB = 24;      // A
inline constexpr int kSpeed = 25;         // rad/s
inline constexpr int kAngle = 26;         // rad
inline constexpr int kUnknowns = 27;

using Vector27 = std::array<double, kUnknowns>;
using PinVoltages = std::array<double, kSwitches>;

/// Powers [W] taken up by each element (source and pins: given), or their integrals [J].
struct Energies {
  double source = 0;  // given by the ideal source
  double pins = 0;    // given by the ideal pins
  double supply_ohm = 0;
  double supply_diode = 0;
  double bulk_esr = 0;
  double clamp = 0;
  double winding = 0;   // both resistances
  double gate_ohm = 0;  // all eight
  std::array<double, kSwitches> channel{};
  std::array<double, kSwitches> series{};
  std::array<double, kSwitches> body{};
  std::array<double, kSwitches> schottky{};
  double emf = 0;         // eA iA + eB iB, out of the electrical side
  double mechanical = 0;  // T w of the currents' torque, into the mechanical side
  double viscous = 0;
  double load = 0;

  /// Heat inside switch k: channel, series resistance and body diode.
  double mosfet(int k) const { return channel[k] + series[k] + body[k]; }
  double all_mosfets() const;
  double all_schottkys() const;
  double dissipated() const;  // everything but source, pins, emf and mechanical

  Energies& add(double factor, const Energies& other);
};

/// Where each Jacobian entry goes in the matrix' storage: -1 for entries that are always zero.
using EntryTable = std::array<std::array<int, kUnknowns>, kUnknowns>;

class SceneModel {
 public:
  explicit SceneModel(const Scene& scene);

  const Scene& scene() const { return scene_; }

  void residual(const PinVoltages& pin_V, const double* y, const double* dy, double* f) const;

  /// Adds dF/dy + cj dF/dy' into storage[table[row][column]], which the caller has cleared.
  void jacobian(double cj, const double* y, const EntryTable& table, double* storage) const;

  /// The entries {row, column} of the Jacobian that can be non-zero, row by row.
  std::vector<std::array<int, 2>> pattern() const;

  Energies power_W(const PinVoltages& pin_V, const double* y) const;
  double stored_J(const double* y) const;

  double emf_a_V(const double* y) const;
  double emf_b_V(const double* y) const;
  double torque_Nm(const double* y) const;  // of the currents, without detent and friction

  /// The start described in scene.h. False if Newton's method did not converge.
  bool start(const PinVoltages& pin_V, Vector27& y, Vector27& dy) const;

 private:
  void switch_power(const PinVoltages& pin_V, const double* y, int k, Energies& p) const;
  template <class Sink>
  void stamp(Sink& sink) const;
  template <class Sink>
  void stamp_supply(Sink& sink) const;
  template <class Sink>
  void stamp_switch(Sink& sink, int k) const;
  template <class Sink>
  void stamp_motor(Sink& sink) const;

  Scene scene_;
  Channel channel_;
  SeriesJunction body_, schottky_, clamp_;
  ParallelJunction supply_diode_;
};

}  // namespace pb::ref
