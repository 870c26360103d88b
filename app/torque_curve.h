// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The torque a design carries over the step rate, and how far the rotor lags on the way: what a
// torque-speed diagram shows. At typical values. Tested by tests/unit/app_server.cpp.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "app/inputs.h"
#include "app/verb.h"

namespace pb::app {

/// {rate_steps_s, load_Nm, points: [{rate_steps_s, torque_Nm, lag_step, steps_lost}]}: torque at
/// the output shaft; null where none is carried or the run did not end.
Answer torque_curve(const DesignInput& input, Session& session);

}  // namespace pb::app
