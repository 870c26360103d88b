// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One run of a design at one point: circuit, motor, load and (by iteration) heat together, and the
// figures that checks, reports and people read off it.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "base/stop.h"
#include "physics/assembly.h"
#include "physics/duty_heat.h"
#include "physics/transient.h"

namespace pb::physics {

class PeriodStore;  // period_means.h

/// A switch as it stands at the end of each drive state, when all edges are over; or an input of a
/// driver chip: its level against the chip's ground while meant high (on) and low (off).
struct SwitchState {
  double on_control_V = 1e300;  // least magnitude of v_GS (v_BE) while meant to be on and carrying
  double on_drop_V = 0;         // greatest magnitude of v_DS (v_CE) then
  double on_current_A = 0;      // greatest
  double off_control_V = -1e300;  // greatest v_GS in the turning-on direction while meant to be off
  int on_states = 0, off_states = 0;
};

struct Peak {
  double value = 0, t_s = 0;
};

/// Figures of one part, all its elements together.
struct PartFigures {
  double loss_W = 0;                     // mean over the window
  Peak voltage_V, current_A, control_V;  // magnitudes of the main element
  double rms_A = 0;                      // over the window, main element
  double surge_K = 0;       // greatest rise of the junction above its mean, from the first state on
  double state_loss_J = 0;  // greatest loss within one state, the release's included
};

struct WindingFigures {
  double rms_A = 0, peak_A = 0;
};

struct Waveforms {
  std::vector<std::string> names;  // of the columns after the fixed ones of the contract
  std::vector<std::vector<double>>
      rows;  // t, i_a, i_b, rail, supply, theta, speed, torque, then names
  std::vector<std::string> loss_refs;  // what carries a winding's current: of legs, bridges, diodes
  std::vector<std::vector<double>> losses_W;  // of each row: mean over the step that ends there
};

struct RunFigures {
  /// After too_many_steps, of a driver that oscillates by itself, off_control_V is no less than
  /// what it reaches again and again of switches that are off in the state it does that in.
  Outcome outcome = Outcome::reached_end;
  std::string trouble;  // why and where it stopped short, if it did
  double window_from_s = 0, window_to_s = 0;
  WindingFigures winding_a, winding_b;
  double supply_mean_A = 0, supply_peak_A = 0, rail_min_V = 0, rail_max_V = 0;
  double supply_i2t_A2s = 0;  // from the supply's rise on
  int steps_commanded = 0, steps_made = 0;
  double theta0_rad = 0, theta_end_rad = 0, settle_error_step = 0, lag_max_step = 0;
  double end_error_step = 0;  // at the end of the move's last state, before any release
  /// Of the rotor, over the window; not given where no step of the run was watched there.
  double speed_min_rad_s = kNotGiven, speed_max_rad_s = kNotGiven, speed_mean_rad_s = kNotGiven;
  double output_end_rad = 0;  // of the output shaft, from where it started
  Peak end_stop_Nm;           // at the output shaft; 0: not met
  double winding_loss_W = 0;
  std::map<std::string, PartFigures> parts;
  std::map<std::string, SwitchState> switches;  // refs of the legs; inputs of driver chips
  std::map<std::string, Peak> leg_cross_A;  // output -> current through high and low side at once
  std::map<std::string, double> leg_settled_cross_A;  // the same at the ends of states
  std::map<std::string, Peak> pin_current_A;
  double pin_total_A = 0;
  Ledger ledger;
  Waveforms waves;
  Temperatures temperatures;  // this run was made at
  long steps = 0;
};

/// Energy that a run's ledger misses, beyond the microjoule that roundings may make of nothing,
/// over its throughput.
double energy_residual(const Ledger& ledger);
/// Beyond this share no run is believed.
inline constexpr double kLedgerShare = 1e-3;
/// Of a run that reached its end: unbalanced, and why, where its ledger misses more.
void doubt(RunFigures& figures);

/// Velocity ripple: greatest less least speed of the rotor over the window's mean; not given for a
/// stand or where the speed was not watched.
double speed_ripple(const RunFigures& figures);

struct RunRequest {
  Plan plan;
  PowerUp power;
  TransientOptions options;
  double settled_K =
      0.25;  // run_heated: no temperature moves by more: 0.1 % of a winding's current
  bool record = false;
  /// The tables the plan of a chopped drive was made from: the run goes by means over its periods
  /// (chopped_run.h). Null: every edge is simulated.
  std::shared_ptr<const DriveTable> on_means;
  /// With on_means: where runs of the same design share what they have simulated. May be null.
  std::shared_ptr<PeriodStore> periods;
  /// How the rotor moves and what flows in the windings is all that is asked for; of runs on means
  /// and of units in lockstep.
  bool motion_only = false;
  /// With on_means, of a move: losses, and with them heat, are all that is asked for.
  bool losses_only = false;
  /// With on_means: losses and currents over the window are those of every edge of its last whole
  /// cycle, from the state that the means lead to; of that cycle are also the waveforms.
  bool window_by_edge = false;
  /// What goes on between moves like this one, as far as heat goes; null: nothing, it never rests.
  std::shared_ptr<const Rest> rest;
  /// Something beyond the ledger drives the circuit: a rotor turned by hand.
  bool outside_power = false;
  /// Changes the circuit once it is put together: a fault, a probe. May be empty.
  std::function<void(Circuit&)> alter;
};

RunFigures run(const Design& design, const std::vector<Spread>& spreads, const Point& point,
               const Temperatures& temperatures, const RunRequest& request,
               const StopToken& stop = {});

/// The resting state of a plan_hold's one state: the figures that `run` would give long after the
/// last change. No peaks of the way there, no ledger; a hundredth of the time. With a pin that is
/// clocked it is such a run.
RunFigures stand(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                 const Temperatures& temperatures, const RunRequest& request);

/// What the other half of its package adds to a junction beside what it does to the board [K]: M P
/// (model/pair.h); 0 where a part has its package alone.
double neighbour_rise_K(const Design& design, const RunFigures& figures, const std::string& ref);

/// Loss of all parts on the board, windings not among them. [W]
double board_loss_W(const Design& design, const RunFigures& figures);
/// Temperatures that follow from a run's losses, if it lasts: the board's, above it each part with
/// an R_th (physics/board_heat.h), and what the other half of its package adds; windings together.
Temperatures heated(const Design& design, double ambient_K, const RunFigures& figures);
/// Of a move after many like it, with that rest between (physics/duty_heat.h): `t_s` after the
/// begin of a move, 0 <= t_s <= whole_s() of the cycle; or of everything when it is hottest. Null:
/// lasting.
Temperatures heated_at(const Design& design, double ambient_K, const RunFigures& move,
                       const Rest& rest, double t_s);
Temperatures heated(const Design& design, double ambient_K, const RunFigures& move,
                    const Rest* rest);

/// Runs until no temperature moves by more than request.settled_K (at most 12 rounds), from `start`
/// if given, else, or if that runs away, from ambient. `runaway` when they rise without end: a part
/// above kMelted_K (physics/heat.h), or rises that grow.
struct HeatedRun {
  RunFigures figures;
  bool consistent = false, runaway = false;
};
/// The rest between moves that the brief speaks of, after moves held so, and, if it is, let go so;
/// null: none.
std::shared_ptr<const Rest> rest_of(const Design& design, const HeatedRun& held,
                                    const RunFigures* let_go);

HeatedRun run_heated(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                     const RunRequest& request, const StopToken& stop = {},
                     const Temperatures* start = nullptr);

HeatedRun stand_heated(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                       const RunRequest& request);

/// A driver that does its work takes some hundred steps a state. One that oscillates by itself
/// takes them by the hundred thousand, and is not worth the wait: the options with a limit on
/// steps.
TransientOptions within_reason(TransientOptions options, const Plan& plan);

/// Shortest dead time with which no switch is still on when its partner is told to turn on: the
/// longest time a switch of this design takes from its command until its control voltage is below
/// what lets `kOffCurrent_A` flow, simulated at `point`, plus a quarter, rounded up to the timer's
/// tick. 0 when no pin has an off level. NaN if it never turns off.
double computed_dead_time(const Design& design, const std::vector<Spread>& spreads,
                          const Point& point, const std::string& sequence);

}  // namespace pb::physics
