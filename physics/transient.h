// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Time integration of d/dt q(x,t) + f(x,t) = 0 by a stiffly accurate, L-stable ESDIRK method of
// order 3 with an embedded order 2, true Newton at every stage, error control, and steps that land
// exactly on the corners of every profile. Charge, not voltage, is integrated, so charge is
// conserved to the Newton tolerance. Source: C. Kennedy, M. Carpenter, Appl. Numer. Math. 44, 2003,
// 139-181: ARK3(2)4L[2]SA, implicit part. Tested by tests/unit/physics_transient.cpp (order, closed
// forms, ledger) and tests/slow (another integrator).
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "base/stop.h"
#include "physics/responder.h"
#include "physics/system.h"

namespace pb::physics {

struct TransientOptions {
  double rtol = 3e-4;      // a step is accepted when max_i |error_i| / tolerance_i <= 1
  double atol_A = 3e-5;    // tolerance of a current: atol_A + rtol |i|
  double atol_V = 3e-3;    // of a voltage: atol_V + rtol |v|
  double atol_rad = 1e-5;  // of the angle; of the speed: 100 rad/s times this in rad
  /// Of what the switches lose between two corners, a step may misjudge this share.
  double loss_share = 0.005;
  double newton = 0.1;  // Newton stops when the last change is below this share of the tolerance
  int max_newton = 10;  // per stage; on failure the step is cut, not the run
  double first_step_s =
      2e-8;  // after a corner of a profile: a tenth of a fast gate's time constant
  double max_step_s = 1e-3;
  /// Peaks are read where steps end: so steps end within every edge of a pin, pass the crest of no
  /// voltage or current by more than ten times its tolerance, and meet every swing. Without, losses
  /// and means alone are to be read.
  bool peaks = true;
  double peaks_from_s = -1e300;  // none are read before
  double fixed_step_s = 0;       // > 0: every step is this long, whatever its error (order tests)
  long max_steps = 0;            // > 0: a run of more steps, accepted or not, ends
};

enum class Outcome {
  reached_end,
  step_underflow,  // h < 1e-15 s + 16 eps t; `worst` names the unknown
  too_many_steps,  // more than max_steps: a circuit that oscillates by itself
  unbalanced,      // at the end, but its energies do not add up: not to be believed
  cancelled,       // the stop token fired; everything before t is valid
};

/// Integrals of one element since the last reset.
template <class R>
struct BasicElementSums {
  R charge_C = 0, i2_A2s = 0, loss_J = 0;
};
using ElementSums = BasicElementSums<double>;

/// Energy in = losses + load + stored; each entry is the integral of its own v*i, stored energy
/// that of its own state.
template <class R>
struct BasicLedger {
  R source_J = 0, loss_J = 0, load_J = 0, stored_J = 0, throughput_J = 0;
  R residual_J() const { return source_J - loss_J - load_J - stored_J; }
};
using Ledger = BasicLedger<double>;

/// Of one circuit, or of several side by side: each then takes steps of its own length, all take
/// one at once, and they wait for each other where they land.
template <class R>
class BasicTransient {
 public:
  using Vector = std::vector<R>;

  BasicTransient(BasicSystem<R>& system, const TransientOptions& options);

  /// State at t0: all unknowns zero but the rotor's angle. Sources should start from zero (see
  /// Profile).
  void start(double t0_s);
  void start(double t0_s, const Vector& x);
  /// After start(): this unknown's tolerance is that of one which has been as great as this. A run
  /// that begins in the middle of things knows no peak yet.
  void expect(int unknown, double peak) { peak_[static_cast<std::size_t>(unknown)] = R(peak); }
  Outcome run_to(double t_end_s, const StopToken& stop = {}) { return advance(t_end_s, stop); }
  /// The same, to the last bit, in instructions that every machine has.
  Outcome advance(double t_end_s, const StopToken& stop = {});
  /// After too_many_steps: so many more.
  void allow(long steps) { o_.max_steps = accepted + rejected + steps; }
  /// Called after each accepted step, with the time and state reached; readings are in the system.
  /// Of several circuits, those that stepped() have; the others are where they were.
  std::function<void(const R& t_s, const Vector& x)> on_step;
  const Which<R>& stepped() const { return stepped_; }
  /// Extra times to land on, rising.
  std::vector<double> landings_s;
  /// Of one circuit alone; null: nothing follows the state. It outlives the run.
  Responder* responder = nullptr;

  void reset_sums();
  const std::vector<BasicElementSums<R>>& sums() const { return sums_; }
  /// Of the time since the last reset, up to now.
  const BasicLedger<R>& ledger();
  const R& time_s() const { return t_s_; }
  R span_s() const { return t_s_ - t_reset_s_; }
  const Vector& state() const { return x_; }
  /// dx/dt of an unknown that alone stores what its equation balances (currents, speed, angle):
  /// with the state at both ends of a step this makes a cubic through it.
  R slope(int unknown) const { return s_.slope(x_, f_[0], unknown); }
  /// Which unknown the last step erred most in.
  int worst_unknown() const;
  long accepted = 0, rejected = 0, newton_iterations = 0;

 private:
  Which<R> step(const R& h, const R& t_next, const Which<R>& of, R& error);
  void note_powers(int stage);
  R embedded_error(const R& h);
  Which<R> solve_stage(int i, const R& h, const R& t, const Which<R>& of);
  void predict(int i, const R& h);
  R kink(const R& h) const;
  R misjudged_loss(const R& h);
  R foreseen_misjudged(int stage, const R& h) const;
  R allowed_loss_J(const R& step_J) const;
  R unseen(const R& h) const;
  void forget_extremes();
  void note_extremes(const Vector& current_A);
  R weighted(const Vector& d) const;
  void set_tolerances(const R& h);
  void set_contact_tolerances(const R& speed);
  void accumulate(const R& h);
  R until_turning() const;
  double next_stop(double t_end_s);
  double within_edge() const;
  bool passes_signal(const R& h);
  bool answer();
  void accept(const R& h, const R& t_next);
  void lengthen(const R& h, const R& error, const Which<R>& cut);
  void restart(const Which<R>& of);

  BasicSystem<R>& s_;
  TransientOptions o_;
  R t_s_ = 0.0, h_s_ = 0.0, t_reset_s_ = 0.0;
  Vector x_, middle_, tol_, per_tol_, rhs_, error_, peak_;
  /// Of what a step ended at, since peaks count: the first unknowns, then the numbering's spans,
  /// then the currents of transistors.
  struct Range {
    R least, greatest;
  };
  std::vector<Range> past_;
  std::size_t watched_ = 0;      // unknowns that are voltages or currents
  Vector q0_, q_;                // charge at the present state, and at the last stage
  std::vector<Vector> x_stage_;  // [0] the state before the last step
  R h_previous_ = 0.0;           // 0: nothing to extrapolate from
  R switches_before_W_ = 0.0;    // what the switches lost where that step began
  Which<R> stepped_ = which<R>(false), failed_before_ = which<R>(false);
  Which<R> quiet_ =
      which<R>(false);     // the last step, since the last corner, erred by next to nothing
  std::vector<Vector> f_;  // one a stage; [0] holds at the present state
  struct StagePower {
    R source, load, switches;  // the latter: what all switches lose
    Vector loss, i;
  };
  std::vector<StagePower> power_;
  const std::vector<double>& corners_;
  std::size_t next_corner_ = 0, next_landing_ = 0;
  double sought_s_ = 0;            // > 0: length of the next step, which ends at a signal's zero
  std::vector<std::size_t> rose_;  // signals that the step just made ends at
  std::vector<BasicElementSums<R>> sums_;
  BasicLedger<R> ledger_;
  R stored0_J_ = 0;
  // Of the switches: in the step just solved, since the last corner, in all, and between corners.
  R step_loss_J_ = 0.0, event_J_ = 0.0, lost_J_ = 0.0, events_ = 1.0, per_event_ = 1.0;
};
using Transient = BasicTransient<double>;
/// In the instructions of the machine it runs on.
template <>
Outcome Transient::run_to(double t_end_s, const StopToken& stop);

/// What an unknown is called in messages.
std::string name_of_unknown(const System& system, int unknown);

}  // namespace pb::physics
