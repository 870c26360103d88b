// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/motion_scan.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace pb {

using namespace physics;

Design loaded_design(const Case& c, double factor) {
  Design loaded = c.design;
  loaded.brief.load.gravity_torque_Nm *= factor;
  return loaded;
}
Point loaded_point(const Case& c, Point point, double factor) {
  for (std::size_t k = 0; k < c.spreads.size(); ++k)
    if (c.spreads[k].name == "load.torque") point.value[k] *= factor;
  return point;
}

bool loses_no_step(const RunFigures& f) {
  return f.outcome == Outcome::reached_end && std::abs(f.end_error_step) < 1.5 &&
         f.steps_made == f.steps_commanded;
}

bool carries(const MotionTrial& t, double factor) {
  const Design loaded = loaded_design(t.c, factor);
  return loses_no_step(run(loaded, t.c.spreads, loaded_point(t.c, t.point, factor), t.temperatures,
                           motion_request(t.c, loaded, t.how), t.stop));
}

double torque_factor(const MotionTrial& t, std::optional<double> known) {
  const double asked = 1.0 + t.c.design.brief.rules.torque_margin;
  double carried = 0.0, lost = 4.0 * asked;
  if (known) {
    if (carries(t, *known)) return *known;
    lost = *known;
    if (lost > asked && carries(t, asked))
      carried = asked;
    else
      lost = std::min(lost, asked);
  } else if (carries(t, asked)) {
    carried = asked;
    for (double up : {1.5, 2.5}) {
      if (!carries(t, asked * up)) {
        lost = asked * up;
        break;
      }
      carried = asked * up;
    }
  } else {
    lost = asked;
  }
  for (int k = 0; k < 3; ++k) {
    const double middle = 0.5 * (carried + lost);
    (carries(t, middle) ? carried : lost) = middle;
  }
  return carried;
}

namespace {

/// The brief's figures times the factors of a scan point.
ScanPoint scanned(const MotionTrial& t, ScanPoint at) {
  const Case& c = t.c;
  Design d = c.design;
  MotionBrief& m = d.brief.motion;
  m.rate_steps_s *= at.rate;
  if (given(m.start_rate_steps_s))
    m.start_rate_steps_s = std::min(m.start_rate_steps_s * at.rate, m.rate_steps_s);
  d.brief.motor.viscous_friction_Nms *= at.damping;
  d.brief.motor.rotor_inertia_kgm2 *= at.inertia;
  Point point = t.point;
  for (std::size_t k = 0; k < c.spreads.size(); ++k) {
    if (c.spreads[k].name == "load.inertia") point.value[k] *= at.inertia;
    if (c.spreads[k].name == "load.torque") point.value[k] = c.spreads[k].typ * at.load;
  }
  const RunFigures f =
      run(d, c.spreads, point, t.temperatures, motion_request(c, d, t.how), t.stop);
  constexpr double kLost = 99.0;  // a run that did not end: beyond any limit
  if (f.outcome != Outcome::reached_end) {
    at.lag_step = at.lost_steps = at.end_error_step = kLost;
    return at;
  }
  at.lag_step = f.lag_max_step;
  at.lost_steps = std::abs(f.steps_commanded - f.steps_made);
  at.end_error_step = std::abs(f.end_error_step);
  at.peak_a_A = f.winding_a.peak_A, at.peak_b_A = f.winding_b.peak_A;
  return at;
}

constexpr double kRates[] = {0.8, 0.9, 1.0, 1.1, 1.2};

/// Lost steps, end position, resonance and winding peak are not monotone in anything: rate +-20 %,
/// inertia +-30 %, damping / 3 to x 3 (common practice, from memory), load to the ends of its
/// tolerance. At each rate one of the eight ends and its opposite, another pair at the next rate.
std::vector<ScanPoint> box(const Case& c) {
  const double load = c.design.brief.load.torque_tolerance;
  std::vector<ScanPoint> out;
  for (std::size_t r = 0; r < std::size(kRates); ++r)
    for (bool opposite : {false, true}) {
      const auto high = [&](std::size_t bit) { return (((r >> bit) & 1U) != 0) != opposite; };
      ScanPoint at;
      at.rate = kRates[r], at.inertia = high(0) ? 1.3 : 0.7,
      at.load = high(1) ? 1 + load : 1 - load;
      at.damping = opposite ? 1.0 / 3.0 : 3.0;
      out.push_back(at);
    }
  return out;
}

/// One figure of the point moved: to its other end, the rate by half a step either way.
std::vector<ScanPoint> neighbours(const ScanPoint& of) {
  std::vector<ScanPoint> out(5, of);
  out[0].inertia = 2.0 - of.inertia;
  out[1].load = 2.0 - of.load;
  out[2].damping = 1.0 / of.damping;
  out[3].rate = std::max(of.rate - 0.05, *std::begin(kRates));
  out[4].rate = std::min(of.rate + 0.05, *std::rbegin(kRates));
  return out;
}

bool same_place(const ScanPoint& a, const ScanPoint& b) {
  return a.rate == b.rate && a.inertia == b.inertia && a.load == b.load && a.damping == b.damping;
}

ScanPoint worst_of(const std::vector<ScanPoint>& points) {
  return *std::max_element(
      points.begin(), points.end(),
      [](const ScanPoint& a, const ScanPoint& b) { return a.lag_step < b.lag_step; });
}

}  // namespace

std::vector<ScanPoint> scan(const MotionTrial& t, const std::vector<ScanPoint>& there,
                            const ParallelFor& parallel) {
  std::vector<ScanPoint> points;
  const auto run_all = [&](const std::vector<ScanPoint>& more) {
    const std::size_t first = points.size();
    for (const ScanPoint& m : more)
      if (std::none_of(points.begin(), points.end(),
                       [&](const ScanPoint& at) { return same_place(at, m); }))
        points.push_back(m);
    parallel(points.size() - first,
             [&](std::size_t k) { points[first + k] = scanned(t, points[first + k]); });
  };
  run_all(there.empty() ? box(t.c) : std::vector{worst_of(there)});
  run_all(neighbours(worst_of(points)));
  return points;
}

}  // namespace pb
