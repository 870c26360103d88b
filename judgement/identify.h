// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a motor is, from the bench: winding resistance and inductance from a voltage step on a
// winding of a rotor that stands still, the back-EMF constant from the open winding of a rotor that
// is spun. What instruments add is fitted along with it: trigger and probe delay, offset and its
// drift. Tested by tests/unit/judgement_identify.cpp.
#pragma once

#include <string>
#include <vector>

#include "base/problem.h"
#include "base/quantity.h"
#include "model/brief.h"
#include "model/capture.h"

namespace pb {

struct Parameter {
  std::string name, unit;  // of the brief's [motor]: "winding_resistance"
  Dim dim{};
  double value = 0, low = 0, high = 0;
};

struct Identified {
  std::string kind;  // "step" "spin"
  std::vector<Parameter> parameters;
  double confidence = 0.95;
  std::string y_name, y_unit;                 // of what was fitted
  std::vector<double> t_s, measured, fitted;  // where the fit looked, perhaps means of several rows
  std::string undecided;                      // why there are no parameters
  double noise = 0;                           // standard deviation of the residuals
  std::vector<std::string> notes;             // what the numbers rest on, for people
};

struct IdentifyOptions {
  double voltage_V = kNotGiven;       // of the step, where no channel shows it
  double steps_per_turn = kNotGiven;  // of the motor that is spun
};

/// A capture with a current is a step, one with a voltage alone a spin.
Checked<Identified> identify(const Capture& capture, const IdentifyOptions& options);

/// Current of a winding, L di/dt = v - R i, at the times `t_s`, for a voltage that is straight
/// between its points (from_s, v_V), as it was at the first for ever; exact. All of it comes
/// `delay_s` late.
std::vector<double> winding_current(const std::vector<double>& t_s,
                                    const std::vector<double>& from_s,
                                    const std::vector<double>& v_V, double resistance_ohm,
                                    double inductance_H, double delay_s);

}  // namespace pb
