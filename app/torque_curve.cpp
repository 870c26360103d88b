// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/torque_curve.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/math.h"
#include "files/json_verdict.h"
#include "judgement/evidence.h"
#include "judgement/hand.h"

namespace pb::app {
namespace {

using Json = nlohmann::ordered_json;

// The torque a rate allows takes a dozen runs, the lag at it one: a band is narrower than a curve
// is bent.
constexpr int kRates = 41, kTorqueEvery = 4;
constexpr double kLowest = 0.25, kHighest = 4.0;  // of the brief's rate
// The engine looks for the torque as a multiple of the load's, up to about five times it: from a
// quarter of what the motor holds that reaches beyond the most it can give.
constexpr double kProbe = 0.25;

/// What the motor holds with both windings on, at the output shaft.
double standing_torque_Nm(const Brief& b) {
  const double current_A = b.supply.voltage_V / b.motor.winding_resistance_ohm;
  return std::numbers::sqrt2 * motor_constant(b.motor) * current_A * b.load.gear_ratio *
         b.load.gear_efficiency;
}

Design at_rate(const Design& design, double rate_steps_s) {
  Design d = design;
  MotionBrief& m = d.brief.motion;
  if (given(m.start_rate_steps_s))
    m.start_rate_steps_s = std::min(m.start_rate_steps_s, rate_steps_s);
  m.rate_steps_s = rate_steps_s;
  return d;
}

/// `heated` has the temperatures to run at.
RatePoint point_at(const Design& design, double rate_steps_s, double dead_time_s,
                   const Evidence& heated, bool with_torque, const StopToken& stop) {
  RatePoint out{.rate_steps_s = rate_steps_s};
  EvidenceWanted wanted;
  wanted.heat = false, wanted.windows = false, wanted.nominal = &heated;
  const Design own = at_rate(design, rate_steps_s);
  Case c = case_of(own);
  c.dead_time_s = dead_time_s;
  const Evidence as_loaded = gather(c, physics::typical(c.spreads), wanted, stop);
  if (trouble_of(as_loaded).empty()) {
    const physics::RunFigures& f = as_loaded.move.figures;
    out.lag_step = f.lag_max_step;
    out.lost = f.steps_commanded - f.steps_made;
  }
  if (!with_torque) return out;
  Design probed = own;
  probed.brief.load.torque_Nm = kProbe * standing_torque_Nm(own.brief);
  probed.brief.load.gravity_torque_Nm = 0;
  Case p = case_of(probed);
  p.dead_time_s = dead_time_s;
  wanted.torque = true;
  const Evidence e = gather(p, physics::typical(p.spreads), wanted, stop);
  if (e.torque_factor) out.torque_Nm = *e.torque_factor * probed.brief.load.torque_Nm;
  return out;
}

}  // namespace

std::optional<ResonanceBand> resonance_band(const std::vector<RatePoint>& points) {
  const int n = static_cast<int>(points.size());
  const auto lag = [&](int k) { return points[static_cast<std::size_t>(k)].lag_step; };
  const auto rate = [&](int k) { return points[static_cast<std::size_t>(k)].rate_steps_s; };
  const auto known = [&](int k) {
    return k >= 0 && k < n && std::isfinite(lag(k)) &&
           points[static_cast<std::size_t>(k)].lost == 0;
  };
  int worst = -1;
  for (int k = 1; k + 1 < n; ++k)
    if (known(k - 1) && known(k) && known(k + 1) && lag(k) >= lag(k - 1) && lag(k) >= lag(k + 1) &&
        (worst < 0 || lag(k) > lag(worst)))
      worst = k;
  if (worst < 0) return std::nullopt;
  const auto valley = [&](int way) {
    double least = lag(worst);
    for (int k = worst; known(k) && lag(k) <= lag(worst); k += way) least = std::min(least, lag(k));
    return least;
  };
  const double foot = std::max(valley(-1), valley(1)), half = 0.5 * (foot + lag(worst));
  constexpr double kStandsOut = 1.1;  // below it is the unevenness of any move
  if (lag(worst) < kStandsOut * foot) return std::nullopt;
  int from = worst, to = worst;
  while (known(from - 1) && lag(from - 1) >= half) --from;
  while (known(to + 1) && lag(to + 1) >= half) ++to;
  return ResonanceBand{rate(from), rate(worst), rate(to)};
}

Answer torque_curve(const DesignInput& input, Session& session) {
  const Design& design = input.design;
  Case c = case_of(design);
  c.dead_time_s = dead_time_of(c);
  if (!given(c.dead_time_s))
    return refuse({{.key = "settings.dead_time", .message = "a switch never turns off"}},
                  kUndecided);
  EvidenceWanted wanted;
  wanted.windows = false;
  const Evidence heated = gather(c, physics::typical(c.spreads), wanted, session.stop);
  std::vector<RatePoint> points(kRates);
  std::atomic<int> done{0};
  session.parallel(kRates, [&](std::size_t k) {
    const double rate = design.brief.motion.rate_steps_s * kLowest *
                        std::pow(kHighest / kLowest, static_cast<double>(k) / (kRates - 1));
    if (session.stop.stop_requested()) return;
    points[k] = point_at(design, rate, c.dead_time_s, heated, k % kTorqueEvery == 0, session.stop);
    session.share(static_cast<double>(++done) / kRates);
  });
  Answer answer;
  answer.json->update(answer_head(input));
  Json list = Json::array();
  for (const RatePoint& p : points)
    list.push_back(Json{{"rate_steps_s", p.rate_steps_s},
                        {"torque_Nm", json_number(p.torque_Nm)},
                        {"lag_step", json_number(p.lag_step)},
                        {"steps_lost", json_number(p.lost)}});
  (*answer.json)["rate_steps_s"] = design.brief.motion.rate_steps_s;
  (*answer.json)["load_Nm"] =
      design.brief.load.torque_Nm + std::abs(design.brief.load.gravity_torque_Nm);
  (*answer.json)["points"] = std::move(list);
  (*answer.json)["natural_Hz"] =
      json_number(checks::Paper(c, physics::typical(c.spreads)).natural_Hz());
  (*answer.json)["resonance"] = nullptr;
  if (const auto band = resonance_band(points))
    (*answer.json)["resonance"] = Json{{"from_steps_s", band->from_steps_s},
                                       {"worst_steps_s", band->worst_steps_s},
                                       {"to_steps_s", band->to_steps_s}};
  return answer;
}

}  // namespace pb::app
