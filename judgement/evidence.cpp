// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/evidence.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <memory>
#include <utility>

#include "base/check.h"
#include "judgement/patterns.h"
#include "physics/chopped_hold.h"
#include "physics/chopped_run.h"
#include "physics/period_means.h"
#include "physics/run_units.h"
#include "physics/sense_path.h"

namespace pb {
namespace {

using namespace physics;

DriveTable table_of(const Case& c, const Design& d) {
  DriveTable table = drive_table(d, d.settings.sequence, c.dead_time_s);
  if (c.drive_edit) c.drive_edit(table);
  return table;
}

/// All tolerances of a run, times `share`.
void sharpen(RunRequest& r, double share) {
  TransientOptions& o = r.options;
  for (double* x : {&o.rtol, &o.atol_A, &o.atol_V, &o.atol_rad, &r.settled_K}) *x *= share;
}

/// How a run is made: chopped drives go by means; where every edge is asked for, what is lost and
/// flows in their window is of edges, and a rotor under way goes by edges throughout.
struct How {
  double tolerance = 1;
  bool every_edge = false;
};
How how_of(const EvidenceWanted& w) { return {w.tolerance, w.every_edge}; }

/// A shorter move than the brief's, to the same end.
Plan planned(const Case& c, const Design& d, const DriveTable& table) {
  Plan plan = plan_move(d, table, c.steps);
  plan.left_out_steps = d.brief.motion.move_steps - c.steps;
  return plan;
}

RunRequest move_request(const Case& c, const Design& d, const How& how) {
  RunRequest r;
  sharpen(r, how.tolerance);
  DriveTable table = table_of(c, d);
  r.plan = planned(c, d, table);
  if (has_means(d)) r.on_means = std::make_shared<const DriveTable>(std::move(table));
  r.periods = c.periods;
  r.window_by_edge = how.every_edge;
  return r;
}

/// Temperatures of a nominal run, moved with the ambient.
Temperatures shifted(const Case& c, const Point& p, const RunFigures& nominal) {
  Temperatures t = nominal.temperatures;
  const double by =
      value_of(c.spreads, p, "ambient") - value_of(c.spreads, typical(c.spreads), "ambient");
  for (auto& [ref, T_K] : t.junction_K) T_K += by;
  t.winding_K += by, t.board_K += by;
  return t;
}

/// Where heating is likely to end, from where it ends at nominal: the windings' loss follows
/// V^2/R of hot copper, the junctions' the square of that current and their own on-resistance. Only
/// where an iteration begins; a good guess saves it a round.
Temperatures likely(const Case& c, const Point& p, const RunFigures& nominal) {
  const Point typ = typical(c.spreads);
  const auto ratio = [&](const std::string& name) {
    return value_of(c.spreads, p, name) / value_of(c.spreads, typ, name);
  };
  const double volts = ratio("supply.voltage"), ohms = ratio("motor.winding_resistance");
  const double from_K = value_of(c.spreads, typ, "ambient"),
               to_K = value_of(c.spreads, p, "ambient");
  Temperatures t = nominal.temperatures;
  const double rise_K = t.winding_K - from_K, copper = copper_ratio(t.winding_K);
  double hot = ohms;  // resistance of the hot winding over the nominal hot one
  constexpr int kRounds = 5;
  for (int k = 0; k < kRounds; ++k) {
    t.winding_K = to_K + rise_K * square(volts) / hot;
    hot = ohms * copper_ratio(t.winding_K) / copper;
  }
  t.board_K = to_K + (t.board_K - from_K) * square(volts / hot);
  for (auto& [ref, T_K] : t.junction_K) {
    const Place* place = find_place(c.design.wiring, ref);
    const auto own = std::find_if(c.spreads.begin(), c.spreads.end(), [&](const Spread& s) {
      return place && s.name == place->role + ".on_resistance";
    });
    const double own_ohms = own == c.spreads.end()
                                ? 1.0
                                : place_value(c.spreads, p, *place, "on_resistance") / own->typ;
    T_K = to_K + (T_K - from_K) * square(volts / hot) * own_ohms;
  }
  return t;
}

/// From nominal if that is known, else from what holds the rotor at rest, for both: a drive that
/// moves it is not much cooler. A regulated drive is, and starts at ambient.
HeatGuess first_guess(const Case& c, const Point& p, const Evidence* nominal) {
  if (nominal) return likely_heat(c, p, *nominal);
  Temperatures t;
  t.winding_K = value_of(c.spreads, p, "ambient");
  if (!regulated(c.design.brief)) {
    const HeatedRun rest = stand_heated(c.design, c.spreads, p, standing_request(c, {}, 0.01, 1.0));
    if (rest.consistent) t = rest.figures.temperatures;
  }
  return {t, t};
}

/// The design and a point with the load's torques times `factor`.
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

/// A move of which only how the rotor goes and what flows in the windings is asked for.
RunRequest motion_request(const Case& c, const Design& d, const How& how) {
  RunRequest r = move_request(c, d, how);
  r.motion_only = true;
  if (how.every_edge) r.on_means.reset();
  return r;
}

bool carries(const Case& c, const Point& p, const Temperatures& t, double factor, const How& how,
             const StopToken& stop) {
  const Design loaded = loaded_design(c, factor);
  return loses_no_step(
      run(loaded, c.spreads, loaded_point(c, p, factor), t, motion_request(c, loaded, how), stop));
}

/// Load torque carried without losing a step, over the load's own; found between the margin asked
/// and four times it, or below what is known of another point.
double torque_factor(const Case& c, const Point& p, const Temperatures& t, const EvidenceWanted& w,
                     const StopToken& stop) {
  const double asked = 1.0 + c.design.brief.rules.torque_margin;
  const How how = how_of(w);
  double carried = 0.0, lost = 4.0 * asked;
  if (w.torque_known) {
    if (carries(c, p, t, *w.torque_known, how, stop)) return *w.torque_known;
    lost = *w.torque_known;
    if (lost > asked && carries(c, p, t, asked, how, stop))
      carried = asked;
    else
      lost = std::min(lost, asked);
  } else if (carries(c, p, t, asked, how, stop)) {
    carried = asked;
    for (double up : {1.5, 2.5}) {
      if (!carries(c, p, t, asked * up, how, stop)) {
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
    (carries(c, p, t, middle, how, stop) ? carried : lost) = middle;
  }
  return carried;
}

/// The brief's figures times the factors of a scan point.
ScanPoint scanned(const Case& c, const Point& p, const Temperatures& t, ScanPoint at,
                  const How& how, const StopToken& stop) {
  Design d = c.design;
  MotionBrief& m = d.brief.motion;
  m.rate_steps_s *= at.rate;
  if (given(m.start_rate_steps_s))
    m.start_rate_steps_s = std::min(m.start_rate_steps_s * at.rate, m.rate_steps_s);
  d.brief.motor.viscous_friction_Nms *= at.damping;
  d.brief.motor.rotor_inertia_kgm2 *= at.inertia;
  Point point = p;
  for (std::size_t k = 0; k < c.spreads.size(); ++k) {
    if (c.spreads[k].name == "load.inertia") point.value[k] *= at.inertia;
    if (c.spreads[k].name == "load.torque") point.value[k] = c.spreads[k].typ * at.load;
  }
  const RunFigures f = run(d, c.spreads, point, t, motion_request(c, d, how), stop);
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

/// The box and the neighbours of its worst; away from nominal, where nominal has been scanned, the
/// worst found there and its neighbours.
std::vector<ScanPoint> scan(const Case& c, const Point& p, const Temperatures& t,
                            const EvidenceWanted& w, const StopToken& stop) {
  std::vector<ScanPoint> points;
  const auto run_all = [&](const std::vector<ScanPoint>& more) {
    const std::size_t first = points.size();
    for (const ScanPoint& m : more)
      if (std::none_of(points.begin(), points.end(),
                       [&](const ScanPoint& at) { return same_place(at, m); }))
        points.push_back(m);
    const auto body = [&](std::size_t k) {
      points[first + k] = scanned(c, p, t, points[first + k], how_of(w), stop);
    };
    w.parallel ? (*w.parallel)(points.size() - first, body) : serial()(points.size() - first, body);
  };
  const bool again = w.nominal && !w.nominal->scan.empty();
  run_all(again ? std::vector{worst_of(w.nominal->scan)} : box(c));
  run_all(neighbours(worst_of(points)));
  return points;
}

}  // namespace

HeatGuess likely_heat(const Case& c, const Point& p, const Evidence& nominal) {
  return {likely(c, p, nominal.move.figures), likely(c, p, nominal.hold.figures)};
}

std::string hold_flow_of(const std::string& sequence) {
  const auto flows = flows_of(sequence);
  std::string out;
  if (sequence == "micro") return flows.front();  // of all, the one with a winding at its peak
  for (const std::string& f : flows)
    if (out.empty() || (f.find('0') == std::string::npos && out.find('0') != std::string::npos))
      out = f;
  return out;
}

Case case_of(const Design& d) {
  Case c{d, spreads_of(d), 0.0, 16, hold_flow_of(d.settings.sequence)};
  // The ramps up and down and three electrical cycles at the running rate, as far as the brief's
  // own move goes; not more than 480 steps.
  const MotionBrief& m = d.brief.motion;
  const double v0 = start_rate(m),
               ramp = v0 < m.rate_steps_s
                          ? (square(m.rate_steps_s) - square(v0)) / (2.0 * m.ramp_steps_s2)
                          : 0.0;
  c.steps = static_cast<int>(std::clamp(2.0 * std::ceil(ramp) + 12.0, 12.0, 480.0));
  c.steps = std::max(4, std::min(c.steps, static_cast<int>(m.move_steps)));
  if (has_means(d)) c.periods = std::make_shared<PeriodStore>(d, c.spreads);
  return c;
}

double dead_time_of(const Case& c) {
  if (given(c.design.settings.dead_time_s)) return c.design.settings.dead_time_s;
  return computed_dead_time(c.design, c.spreads, typical(c.spreads), c.design.settings.sequence);
}

RunRequest on_latches(const Case& c, RunRequest r) {
  if (!has_means(c.design) || !measures_current(c.design.brief)) return r;
  r.on_means = std::make_shared<const DriveTable>(table_of(c, c.design));
  r.periods = c.periods;
  return r;
}

Plan move_plan(const Case& c) { return planned(c, c.design, table_of(c, c.design)); }

RunRequest standing_request(const Case& c, const PowerUp& power, double hold_s, double tolerance) {
  RunRequest r;
  sharpen(r, tolerance);
  r.plan = plan_hold(c.design, standing_table(c.design, c.hold_flow, c.dead_time_s), hold_s);
  r.power = power;
  return r;
}

RunRequest holding_request(const Case& c, double tolerance) {
  constexpr double kHold_s = 0.01, kShortHold_s = 0.004;
  RunRequest r;
  sharpen(r, tolerance);
  const DriveTable table = holding_table(c.design, c.hold_flow, c.dead_time_s);
  if (measures_current(c.design.brief)) {
    // Its current is there after L/R ln(V/(V - I R)).
    const MotorBrief& m = c.design.brief.motor;
    const double share = regulated_current(c.design.brief) * m.winding_resistance_ohm /
                         c.design.brief.supply.voltage_V,
                 rise_s = share < 1 ? -m.winding_inductance_H / m.winding_resistance_ohm *
                                          std::log1p(-share)
                                    : kHold_s;
    r.plan = plan_hold(c.design, table, std::clamp(5 * rise_s, kShortHold_s, kHold_s));
    return r;
  }
  // Means are of the last tenth: of a chopped drive whole periods.
  const double tenth_s = table.tick_s * table.c.chop.period;
  const double hold_s = tenth_s > 0 ? 10.0 * tenth_s * std::ceil(0.1 * kHold_s / tenth_s) : kHold_s;
  r.plan = plan_hold(c.design, table, hold_s);
  return r;
}

namespace {

/// As holding_request, on means where that is allowed.
RunRequest holding_as(const Case& c, const How& how) {
  RunRequest r = holding_request(c, how.tolerance);
  // A hold by duty has its last tenth by edges as it is.
  const bool edges = how.every_edge && measures_current(c.design.brief);
  if (has_means(c.design) && !edges)
    r.on_means =
        std::make_shared<const DriveTable>(holding_table(c.design, c.hold_flow, c.dead_time_s));
  r.periods = c.periods;
  return r;
}

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

}  // namespace

namespace {

/// What a winding whose current is measured reaches whenever it has the time: the brief's current,
/// or as much of it as the analog output can ask for.
double compared_A(const Design& d, int winding) {
  return regulated_current(d.brief) / std::max(reference_share(d, winding), 1.0);
}

}  // namespace

Evidence gather_standing(const Case& c, const Point& point) {
  Evidence e;
  const RunRequest hold = standing_request(c, {}, 0.01, 1.0);
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
  const Temperatures t = e.hold.figures.temperatures;
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

Evidence gather(const Case& c, const Point& point, const EvidenceWanted& w, const StopToken& stop) {
  Evidence e;
  const How how = how_of(w);
  RunRequest move = move_request(c, c.design, how);
  move.record = w.waveforms;
  if (w.waveforms && move.on_means) move.window_by_edge = true;
  const RunRequest hold = holding_as(c, how);
  if (w.heat) {
    const HeatGuess guess = first_guess(c, point, w.nominal);
    e.move = moved_heated(c, point, move, guess.move, stop);
    e.hold = run_heated(c.design, c.spreads, point, hold, stop, &guess.hold);
  } else {
    const Temperatures t = shifted(c, point, w.nominal->move.figures);
    const double ambient_K = value_of(c.spreads, point, "ambient");
    e.move.figures = run(c.design, c.spreads, point, t, move, stop);
    e.move.figures.temperatures = heated(c.design, ambient_K, e.move.figures);
    Temperatures held = w.nominal->hold.figures.temperatures;
    e.hold.figures = run(c.design, c.spreads, point, held, hold, stop);
    e.hold.figures.temperatures = heated(c.design, ambient_K, e.hold.figures);
  }
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
  const double asked = 1.0 + c.design.brief.rules.torque_margin;
  if (w.torque_asked)
    e.torque_factor =
        carries(c, point, e.move.figures.temperatures, asked, how, stop) ? asked : 1.0;
  if (w.torque) e.torque_factor = torque_factor(c, point, e.move.figures.temperatures, w, stop);
  if (w.scan) e.scan = scan(c, point, e.move.figures.temperatures, w, stop);
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
  const auto move =
      run_units_heated(c.design, c.spreads, points, move_request(c, c.design, {}), stop, moving);
  const auto hold = run_units_heated(c.design, c.spreads, points, holding_as(c, {}), stop, holding);
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
  const std::vector<RunFigures> carried =
      run_units(loaded, c.spreads, heavier, at, motion_request(c, loaded, {}), stop);
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
