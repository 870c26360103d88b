// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Model parameters from data-sheet figures, for one unit of the bag and one temperature. What a
// figure does not say is assumed here, once, and listed in docs/models.md. Tested by
// tests/unit/physics_extraction.cpp: each extraction is turned back into the figures it came from.
#pragma once

#include "model/part.h"
#include "physics/devices/bipolar.h"
#include "physics/devices/bridge_chip.h"
#include "physics/devices/charge.h"
#include "physics/devices/junction.h"
#include "physics/devices/mosfet.h"

namespace pb::physics {

inline constexpr double kDataSheet_K = 298.15;  // data-sheet figures hold at 25 degC

struct MosfetModel {
  Channel channel;
  double series_ohm = 0;  // in the drain; 0 unless a second on-resistance fixes it
  Junction body;
  double cgs_F = 0;
  Depletion gate_drain, drain_source;
};

/// threshold_V: of this unit, at the part's threshold current. rds_ohm: of this unit at the part's
/// rds_gate.
MosfetModel mosfet_model(const Part& part, double sign, double threshold_V, double rds_ohm,
                         double T_K);

/// On-resistance of that unit at its part's rds_gate, hot or cold. [ohm]
double on_resistance_ohm(const Part& part, double sign, double threshold_V, double rds_ohm,
                         double T_K);

/// Current at which the data sheet states the threshold. [A]
double threshold_current_A(const Part& part);

/// Drain voltage at which the data sheet states the capacitances, gate at the source. [V]
double capacitance_test_V(const Part& part);

/// An electrolytic at the end of its life, over a new one: where data sheets let life end, they say
/// as little as this of capacitance and as much of series resistance (common practice, no source).
inline constexpr double kWornCapacitance = 0.8, kWornEsr = 2.0;
/// Least capacitance of a unit at any age. [F]
double least_capacitance_F(const Part& part);
/// Series resistance of a capacitor of `farad` in surroundings of T_K. [ohm]
double esr_ohm(const Part& part, double farad, double T_K);

/// farad: of this unit, without bias.
Ceramic ceramic_law(const Part& part, double farad);

/// What a capacitor holds at v_V, of any class.
struct Filled {
  double charge_C, energy_J;
};
Filled filled_to(const Part& part, double farad, double v_V);

/// Across a junction that blocks leaks a conductance: none where the part gives no `ir_max`.
struct DiodeModel {
  Junction junction;
  double leak_S = 0;
};
/// drop_scale: this unit's drop at if_high over the greatest one, kLeastDropScale to 1.
inline constexpr double kLeastDropScale = 0.7;  // from memory
DiodeModel diode_model(const Part& part, double drop_scale, double T_K);

/// In breakdown i = I_S (e^((v - R i)/nV_T) - 1), v counted backwards: nothing flows at 0 V. The
/// law of `reverse` counts from `breakdown_V`.
struct ZenerModel {
  Junction forward, reverse;
  double breakdown_V = 0;
};
/// Where breakdown begins: at the part's knee current, else at a hundredth of the test current. [V]
double knee_V(const Part& part, double vz_V);
/// vz_V: this unit's voltage at the part's test current, 25 degC.
ZenerModel zener_model(const Part& part, double vz_V, double T_K);

struct BipolarModel {
  Bipolar transistor;
  double collector_ohm = 0;
};
struct ChipModel {
  BridgeChip bridge;
  Junction body;
  double pull_down_ohm = 0;  // of each input
};
/// on_ohm: of this unit's high and low switch together, 25 degC; threshold_V: of its inputs.
ChipModel chip_model(const Part& part, double on_ohm, double threshold_V, double T_K);

BipolarModel bipolar_model(const Part& part, double sign, double gain, double junction_K);

}  // namespace pb::physics
