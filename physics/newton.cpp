// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/newton.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace pb::physics {
namespace {

/// Share of a rise dv from v that a junction of this transistor takes well.
double share_of(const Bipolar& q, double v, double dv) {
  const double critical = q.Vt_V * std::log(q.Vt_V / (std::numbers::sqrt2 * q.saturation_A));
  if (dv <= 2.0 * q.Vt_V || v + dv <= critical) return 1.0;
  const double target =
      v > 0.0 ? v + q.Vt_V * std::log1p(dv / q.Vt_V) : q.Vt_V * std::log((v + dv) / q.Vt_V);
  return std::clamp((std::max(target, std::min(critical, v + dv)) - v) / dv, 1e-3, 1.0);
}

}  // namespace

double newton_share(const System& s, const std::vector<double>& x,
                    const std::vector<double>& delta) {
  double share = 1.0;
  const auto change = [&](int node) { return s.unknown(node) >= 0 ? delta[s.unknown(node)] : 0.0; };
  for (const BipolarElement& q : s.circuit().bipolars)
    for (int other : {q.emitter, q.collector}) {
      const double sign = q.transistor.sign;
      const double v = sign * (s.node_voltage(x, q.base) - s.node_voltage(x, other));
      share = std::min(share, share_of(q.transistor, v, sign * (change(q.base) - change(other))));
    }
  return share;
}

}  // namespace pb::physics
