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

/// f(transistor, v, dv) for both junctions of every bipolar transistor, v and dv counted forward.
template <class F>
void for_junctions(const System& s, const std::vector<double>& x, const std::vector<double>& delta,
                   F f) {
  const auto change = [&](int node) { return s.unknown(node) >= 0 ? delta[s.unknown(node)] : 0.0; };
  for (const BipolarElement& q : s.circuit().bipolars)
    for (int other : {q.emitter, q.collector}) {
      const double sign = q.transistor.sign;
      f(q.transistor, sign * (s.node_voltage(x, q.base) - s.node_voltage(x, other)),
        sign * (change(q.base) - change(other)));
    }
}

}  // namespace

double newton_share(const System& s, const std::vector<double>& x,
                    const std::vector<double>& delta) {
  double share = 1.0;
  for_junctions(s, x, delta, [&](const Bipolar& q, double v, double dv) {
    share = std::min(share, share_of(q, v, dv));
  });
  return share;
}

bool newton_descends(const System& s, const std::vector<double>& x,
                     const std::vector<double>& delta) {
  constexpr double kConducts_A = 1e-6;  // below, an error of several times this changes nothing
  constexpr double kStep = 0.5;         // of a thermal voltage: Newton is quadratic below it
  bool descends = false;
  for_junctions(s, x, delta, [&](const Bipolar& q, double v, double dv) {
    const double conducts_V = q.Vt_V * std::log(kConducts_A / q.saturation_A);
    descends = descends || (dv < -kStep * q.Vt_V && v > conducts_V);
  });
  return descends;
}

}  // namespace pb::physics
