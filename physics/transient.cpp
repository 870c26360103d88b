// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/transient.h"

#include <algorithm>
#include <cmath>

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

}  // namespace

Transient::Transient(System& system, const TransientOptions& options) : s_(system), o_(options) {
  const std::size_t n = static_cast<std::size_t>(s_.size());
  f_.assign(kStages, std::vector<double>(n, 0.0));
  const std::size_t e = s_.names.size();
  power_.assign(kStages,
                {0, 0, std::vector<double>(e), std::vector<double>(e), std::vector<double>(e)});
  for (auto* v : {&x_, &stage_, &tol_, &q0_, &q_, &rhs_, &error_}) v->assign(n, 0.0);
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
  x_previous_.clear();
  h_s_ = o_.first_step_s;
  collect_corners();
  s_.set_time(t_s_);
  s_.evaluate(x_);
  f_[kStages - 1] = s_.f;
  accumulate(0.0);
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
/// can do. Limited to ten times.
void Transient::set_tolerances(double h) {
  const int currents = s_.inductor_unknown(0), n = s_.size();
  constexpr double kShort_s = 1e-8;
  const double wider = std::clamp(kShort_s / h, 1.0, 10.0);
  for (int i = 0; i < currents; ++i) tol_[i] = wider * o_.atol_V + o_.rtol * std::abs(x_[i]);
  for (int i = currents; i < n; ++i) tol_[i] = o_.atol_A + o_.rtol * std::abs(x_[i]);
  if (s_.has_rotor()) {
    tol_[s_.speed_unknown()] = 100.0 * o_.atol_rad + o_.rtol * std::abs(x_[s_.speed_unknown()]);
    tol_[s_.angle_unknown()] = o_.atol_rad;
  }
}

double Transient::weighted(const std::vector<double>& d) const {
  double most = 0;
  for (std::size_t i = 0; i < d.size(); ++i) {
    const double r = std::abs(d[i]) / tol_[i];
    if (!(r <= most)) most = r;  // true for NaN too
  }
  return most;
}

bool Transient::solve_stage(int i, double h, double t) {
  s_.set_time(t);
  for (std::size_t k = 0; k < rhs_.size(); ++k) {
    double sum = 0;
    for (int j = 0; j < i; ++j) sum += kA[i][j] * f_[j][k];
    rhs_[k] = q0_[k] - h * sum;
  }
  const double hg = h * kGamma;
  double change = 0, before = 0;
  for (int k = 0; k < o_.max_newton; ++k) {
    s_.evaluate(stage_);
    s_.charge(stage_, q_);
    for (std::size_t m = 0; m < error_.size(); ++m) error_[m] = rhs_[m] - q_[m] - hg * s_.f[m];
    for (int m = 0; m < s_.lu.nonzeros(); ++m) s_.lu.values[m] = s_.capacitance[m] + hg * s_.g[m];
    if (!s_.lu.factor()) return false;
    s_.lu.solve(error_);
    ++newton_iterations;
    before = change;
    change = weighted(error_);
    if (!std::isfinite(change) || (k > 3 && change > 2.0 * before)) return false;
    for (std::size_t m = 0; m < stage_.size(); ++m) stage_[m] += error_[m];
    // Newton converges quadratically: what is still missing is about change times the last
    // contraction.
    const double missing = k > 0 ? change * std::min(change / before, 1.0) : change;
    if (missing < o_.newton) {
      // f follows from the stage's own equation: no further evaluation.
      s_.charge(stage_, q_);
      for (std::size_t m = 0; m < q_.size(); ++m) f_[i][m] = (rhs_[m] - q_[m]) / hg;
      return true;
    }
  }
  return false;
}

bool Transient::step(double h, double t_next, double& error) {
  s_.set_time(t_s_);
  s_.charge(x_, q0_);
  set_tolerances(h);
  f_[0] = f_[kStages - 1];
  power_[0] = power_[kStages - 1];
  stage_ = x_;
  if (!x_previous_.empty()) {  // straight on, as far as the last step's slope goes
    const double ahead = std::min(kC[1] * h / h_previous_, 2.0);
    for (std::size_t m = 0; m < x_.size(); ++m) stage_[m] += ahead * (x_[m] - x_previous_[m]);
  }
  for (int i = 1; i < kStages; ++i) {
    if (!solve_stage(i, h, i + 1 == kStages ? t_next : t_s_ + kC[i] * h)) return false;
    StagePower& p = power_[i];
    p.source = s_.source_power_W();
    p.load = s_.load_power_W;
    for (std::size_t e = 0; e < p.loss.size(); ++e) {
      const Reading& r = s_.readings[e];
      p.loss[e] = r.power_W, p.i[e] = r.current_A, p.i2[e] = r.current_A * r.current_A;
    }
    if (i + 1 < kStages) {
      const double ratio = kC[i + 1] / kC[i];
      for (std::size_t m = 0; m < stage_.size(); ++m)
        stage_[m] = x_[m] + ratio * (stage_[m] - x_[m]);
    }
  }
  for (std::size_t m = 0; m < error_.size(); ++m) {
    double sum = 0;
    for (int i = 0; i < kStages; ++i) sum += (kA[kStages - 1][i] - kBHat[i]) * f_[i][m];
    error_[m] = -h * sum;
  }
  s_.lu.solve(error_);  // (C + h gamma G) carries an error in charge over to the unknowns and damps
                        // the stiff ones
  error = weighted(error_);
  return std::isfinite(error);
}

void Transient::accumulate(double h) {
  if (h == 0.0) {
    StagePower& p = power_[kStages - 1];
    p.source = s_.source_power_W(), p.load = s_.load_power_W;
    for (std::size_t e = 0; e < p.loss.size(); ++e) {
      const Reading& r = s_.readings[e];
      p.loss[e] = r.power_W, p.i[e] = r.current_A, p.i2[e] = r.current_A * r.current_A;
    }
    return;
  }
  double source = 0;
  for (int i = 0; i < kStages; ++i) {
    const double b = h * kA[kStages - 1][i];
    source += b * power_[i].source;
    ledger_.load_J += b * power_[i].load;
    for (std::size_t e = 0; e < sums_.size(); ++e) {
      sums_[e].charge_C += b * power_[i].i[e];
      sums_[e].i2_A2s += b * power_[i].i2[e];
      sums_[e].loss_J += b * power_[i].loss[e];
    }
  }
  ledger_.source_J += source;
  ledger_.throughput_J += std::abs(source);
  ledger_.loss_J = 0;
  for (const ElementSums& e : sums_) ledger_.loss_J += e.loss_J;
  ledger_.stored_J = s_.stored_J(x_) - stored0_J_;
  for (std::size_t e = 0; e < sums_.size(); ++e) {
    const Reading& r = s_.readings[e];
    ElementSums& m = sums_[e];
    if (r.voltage_V > m.v_max_V) m.v_max_V = r.voltage_V, m.t_v_max_s = t_s_;
    if (r.current_A > m.i_max_A) m.i_max_A = r.current_A, m.t_i_max_s = t_s_;
    m.v_min_V = std::min(m.v_min_V, r.voltage_V);
    m.i_min_A = std::min(m.i_min_A, r.current_A);
    m.control_max_V = std::max(m.control_max_V, r.control_V);
    m.control_min_V = std::min(m.control_min_V, r.control_V);
  }
}

Outcome Transient::run_to(double t_end_s, const StopToken& stop) {
  while (t_s_ < t_end_s) {
    if (stop.stop_requested()) return Outcome::cancelled;
    while (next_corner_ < corners_.size() && corners_[next_corner_] <= t_s_) ++next_corner_;
    while (next_landing_ < landings_s.size() && landings_s[next_landing_] <= t_s_) ++next_landing_;
    double corner =
        next_corner_ < corners_.size() ? std::min(corners_[next_corner_], t_end_s) : t_end_s;
    if (next_landing_ < landings_s.size()) corner = std::min(corner, landings_s[next_landing_]);
    double h = std::min(h_s_, o_.max_step_s), t_next = t_s_ + h;
    bool lands = false;
    if (t_next >= corner - 1e-3 * h)
      h = corner - t_s_, t_next = corner, lands = true;
    else if (t_next > corner - h)
      h = 0.5 * (corner - t_s_), t_next = t_s_ + h;  // no sliver before the corner
    if (h < 1e-15 + 16.0 * 2.2e-16 * std::abs(t_s_) && !lands) return Outcome::step_underflow;
    const std::vector<double> f_first = f_[kStages - 1];
    const StagePower p_first = power_[kStages - 1];
    double error = 0;
    const bool solved = step(h, t_next, error);
    if (!solved || error > 1.0) {
      ++rejected;
      f_[kStages - 1] = f_first;
      power_[kStages - 1] = p_first;
      if (lands && h < 1e-14) return Outcome::step_underflow;
      h_s_ = h * (solved ? std::clamp(0.9 * std::pow(error, -1.0 / 3.0), 0.1, 0.7) : 0.2);
      continue;
    }
    ++accepted;
    x_previous_ = x_;
    h_previous_ = h;
    x_ = stage_;
    t_s_ = t_next;
    accumulate(h);
    if (on_step) on_step(t_s_, x_);
    const double grown =
        h * std::clamp(0.9 * std::pow(std::max(error, 1e-6), -1.0 / 3.0), 0.3, 5.0);
    // A step cut short to land says nothing against the length before it, unless the error does.
    h_s_ = lands && error < 0.5 ? std::max(grown, h_s_) : grown;
    if (next_corner_ < corners_.size() && t_s_ == corners_[next_corner_]) {
      h_s_ = std::min(h_s_, o_.first_step_s);
      x_previous_.clear();
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
