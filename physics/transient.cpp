// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/transient.h"

#include <algorithm>
#include <cmath>

#include "physics/newton.h"

namespace pb::physics {
namespace {

constexpr int kStages = 4;
// Kennedy & Carpenter 2003, table of ARK3(2)4L[2]SA, implicit part (ESDIRK). The last row is b.
constexpr double kGamma = 1767732205903.0 / 4055673282236.0;
constexpr double kA[kStages][kStages] = {
    {0, 0, 0, 0},
    {kGamma, kGamma, 0, 0},
    {2746238789719.0 / 10658868560708.0, -640167445237.0 / 6845629431997.0, kGamma, 0},
    {1471266399579.0 / 7840856788654.0, -4482444167858.0 / 7529755066697.0,
     11266239266428.0 / 11593286722821.0, kGamma}};
constexpr double kC[kStages] = {0.0, 1767732205903.0 / 2027836641118.0, 3.0 / 5.0, 1.0};
constexpr double kBHat[kStages] = {
    2756255671327.0 / 12835298489170.0, -10771552573575.0 / 22201958757719.0,
    9247589265047.0 / 10645013368117.0, 2193209047091.0 / 5459859503100.0};

/// Steps below this length move too little charge for a voltage to matter to its full tolerance.
constexpr double kShort_s = 1e-6;
/// The cable's current rings; what it must be good for is the charge it brings.
constexpr double kCable = 10.0;
/// Of the speed at which friction turns: resolves sticking and slipping.
constexpr double kFrictionShare = 0.3;
/// Stages are of second order, so they lie off the cubic even on a smooth path, but less than this
/// makes of it; measured on the scenes of tests/slow, with and without changes of regime.
constexpr double kKink = 1.0;
/// A parabola is not followed further than this many of the last step's lengths.
constexpr double kAhead = 2.0;

}  // namespace

Transient::Transient(System& system, const TransientOptions& options) : s_(system), o_(options) {
  const std::size_t n = static_cast<std::size_t>(s_.size()), e = s_.names.size();
  f_.assign(kStages, std::vector<double>(n, 0.0));
  x_stage_.assign(kStages, std::vector<double>(n, 0.0));
  power_.assign(kStages, {0, 0, std::vector<double>(e), std::vector<double>(e)});
  for (auto* v : {&x_, &middle_, &tol_, &per_tol_, &q0_, &q_, &rhs_, &error_, &peak_})
    v->assign(n, 0.0);
  sums_.assign(e, {});
}

void Transient::start(double t0_s) {
  std::vector<double> x(static_cast<std::size_t>(s_.size()), 0.0);
  if (s_.has_rotor()) x[s_.angle_unknown()] = s_.circuit().theta0_rad;
  start(t0_s, x);
}

void Transient::start(double t0_s, const std::vector<double>& x) {
  t_s_ = t0_s;
  x_ = x;
  peak_.assign(x.size(), 0.0);
  h_previous_ = 0;
  h_s_ = o_.first_step_s;
  collect_corners();
  s_.set_time(t_s_);
  s_.evaluate(x_);
  s_.read(x_);
  f_[0] = s_.f;
  keep_power(0);
  reset_sums();
}

void Transient::collect_corners() {
  corners_.clear();
  const auto add = [&](const Profile& p) {
    corners_.insert(corners_.end(), p.t_s.begin(), p.t_s.end());
  };
  for (const Node& n : s_.circuit().nodes)
    if (n.driven) add(n.voltage_V);
  for (const PinElement& p : s_.circuit().pins) {
    add(p.level_V);
    add(p.conductance_S);
  }
  std::sort(corners_.begin(), corners_.end());
  corners_.erase(std::unique(corners_.begin(), corners_.end()), corners_.end());
  next_landing_ = 0;
  next_corner_ = static_cast<std::size_t>(std::upper_bound(corners_.begin(), corners_.end(), t_s_) -
                                          corners_.begin());
}

void Transient::reset_sums() {
  sums_.assign(sums_.size(), {});
  ledger_ = {};
  t_reset_s_ = t_s_;
  stored0_J_ = s_.stored_J(x_);
}

/// What matters for a node's voltage is the charge v h/Z it moves: at very short steps its
/// tolerance widens, so that the nanoseconds of an edge are not resolved finer than anything they
/// can do. Limited to ten times. Currents are judged by their peak so far. The rotor's speed
/// matters by the EMF it makes, and by the friction that turns with it.
void Transient::set_tolerances(double h) {
  const int currents = s_.inductor_unknown(0), windings = s_.winding_unknown(0), n = s_.size();
  const double wider = std::clamp(kShort_s / h, 1.0, 10.0);
  for (int i = 0; i < currents; ++i) tol_[i] = wider * o_.atol_V + o_.rtol * std::abs(x_[i]);
  for (int i = currents; i < n; ++i) {
    peak_[i] = std::max(peak_[i], std::abs(x_[i]));
    tol_[i] = o_.atol_A + o_.rtol * peak_[i];
    if (i < windings) tol_[i] *= kCable;
  }
  if (s_.has_rotor()) {
    const int w = s_.speed_unknown();
    const double emf = o_.atol_V / std::max(s_.circuit().rotor.motor_constant_Vs, 1e-6);
    tol_[w] = std::min(emf, kFrictionShare * kFrictionSpeed_rad_s) + o_.rtol * std::abs(x_[w]);
    tol_[s_.angle_unknown()] = o_.atol_rad;
  }
  for (int i = 0; i < n; ++i) per_tol_[i] = 1.0 / tol_[i];
}

double Transient::weighted(const std::vector<double>& d) const {
  double most = 0, sum = 0;
  for (std::size_t i = 0; i < d.size(); ++i) {
    const double r = std::abs(d[i]) * per_tol_[i];
    most = std::max(most, r);
    sum += r;
  }
  return std::isfinite(sum) ? most : sum;
}

/// First guess of stage i: a parabola through what is known of this step, or of the last one.
void Transient::predict(int i, double h) {
  std::vector<double>& x = x_stage_[i];
  const auto parabola = [&](double at, double ta, const std::vector<double>& a, double tb,
                            const std::vector<double>& b, double tc, const std::vector<double>& c) {
    const double wa = (at - tb) * (at - tc) / ((ta - tb) * (ta - tc)),
                 wb = (at - ta) * (at - tc) / ((tb - ta) * (tb - tc)), wc = 1.0 - wa - wb;
    for (std::size_t m = 0; m < x.size(); ++m) x[m] = wa * a[m] + wb * b[m] + wc * c[m];
  };
  const double before = h_previous_ / h;  // x_stage_[0] lies this far behind, in steps
  if (i == 1) {
    // On along the last step, but no further than it was long twice.
    if (h_previous_ > 0.0)
      parabola(std::min(kC[1], kAhead * before), -before, x_stage_[0], (kC[2] - 1.0) * before,
               middle_, 0.0, x_);
    else
      x = x_;
  } else if (i == 2 && h_previous_ > 0.0) {
    parabola(kC[2], -before, x_stage_[0], 0.0, x_, kC[1], x_stage_[1]);
  } else if (i == 2) {
    for (std::size_t m = 0; m < x.size(); ++m) x[m] = mix(x_[m], x_stage_[1][m], kC[2] / kC[1]);
  } else {
    parabola(kC[3], 0.0, x_, kC[2], x_stage_[2], kC[1], x_stage_[1]);
  }
}

bool Transient::solve_stage(int i, double h, double t) {
  s_.set_time(t);
  std::vector<double>& x = x_stage_[i];
  for (std::size_t k = 0; k < rhs_.size(); ++k) {
    double sum = 0;
    for (int j = 0; j < i; ++j) sum += kA[i][j] * f_[j][k];
    rhs_[k] = q0_[k] - h * sum;
  }
  double change = 0, before = 0;
  for (int k = 0; k < o_.max_newton; ++k) {
    ++newton_iterations;
    if (!s_.newton(x, rhs_, error_)) return false;
    before = change;
    change = weighted(error_);
    if (!std::isfinite(change) || (k > 3 && before > 0 && change > 2.0 * before)) return false;
    const double share = newton_share(s_, x, error_);
    for (std::size_t m = 0; m < x.size(); ++m) x[m] += share * error_[m];
    if (share < 1.0) {  // still on the way up an exponential: its size says nothing of convergence
      change = 0;
      continue;
    }
    // Newton converges quadratically: what is still missing is about change times the last
    // contraction. A first change is never taken for the last unless it is small itself: the
    // curvature seen before says nothing of a diode that is about to turn off. Nor is a change of
    // more than the tolerance: a diode leaves conduction by its own thermal voltage an iteration,
    // however much the iteration before it put right.
    constexpr double kMostTrusted = 1.0;
    const double missing = before > 0 ? change * std::min(change / before, 1.0) : change;
    if (missing < o_.newton && change < kMostTrusted && !newton_descends(s_, x, error_)) {
      // f follows from the stage's own equation: no further evaluation.
      const double per_hg = 1.0 / (h * kGamma);
      s_.charge(x, q_);
      for (std::size_t m = 0; m < q_.size(); ++m) f_[i][m] = (rhs_[m] - q_[m]) * per_hg;
      return true;
    }
  }
  return false;
}

bool Transient::step(double h, double t_next, double& error) {
  s_.set_time(t_s_);
  s_.charge(x_, q0_);
  s_.set_factor(h * kGamma);
  set_tolerances(h);
  for (int i = 1; i < kStages; ++i) {
    predict(i, h);
    if (!solve_stage(i, h, i + 1 == kStages ? t_next : t_s_ + kC[i] * h)) return false;
    s_.read(x_stage_[i]);
    keep_power(i);
  }
  for (std::size_t m = 0; m < error_.size(); ++m) {
    double sum = 0;
    for (int i = 0; i < kStages; ++i) sum += (kA[kStages - 1][i] - kBHat[i]) * f_[i][m];
    error_[m] = -h * sum;
  }
  s_.lu.solve(error_);  // (C + h gamma G) carries an error in charge over to the unknowns and damps
                        // the stiff ones
  error = std::max(weighted(error_), kKink * kink(h));
  return std::isfinite(error);
}

/// How far the stages of this step lie from a cubic through its ends, for the windings and the
/// rotor: the embedded error may miss a change of regime inside a step (a diode that stops
/// conducting), which bends the path.
double Transient::kink(double h) const {
  if (!s_.has_rotor()) return 0.0;
  double most = 0;
  for (int m = s_.winding_unknown(0); m < s_.angle_unknown(); ++m) {
    const double x0 = x_[m], x1 = x_stage_[kStages - 1][m], hd = -h / s_.storage(m),
                 d0 = hd * f_[0][m], d1 = hd * f_[kStages - 1][m];
    for (int i = 1; i <= 2; ++i) {
      const double u = kC[i], v = 1.0 - u;
      const double cubic =
          v * v * ((1.0 + 2.0 * u) * x0 + u * d0) + u * u * ((1.0 + 2.0 * v) * x1 - v * d1);
      most = std::max(most, std::abs(x_stage_[i][m] - cubic) * per_tol_[m]);
    }
  }
  return most;
}

void Transient::keep_power(int stage) {
  StagePower& p = power_[stage];
  p.source = s_.source_power_W();
  p.load = s_.load_power_W();
  for (std::size_t e = 0; e < p.loss.size(); ++e)
    p.loss[e] = s_.readings[e].power_W, p.i[e] = s_.readings[e].current_A;
}

void Transient::accumulate(double h) {
  double b[kStages], source = 0, loss = 0;
  for (int i = 0; i < kStages; ++i) {
    b[i] = h * kA[kStages - 1][i];
    source += b[i] * power_[i].source;
    ledger_.load_J += b[i] * power_[i].load;
  }
  for (std::size_t e = 0; e < sums_.size(); ++e) {
    ElementSums& m = sums_[e];
    double charge = 0, i2 = 0, own = 0;
    for (int i = 0; i < kStages; ++i) {
      const double current = power_[i].i[e];
      charge += b[i] * current;
      i2 += b[i] * current * current;
      own += b[i] * power_[i].loss[e];
    }
    m.charge_C += charge;
    m.i2_A2s += i2;
    m.loss_J += own;
    loss += own;
    const Reading& r = s_.readings[e];
    if (r.voltage_V > m.v_max_V) m.v_max_V = r.voltage_V, m.t_v_max_s = t_s_;
    if (r.current_A > m.i_max_A) m.i_max_A = r.current_A, m.t_i_max_s = t_s_;
    m.v_min_V = std::min(m.v_min_V, r.voltage_V);
    m.i_min_A = std::min(m.i_min_A, r.current_A);
    m.control_max_V = std::max(m.control_max_V, r.control_V);
    m.control_min_V = std::min(m.control_min_V, r.control_V);
  }
  ledger_.source_J += source;
  ledger_.throughput_J += std::abs(source);
  ledger_.loss_J += loss;
  ledger_.stored_J = s_.stored_J(x_) - stored0_J_;
}

/// The next time to land on: a corner of a profile, a landing or the end.
double Transient::next_stop(double t_end_s) {
  while (next_corner_ < corners_.size() && corners_[next_corner_] <= t_s_) ++next_corner_;
  while (next_landing_ < landings_s.size() && landings_s[next_landing_] <= t_s_) ++next_landing_;
  double stop = t_end_s;
  if (next_corner_ < corners_.size()) stop = std::min(stop, corners_[next_corner_]);
  if (next_landing_ < landings_s.size()) stop = std::min(stop, landings_s[next_landing_]);
  return stop;
}

void Transient::accept(double h, double t_next) {
  ++accepted;
  std::swap(x_stage_[0], x_);
  std::swap(middle_, x_stage_[2]);
  x_ = x_stage_[kStages - 1];
  h_previous_ = h;
  t_s_ = t_next;
  accumulate(h);
  std::swap(f_[0], f_[kStages - 1]);
  std::swap(power_[0], power_[kStages - 1]);
  if (on_step) on_step(t_s_, x_);
}

Outcome Transient::run_to(double t_end_s, const StopToken& stop) {
  const bool fixed = o_.fixed_step_s > 0.0;
  bool failed_before = false;
  while (t_s_ < t_end_s) {
    if (stop.stop_requested()) return Outcome::cancelled;
    if (o_.max_steps > 0 && accepted + rejected >= o_.max_steps) return Outcome::too_many_steps;
    const double land_at = next_stop(t_end_s);
    double h = fixed ? o_.fixed_step_s : std::min(h_s_, o_.max_step_s), t_next = t_s_ + h;
    bool lands = false;
    if (t_next >= land_at - 1e-3 * h)
      h = land_at - t_s_, t_next = land_at, lands = true;
    else if (t_next > land_at - h && !fixed)
      h = 0.5 * (land_at - t_s_), t_next = t_s_ + h;  // no sliver before the corner
    if (h < 1e-15 + 16.0 * 2.2e-16 * std::abs(t_s_) && !lands) return Outcome::step_underflow;
    double error = 0;
    const bool solved = step(h, t_next, error);
    if (fixed ? !solved : !solved || error > 1.0) {
      ++rejected;
      if (fixed || (lands && h < 1e-14)) return Outcome::step_underflow;
      h_s_ = h * (solved ? std::clamp(0.9 * std::pow(error, -1.0 / 3.0), 0.1, 0.7) : 0.2);
      failed_before = true;
      continue;
    }
    accept(h, t_next);
    const double most = failed_before ? 1.0 : 5.0;  // a length that just failed is not tried again
    failed_before = false;
    const double grown =
        h * std::clamp(0.9 * std::pow(std::max(error, 1e-6), -1.0 / 3.0), 0.3, most);
    // A step cut short to land says nothing against the length before it, unless the error does.
    h_s_ = lands && error < 0.5 ? std::max(grown, h_s_) : grown;
    if (next_corner_ < corners_.size() && t_s_ == corners_[next_corner_]) {
      h_s_ = std::min(h_s_, o_.first_step_s);
      h_previous_ = 0;
      // The sources' slopes change here; f does not, for their values are continuous.
    }
  }
  return Outcome::reached_end;
}

std::string Transient::worst_unknown() const {
  int worst = 0;
  for (std::size_t i = 0; i < error_.size(); ++i)
    if (std::abs(error_[i]) / tol_[i] > std::abs(error_[worst]) / tol_[worst])
      worst = static_cast<int>(i);
  for (std::size_t n = 0; n < s_.circuit().nodes.size(); ++n)
    if (s_.unknown(static_cast<int>(n)) == worst)
      return "voltage of node " + s_.circuit().nodes[n].name;
  return s_.has_rotor() && worst >= s_.speed_unknown() ? "rotor" : "a current";
}

}  // namespace pb::physics
