// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The torque a design carries over the step rate, and how far the rotor lags on the way: what a
// torque-speed diagram shows. At typical values. Tested by tests/unit/app_server.cpp.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <vector>

#include "app/inputs.h"
#include "app/verb.h"

namespace pb::app {

/// What a design does at a rate.
struct RatePoint {
  double rate_steps_s = 0, torque_Nm = kNotGiven, lag_step = kNotGiven, lost = kNotGiven;
};

/// Rates between which the rotor's greatest lag is above half of a peak's height over its foot.
struct ResonanceBand {
  double from_steps_s = 0, worst_steps_s = 0, to_steps_s = 0;
};
/// The band about the highest lag that has lower ones on both sides; none if no lag stands out.
/// Rates that lose steps bound it. `points` in rising order of rate.
std::optional<ResonanceBand> resonance_band(const std::vector<RatePoint>& points);

/// {rate_steps_s, load_Nm, points: [{rate_steps_s, torque_Nm, lag_step, steps_lost}], natural_Hz,
/// resonance: {from_steps_s, worst_steps_s, to_steps_s}}: torque at the output shaft, at every
/// fourth rate; null where none is carried, none was looked for or the run did not end.
Answer torque_curve(const DesignInput& input, Session& session);

}  // namespace pb::app
