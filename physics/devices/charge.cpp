// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/devices/charge.h"

#include <algorithm>
#include <cmath>

namespace pb::physics {

Depletion depletion_through(double capacity_F, double v_V, double built_in_V) {
  return {capacity_F * std::sqrt(1.0 + v_V / built_in_V), built_in_V};
}

Ceramic ceramic_through(double zero_F, double share, double v_V) {
  constexpr double kLinear = 0.9999;  // beyond, the knee is a hundred times the rating away
  return {zero_F, v_V / std::sqrt(std::pow(std::min(share, kLinear), -2.0 / 3.0) - 1.0)};
}

}  // namespace pb::physics
