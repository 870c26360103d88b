// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Small circuits that textbooks solve in closed form, and what is read off them.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <utility>

#include "base/math.h"
#include "physics/transient.h"

namespace pb::rigs {

using namespace physics;

/// A node on a given voltage; the first one is ground.
inline int driven(Circuit& c, Profile p) {
  c.nodes.push_back({"n" + std::to_string(c.nodes.size()), true, std::move(p)});
  return static_cast<int>(c.nodes.size()) - 1;
}
inline int driven(Circuit& c, double v_V) { return driven(c, Profile{{0.0}, {v_V}}); }

inline Circuit grounded() {
  Circuit c;
  driven(c, 0.0);
  return c;
}

inline TransientOptions tight() {
  TransientOptions o;
  o.rtol = 1e-8, o.atol_A = 1e-8, o.atol_V = 1e-6, o.atol_rad = 1e-8;
  return o;
}

/// Conducts from anode to cathode with a constant drop: the breakdown of an element put in
/// backwards, its junction so steep that it adds less than a millivolt.
inline DiodeElement constant_drop(int anode, int cathode, double drop_V) {
  return {"d",    cathode,
          anode,  prepared({1e-30, 0.026, 1e9, 0}),
          drop_V, prepared({1e-9, 1e-5, 1e-6, 0})};
}
/// What that junction adds at 1.5 A.
inline double drop_at_start_V(double drop_V) { return drop_V + 1e-5 * std::log(1.5e9); }

/// Time at which an unknown that alone stores what its equation balances (a current, a speed)
/// passes `level`, by a cubic through the step; `end_s` if it does not before then. Whatever
/// watches the steps goes on doing so.
inline double passes(Transient& t, int unknown, double level, double end_s) {
  const auto u = static_cast<std::size_t>(unknown);
  double at_s = t.time_s(), x0 = t.state()[u], d0 = t.slope(unknown), found = end_s;
  StopSource stop;
  const auto other = t.on_step;
  t.on_step = [&](double now_s, const std::vector<double>& x) {
    if (other) other(now_s, x);
    const double h = now_s - at_s, x1 = x[u], d1 = t.slope(unknown);
    if (found == end_s && (x0 - level) * (x1 - level) <= 0.0 && x0 != x1) {
      const auto cubic = [&](double f) {
        const double g = 1.0 - f;
        return g * g * (1.0 + 2.0 * f) * x0 + f * f * (1.0 + 2.0 * g) * x1 +
               h * f * g * (g * d0 - f * d1);
      };
      double low = 0, high = 1;
      for (int k = 0; k < 60; ++k) {
        const double f = 0.5 * (low + high);
        ((cubic(f) - level) * (x0 - level) > 0.0 ? low : high) = f;
      }
      found = at_s + low * h;
      stop.request_stop();
    }
    at_s = now_s, x0 = x1, d0 = d1;
  };
  t.run_to(end_s, stop.token());
  t.on_step = other;
  return found;
}

/// State of a smooth non-linear circuit after 256 us in equal steps: an RLC whose damping is a
/// junction.
inline double smooth_state(double step_s) {
  Circuit c = grounded();
  const int source = driven(c, 2.0), n = c.add_node("n");
  c.inductors.push_back({"l", source, n, 1e-3, 0.5});
  c.capacitors.push_back({"c", n, 0, 1e-6});
  c.diodes.push_back({"d", n, 0, prepared({1e-3, 0.5, 50.0, 0}), 0, {}});
  System s(c);
  TransientOptions o;
  o.rtol = 0, o.atol_A = 1e-12, o.atol_V = 1e-12;  // of Newton; the step is fixed
  o.fixed_step_s = step_s;
  Transient t(s, o);
  t.start(0.0);
  EXPECT_EQ(t.run_to(256e-6), Outcome::reached_end);
  return t.state()[0];
}

}  // namespace pb::rigs
