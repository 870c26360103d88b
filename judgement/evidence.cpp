// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/evidence.h"

#include <algorithm>
#include <utility>

#include "base/check.h"
#include "judgement/patterns.h"
#include "judgement/run_requests.h"
#include "physics/chopped_hold.h"
#include "physics/chopped_run.h"
#include "physics/run_units.h"
#include "physics/sense_path.h"

namespace pb {

using namespace physics;

namespace {

How how_of(const EvidenceWanted& w) { return {w.tolerance, w.every_edge}; }

struct Windows {
  PowerUp reset, no_logic, no_rail;
};
Windows windows() {
  Windows w;
  w.reset.in_reset = true;
  w.reset.rail_rise_s = 1e-6;
  w.no_logic.logic = false;
  w.no_rail.rail = false;
  return w;
}

/// Of a window by edges heat is sought on the means, which cost a fraction; the edges are left with
/// how far those are off. What runs away on them is not asked again.
HeatedRun moved_heated(const Case& c, const Point& p, const RunRequest& move,
                       const Temperatures& guess, const StopToken& stop) {
  if (!move.window_by_edge) return run_heated(c.design, c.spreads, p, move, stop, &guess);
  RunRequest means = move;
  means.window_by_edge = false;
  HeatedRun out = run_heated(c.design, c.spreads, p, means, stop, &guess);
  if (!out.consistent) return out;
  return run_heated(c.design, c.spreads, p, move, stop, &out.figures.temperatures);
}

/// What a winding whose current is measured reaches whenever it has the time: the brief's current,
/// or as much of it as the analog output can ask for.
double compared_A(const Design& d, int winding) {
  return regulated_current(d.brief) / std::max(reference_share(d, winding), 1.0);
}

}  // namespace

Evidence gather_standing(const Case& c, const Point& point) {
  Evidence e;
  RunRequest hold = standing_request(c, {}, 0.01, 1.0);
  if (regulated(c.design.brief)) {
    // The pins frozen: not what the program does. As cold as its surroundings, so that only levels
    // may be read off it.
    Temperatures cold;
    cold.winding_K = value_of(c.spreads, point, "ambient");
    e.hold.figures = stand(c.design, c.spreads, point, cold, hold);
  } else {
    e.hold = stand_heated(c.design, c.spreads, point, hold);
  }
  e.move = e.hold;
  // What stands for a move rests as that does.
  hold.rest = rest_of(c, point, e.hold);
  if (hold.rest && !regulated(c.design.brief))
    e.move = stand_heated(c.design, c.spreads, point, hold);
  const Temperatures t = e.move.figures.temperatures;
  const auto standing = [&](const PowerUp& power) {
    return stand(c.design, c.spreads, point, t, standing_request(c, power, 2e-3, 1.0));
  };
  const Windows w = windows();
  e.reset = standing(w.reset);
  e.rail_only = standing(w.no_logic);
  e.logic_only = standing(w.no_rail);
  e.has_windows = true;
  if (has_means(c.design)) {
    // Of the hold as the program does it only the heat: its levels stay those of the frozen pins.
    const HeatedRun held = hold_chopped(c.design, c.spreads, point,
                                        holding_table(c.design, c.hold_flow, c.dead_time_s));
    e.hold.runaway = held.runaway;
    if (held.consistent) e.hold.figures.temperatures = held.figures.temperatures;
  }
  // What frozen pins let flow through the parts of a regulated drive, V/R, is not what it does.
  if (regulated(c.design.brief))
    for (auto& [ref, part] : e.move.figures.parts) part.current_A = {};
  if (measures_current(c.design.brief)) {
    e.move.figures.winding_a.peak_A = compared_A(c.design, 0);
    e.move.figures.winding_b.peak_A = compared_A(c.design, 1);
  }
  return e;
}

namespace {

void try_motion(const Case& c, const Point& point, const EvidenceWanted& w, const StopToken& stop,
                Evidence& e) {
  const MotionTrial trial{c, point, e.move.figures.temperatures, how_of(w), stop};
  const double asked = 1.0 + c.design.brief.rules.torque_margin;
  if (w.torque_asked) e.torque_factor = carries(trial, asked) ? asked : 1.0;
  if (w.torque) e.torque_factor = torque_factor(trial, w.torque_known);
  if (!w.scan) return;
  const std::vector<ScanPoint> none;
  e.scan = scan(trial, w.nominal ? w.nominal->scan : none, w.parallel ? *w.parallel : serial());
}

}  // namespace

Evidence gather(const Case& c, const Point& point, const EvidenceWanted& w, const StopToken& stop) {
  Evidence e;
  const How how = how_of(w);
  RunRequest move = move_request(c, c.design, how);
  move.record = w.waveforms;
  if (w.waveforms && move.on_means) move.window_by_edge = true;
  const RunRequest hold = holding_as(c, how);
  if (w.heat) {
    const HeatGuess guess =
        w.nominal ? likely_heat(c, point, w.nominal->move.figures, w.nominal->hold.figures)
                  : heat_at_rest(c, point);
    e.hold = run_heated(c.design, c.spreads, point, hold, stop, &guess.hold);
    move.rest = rest_of(c, point, e.hold);
    e.move = moved_heated(c, point, move, guess.move, stop);
  } else {
    const Temperatures t = shifted(c, point, w.nominal->move.figures);
    const double ambient_K = value_of(c.spreads, point, "ambient");
    Temperatures held = w.nominal->hold.figures.temperatures;
    e.hold.figures = run(c.design, c.spreads, point, held, hold, stop);
    e.hold.figures.temperatures = heated(c.design, ambient_K, e.hold.figures);
    move.rest = rest_of(c, point, e.hold);
    e.move.figures = run(c.design, c.spreads, point, t, move, stop);
    e.move.figures.temperatures = heated(c.design, ambient_K, e.move.figures, move.rest.get());
  }
  if (!trouble_of(e).empty()) return e;  // nothing more is read
  if (w.windows) {
    const auto standing = [&](const PowerUp& power) {
      return run(c.design, c.spreads, point, e.move.figures.temperatures,
                 standing_request(c, power, 2e-3, w.tolerance), stop);
    };
    const Windows w_power = windows();
    e.reset = standing(w_power.reset);
    e.rail_only = standing(w_power.no_logic);
    e.logic_only = standing(w_power.no_rail);
    e.has_windows = true;
  }
  try_motion(c, point, w, stop, e);
  if (w.patterns)
    e.patterns = leg_patterns(c, point, e.move.figures.temperatures, w.tolerance, stop);
  return e;
}

std::vector<Evidence> gather_units(const Case& c, std::span<const Point> points,
                                   std::span<const HeatGuess> guesses, const StopToken& stop) {
  PB_CHECK(guesses.size() == points.size(), guesses.size(), points.size());
  std::vector<Evidence> out(points.size());
  std::vector<Temperatures> moving, holding;
  for (const HeatGuess& guess : guesses) {
    moving.push_back(guess.move), holding.push_back(guess.hold);
  }
  const auto hold = run_units_heated(c.design, c.spreads, points, holding_as(c, {}), stop, holding);
  std::vector<std::shared_ptr<const Rest>> rests(hold.size());
  for (std::size_t k = 0; k < hold.size(); ++k) rests[k] = rest_of(c, points[k], hold[k]);
  const auto move = run_units_heated(c.design, c.spreads, points, move_request(c, c.design, {}),
                                     stop, moving, rests);
  std::vector<Temperatures> at;
  for (std::size_t k = 0; k < points.size(); ++k) {
    out[k].move = move[k], out[k].hold = hold[k];
    at.push_back(move[k].figures.temperatures);
  }
  const auto standing = [&](const PowerUp& power, RunFigures Evidence::* to) {
    std::vector<RunFigures> figures =
        run_units(c.design, c.spreads, points, at, standing_request(c, power, 2e-3, 1.0), stop);
    for (std::size_t k = 0; k < points.size(); ++k) out[k].*to = std::move(figures[k]);
  };
  const Windows w = windows();
  standing(w.reset, &Evidence::reset);
  standing(w.no_logic, &Evidence::rail_only);
  standing(w.no_rail, &Evidence::logic_only);
  const double asked = 1.0 + c.design.brief.rules.torque_margin;
  const Design loaded = loaded_design(c, asked);
  std::vector<Point> heavier;
  for (const Point& p : points) heavier.push_back(loaded_point(c, p, asked));
  // Whether steps are lost, and no more, is read off these: at such tolerances currents, and with
  // them torques, are within a thousandth (benchmarks/results/engine.txt).
  constexpr double kTrial = 5.0;
  const std::vector<RunFigures> carried = run_units(
      loaded, c.spreads, heavier, at, motion_request(c, loaded, {.tolerance = kTrial}), stop);
  for (std::size_t k = 0; k < points.size(); ++k) {
    out[k].has_windows = true;
    out[k].torque_factor = loses_no_step(carried[k]) ? asked : 1.0;
  }
  return out;
}

std::string trouble_of(const Evidence& e) {
  for (const RunFigures* f :
       {&e.move.figures, &e.hold.figures, &e.reset, &e.rail_only, &e.logic_only})
    if (!f->trouble.empty()) return f->trouble;
  return "";
}

}  // namespace pb
