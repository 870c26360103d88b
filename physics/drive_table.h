// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The tables that make the drive code of drive/ a design's own. The proof runs that code with them,
// and the handoff writes them out for the firmware. Tested by tests/unit/physics_drive.cpp.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "drive/pb_drive.h"
#include "model/design.h"

namespace pb::physics {

struct DriveTable {
  std::vector<std::string> flows;  // of the sequence
  std::vector<pb_levels> sequence;
  std::vector<std::string> relaxed_flows;  // chopped drives: while the windings decay
  std::vector<pb_levels> relaxed;
  std::vector<std::string> fast_flows;  // of mixed decay, at its begin
  std::vector<pb_levels> fast;
  std::vector<std::uint16_t> on_a, on_b;
  std::vector<std::uint16_t> reference_a, reference_b;  // where the current is measured
  std::vector<std::uint8_t> order;
  std::vector<std::string> release_flows;
  pb_table c{};       // its pointers are set by view()
  double tick_s = 0;  // of the controller's timer
  int per_step = 1;   // states a full step
  std::string safe_flow;

  /// The table as the C code takes it; points into this object.
  pb_table view() const;
};

/// A change made to the tables before they are run: tests plant faults with it.
using DriveEdit = std::function<void(DriveTable&)>;

/// Standing time after a move before the release, and how long the brake is held before the
/// outputs go off. [s]
double hold_before_release(const MotionBrief& motion);
inline constexpr double kBrake_s = 0.1;

/// The dead time is rounded up to whole ticks. The template must support the sequence.
DriveTable drive_table(const Design& design, const std::string& sequence, double dead_time_s);

/// Share of a period in which a winding at its peak is driven, so that the mean of the supply's
/// typical voltage, less what the decay takes back, is I R at 25 degC: I R/V, and (1 + I R/V)/2
/// where the decay turns the supply round. At most 1. Drops of switches and diodes are left out:
/// they lower the current. Source: N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed.
/// 2003, ch. 7 (mean voltage of an inductor in the steady state is zero).
double peak_duty(const Brief& brief, const std::string& decay);
/// Whether the wiring can let each winding of the sequence decay that way by pins of its own.
bool supports_decay(const Template& t, const std::string& sequence, const std::string& decay);
/// Whether the wiring can regulate as the brief asks: by measuring where and only where it has
/// something to measure with.
bool supports_regulation(const Template& t, const Brief& brief);

/// Standing in the sequence's state of greatest current with the program running: regulated where
/// the brief asks for it, with less current where it says so.
DriveTable holding_table(const Design& design, const std::string& flow, double dead_time_s);

/// One state that stays: a program that hangs in it.
DriveTable standing_table(const Design& design, const std::string& flow, double dead_time_s);

/// First interval of a ramp over that of a start from rest at the same acceleration, sqrt(2/a),
/// such that the recurrence reaches the square-root law further up; `n0` is the state number at
/// which the start rate would be reached. 0.676 for n0 = 0. Source: Austin 2004, Eq. 15; for n0 > 0
/// the same reasoning, by running the recurrence backwards from where both agree.
double ramp_start(double n0);

}  // namespace pb::physics
