// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/evidence.h"

#include <algorithm>
#include <cmath>

namespace pb {
namespace {

using namespace physics;

constexpr double kHold_s = 0.02, kRelease_s = 0.02;

RunRequest move_request(const Case& c, const Design& d, bool record) {
  RunRequest r;
  const double rest = std::max(3.0 / d.brief.motion.rate_steps_s, kHold_s);
  r.plan = plan_move(d, d.settings.sequence, c.steps, c.dead_time_s, rest,
                     d.brief.motion.hold == "off" ? kRelease_s : 0.0);
  r.record = record;
  return r;
}

RunRequest standing(const Case& c, const PowerUp& power, double hold_s) {
  RunRequest r;
  r.plan = plan_hold(c.design, c.hold_flow, hold_s);
  r.plan.dead_time_s = c.dead_time_s;
  r.power = power;
  return r;
}

/// The nominal junctions, moved with the ambient.
Temperatures shifted(const Case& c, const Point& p, const Evidence& nominal) {
  Temperatures t = nominal.move.figures.temperatures;
  const double by =
      value_of(c.spreads, p, "ambient") - value_of(c.spreads, typical(c.spreads), "ambient");
  for (auto& [ref, T_K] : t.junction_K) T_K += by;
  t.winding_K += by;
  return t;
}

bool carries(const Case& c, const Point& p, const Temperatures& t, double factor,
             const StopToken& stop) {
  Design loaded = c.design;
  loaded.brief.load.gravity_torque_Nm *= factor;
  std::vector<Spread> spreads = c.spreads;
  Point point = p;
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (spreads[k].name == "load.torque") point.value[k] *= factor;
  const RunFigures f = run(loaded, spreads, point, t, move_request(c, loaded, false), stop);
  return f.outcome == Outcome::reached_end && std::abs(f.end_error_step) < 1.5 &&
         f.steps_made == f.steps_commanded;
}

/// Load torque carried without losing a step, over the load's own; found between the margin asked
/// and four times it.
double torque_factor(const Case& c, const Point& p, const Temperatures& t, const StopToken& stop) {
  const double asked = 1.0 + c.design.brief.rules.torque_margin;
  double carried = 0.0, lost = 4.0 * asked;
  if (carries(c, p, t, asked, stop)) {
    carried = asked;
    for (double up : {1.5, 2.5}) {
      if (!carries(c, p, t, asked * up, stop)) {
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
    (carries(c, p, t, middle, stop) ? carried : lost) = middle;
  }
  return carried;
}

/// Lost steps and resonance are not monotone in anything: rate +-20 %, damping / 3 to x 3, least
/// and greatest load.
std::vector<double> scan(const Case& c, const Point& p, const Temperatures& t,
                         const StopToken& stop) {
  std::vector<double> lags;
  for (double rate : {0.8, 0.9, 1.0, 1.1, 1.2})
    for (double damping : {1.0 / 3.0, 3.0}) {
      Design d = c.design;
      MotionBrief& m = d.brief.motion;
      m.rate_steps_s *= rate;
      if (given(m.start_rate_steps_s))
        m.start_rate_steps_s = std::min(m.start_rate_steps_s * rate, m.rate_steps_s);
      d.brief.motor.viscous_friction_Nms *= damping;
      const RunFigures f = run(d, c.spreads, p, t, move_request(c, d, false), stop);
      lags.push_back(f.outcome == Outcome::reached_end ? f.lag_max_step : 99.0);
    }
  return lags;
}

}  // namespace

Case case_of(const Design& d) {
  Case c{d, spreads_of(d), 0.0, 16, ""};
  const auto flows = flows_of(d.settings.sequence);
  for (const std::string& f : flows)
    if (c.hold_flow.empty() ||
        (f.find('0') == std::string::npos && c.hold_flow.find('0') != std::string::npos))
      c.hold_flow = f;
  // The ramp and two electrical cycles at the running rate, as far as the brief's own move goes;
  // not more than 240 steps.
  const MotionBrief& m = d.brief.motion;
  const double v0 = start_rate(m),
               ramp = v0 < m.rate_steps_s
                          ? (square(m.rate_steps_s) - square(v0)) / (2.0 * m.ramp_steps_s2)
                          : 0.0;
  c.steps = static_cast<int>(std::clamp(std::ceil(ramp) + 12.0, 12.0, 240.0));
  c.steps = std::max(4, std::min(c.steps, static_cast<int>(m.move_steps)));
  return c;
}

double dead_time_of(const Case& c) {
  if (given(c.design.settings.dead_time_s)) return c.design.settings.dead_time_s;
  return computed_dead_time(c.design, c.spreads, typical(c.spreads), c.design.settings.sequence);
}

Evidence gather_hold(const Case& c, const Point& point, const StopToken& stop) {
  Evidence e;
  e.hold = run_heated(c.design, c.spreads, point, standing(c, {}, 0.01), stop);
  e.move = e.hold;
  return e;
}

Evidence gather(const Case& c, const Point& point, const EvidenceWanted& w, const StopToken& stop) {
  Evidence e;
  const RunRequest move = move_request(c, c.design, w.waveforms);
  const RunRequest hold = standing(c, {}, 0.01);
  if (w.heat) {
    e.move = run_heated(c.design, c.spreads, point, move, stop);
    e.hold = run_heated(c.design, c.spreads, point, hold, stop);
  } else {
    const Temperatures t = shifted(c, point, *w.nominal);
    const double ambient_K = value_of(c.spreads, point, "ambient");
    e.move.figures = run(c.design, c.spreads, point, t, move, stop);
    e.move.figures.temperatures = heated(c.design, ambient_K, e.move.figures);
    Temperatures held = w.nominal->hold.figures.temperatures;
    e.hold.figures = run(c.design, c.spreads, point, held, hold, stop);
    e.hold.figures.temperatures = heated(c.design, ambient_K, e.hold.figures);
  }
  if (w.windows) {
    PowerUp reset, no_logic, no_rail;
    reset.in_reset = true;
    reset.rail_rise_s = 1e-6;
    no_logic.logic = false;
    no_rail.rail = false;
    e.reset = run(c.design, c.spreads, point, e.move.figures.temperatures, standing(c, reset, 2e-3),
                  stop);
    e.rail_only = run(c.design, c.spreads, point, e.move.figures.temperatures,
                      standing(c, no_logic, 2e-3), stop);
    e.logic_only = run(c.design, c.spreads, point, e.move.figures.temperatures,
                       standing(c, no_rail, 2e-3), stop);
    e.has_windows = true;
  }
  if (w.torque) e.torque_factor = torque_factor(c, point, e.move.figures.temperatures, stop);
  if (w.scan) e.scan_lag_step = scan(c, point, e.move.figures.temperatures, stop);
  return e;
}

std::string trouble_of(const Evidence& e) {
  for (const RunFigures* f :
       {&e.move.figures, &e.hold.figures, &e.reset, &e.rail_only, &e.logic_only})
    if (f->outcome == Outcome::step_underflow) return f->trouble;
  return "";
}

}  // namespace pb
