// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the tables of the laws hold.
#include "physics/devices/junction.h"
#include "physics/devices/mosfet.h"

namespace pb::physics {

OmegaTable::OmegaTable() {
  const auto knot = [](double z, double per_unit) -> Knot {
    const double w = wright_omega(z);
    return {w, w / (1.0 + w) / per_unit};
  };
  for (int k = 0; k < kCoarse; ++k) knot_[k] = knot(kLow + k / kPerUnit, kPerUnit);
  for (int k = kCoarse; k < kCount; ++k)
    knot_[k] = knot(kMiddle + (k - kCoarse) / kPerUnitAbove, kPerUnitAbove);
}

SoftplusTable::SoftplusTable() {
  for (int k = 0; k < kCount; ++k) {
    const ValueSlope f = softplus(kOff + k / kPerUnit);
    knot_[k] = {f.value, f.slope / kPerUnit};
  }
}

const OmegaTable kOmega;
const SoftplusTable kSoftplus;

}  // namespace pb::physics
