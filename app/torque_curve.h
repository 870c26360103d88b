// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Torque over the step rate (judgement/torque_speed.h) as the desk, a script, a spreadsheet and a
// person at a terminal get it. Tested by tests/unit/app_server.cpp and tests/cli.
#pragma once

#include <optional>
#include <string>

#include "app/inputs.h"
#include "app/verb.h"
#include "judgement/torque_speed.h"

namespace pb::app {

/// {rate_steps_s, load_Nm, asked_Nm, natural_Hz, resonance: {from_steps_s, worst_steps_s,
/// to_steps_s}, points: [{rate_steps_s, pull_in_Nm, pull_out_Nm, ramp_Nm, lag_step, steps_lost}]}:
/// torques at the output shaft; null where none was looked for or a run did not end. Here a row a
/// point.
std::string torque_csv(const TorqueSpeed& curve);

/// The curve of a design, its progress shown, as "torque_curve" and text of the answer. Nothing
/// where it was stopped.
std::optional<TorqueSpeed> add_torque_curve(Answer& answer, const Design& design,
                                            double dead_time_s, Session& session);
/// What the verbs say of the option that asks for it.
inline constexpr const char* kTorqueCurveHelp =
    "pull-in and pull-out torque over the step rate, and the resonance band";

/// The desk's: head and to_json().
Answer torque_curve(const DesignInput& input, Session& session);

}  // namespace pb::app
