// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The integrator of transient.h, over any number type: one step. transient_control.h makes a run of
// it.
#pragma once

#include <algorithm>
#include <cmath>

#include "physics/newton.h"
#include "physics/transient.h"

namespace pb::physics {

namespace esdirk {

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
/// What is said to be left undone leaves out how nodes act on one another; measured on the scenes.
constexpr double kDiagonal = 1.0;
/// A change of more than so many tolerances may carry a diode over its knee.
constexpr double kFar = 30.0;
/// An energy of which 80,000 edges a second would make less than a milliwatt: finer than of that,
/// the loss of the switches is not judged.
constexpr double kLeastEdge_J = 1e-8;
/// How far the crest of a voltage or current may lie beyond all that steps have ended at, over the
/// tolerance of its size.
constexpr double kCrest = 10.0;
/// A swing is more than this share of the range a voltage has been in, and than so many volts; it
/// is met where the stage between is this share of it away from both ends.
constexpr double kSwing = 0.5, kLeastSwing_V = 2.0, kMet = 0.1;
/// Nothing is looked for within shorter steps than a switch's own swing takes.
constexpr double kGlance_s = 1e-9;
/// After so many stages a step is given up whose loss will be misjudged by more than this many
/// times what is allowed, as far as they show: the rest of it is a quarter of all work under PWM.
constexpr double kForeseen[] = {2.0, 1.2};
/// Of the length that its error asks for, a step gets this share; one that failed becomes shorter
/// by this at least.
constexpr double kSafe = 0.9, kLeastCut = 0.7;
/// A parabola is not followed further than this many of the last step's lengths.
constexpr double kAhead = 2.0;

}  // namespace esdirk

template <class R>
BasicTransient<R>::BasicTransient(BasicSystem<R>& system, const TransientOptions& options)
    : s_(system), o_(options), corners_(system.numbering().corners_s) {
  using esdirk::kStages;
  const std::size_t n = static_cast<std::size_t>(s_.size()), e = s_.names.size();
  const Vector none(n, R(0.0)), of_elements(e, R(0.0));
  f_.assign(kStages, none);
  x_stage_.assign(kStages, none);
  power_.assign(kStages, {R(0.0), R(0.0), R(0.0), of_elements, of_elements});
  for (Vector* v : {&x_, &middle_, &tol_, &per_tol_, &q0_, &q_, &rhs_, &error_, &peak_}) *v = none;
  watched_ = static_cast<std::size_t>(s_.has_rotor() ? s_.speed_unknown() : s_.size());
  past_.resize(watched_ + s_.numbering().spans.size() + static_cast<std::size_t>(s_.transistors()));
  sums_.assign(e, {});
}

template <class R>
void BasicTransient<R>::start(double t0_s) {
  Vector x(static_cast<std::size_t>(s_.size()), R(0.0));
  if (s_.has_rotor()) s_.turn_to(x, s_.start_angle_rad());
  start(t0_s, x);
}

template <class R>
void BasicTransient<R>::start(double t0_s, const Vector& x) {
  t_s_ = R(t0_s);
  x_ = x;
  peak_.assign(x.size(), R(0.0));
  h_previous_ = R(0.0);
  h_s_ = R(o_.first_step_s);
  quiet_ = which<R>(false);
  event_J_ = lost_J_ = R(0.0), events_ = per_event_ = R(1.0);
  next_corner_ = next_landing_ = 0;
  sought_s_ = 0;
  if (s_.hiccups()) s_.start_supplies();
  s_.set_time(t_s_);
  s_.evaluate(x_);
  s_.measure(x_, power_[0].loss, power_[0].i);
  power_[0].source = s_.source_power_W(), power_[0].load = s_.load_power_W();
  power_[0].switches = s_.switches_W(power_[0].loss);
  s_.fill_readings(power_[0].loss, power_[0].i, which<R>(true));
  f_[0] = s_.f;
  s_.charge(x_, q0_);
  forget_extremes();
  reset_sums();
}

template <class R>
void BasicTransient<R>::reset_sums() {
  sums_.assign(sums_.size(), {});
  ledger_ = {};
  t_reset_s_ = t_s_;
  stored0_J_ = s_.stored_J(x_);
}

template <class R>
const BasicLedger<R>& BasicTransient<R>::ledger() {
  ledger_.stored_J = s_.stored_J(x_) - stored0_J_;
  return ledger_;
}

/// What matters for a node's voltage is the charge v h/Z it moves: at very short steps its
/// tolerance widens, so that the nanoseconds of an edge are not resolved finer than anything they
/// can do. Limited to ten times. Currents are judged by their peak so far. The rotor's speed
/// matters by the EMF it makes, and by the friction that turns with it.
template <class R>
void BasicTransient<R>::set_tolerances(const R& h) {
  using namespace esdirk;
  const int currents = s_.inductor_unknown(0), windings = s_.winding_unknown(0), n = s_.size();
  const R wider = o_.atol_V * minimum(maximum(kShort_s / h, R(1.0)), R(10.0));
  for (int i = 0; i < currents; ++i) tol_[i] = wider + o_.rtol * absolute(x_[i]);
  for (int i = currents; i < n; ++i) {
    peak_[i] = maximum(peak_[i], absolute(x_[i]));
    tol_[i] = o_.atol_A + o_.rtol * peak_[i];
    if (i < windings) tol_[i] *= R(kCable);
  }
  if (s_.has_rotor()) {
    const int w = s_.speed_unknown();
    const R emf = o_.atol_V / maximum(s_.motor_constant_Vs(), R(1e-6));
    tol_[w] = minimum(emf, R(kFrictionShare * kFrictionSpeed_rad_s)) + o_.rtol * absolute(x_[w]);
    tol_[s_.angle_unknown()] = R(o_.atol_rad);
    if (s_.touches()) set_contact_tolerances(emf);
  }
  for (int i = 0; i < n; ++i) per_tol_[i] = 1.0 / tol_[i];
}

/// Where bodies touch, an angle is wrong by the torque it makes there: a contact is far stiffer
/// than the motor.
template <class R>
void BasicTransient<R>::set_contact_tolerances(const R& speed) {
  constexpr double kAmpere = 1.0;   // the motor's stiffness, as far as one ampere makes it
  constexpr double kFinest = 1e-4;  // beside rounding of an angle of many turns
  const R motor = kAmpere * s_.teeth() * s_.motor_constant_Vs(),
          share = motor / s_.contact_stiffness_Nm_rad(),
          angle = o_.atol_rad * minimum(maximum(share, R(kFinest)), R(1.0));
  tol_[s_.angle_unknown()] = angle;
  if (!s_.has_loose_load()) return;
  tol_[s_.load_angle_unknown()] = angle;
  const int w = s_.load_speed_unknown();
  tol_[w] =
      minimum(speed, R(esdirk::kFrictionShare * kFrictionSpeed_rad_s)) + o_.rtol * absolute(x_[w]);
}

/// The greatest share of its tolerance, of any unknown; not a number if one of d is not finite.
template <class R>
R BasicTransient<R>::weighted(const Vector& d) const {
  constexpr std::size_t kAbreast = 4;  // so that one comparison need not wait for the last
  R most[kAbreast], wrong[kAbreast];
  for (std::size_t k = 0; k < kAbreast; ++k) most[k] = wrong[k] = R(0.0);
  const auto take = [&](std::size_t i, std::size_t k) {
    const R r = absolute(d[i]) * per_tol_[i];
    most[k] = maximum(r, most[k]);
    wrong[k] += r - r;  // not a number once r is not finite NOLINT(misc-redundant-expression)
  };
  std::size_t i = 0;
  for (; i + kAbreast <= d.size(); i += kAbreast)
    for (std::size_t k = 0; k < kAbreast; ++k) take(i + k, k);
  for (; i < d.size(); ++i) take(i, 0);
  for (std::size_t k = 1; k < kAbreast; ++k)
    most[0] = maximum(most[k], most[0]), wrong[0] += wrong[k];
  return select(wrong[0] >= R(0.0), most[0], wrong[0]);
}

/// First guess of stage i: a parabola through what is known of this step, or of the last one.
template <class R>
void BasicTransient<R>::predict(int i, const R& h) {
  using namespace esdirk;
  Vector& x = x_stage_[i];
  const Which<R> known = h_previous_ > R(0.0);
  const R none = R(0.0), before = h_previous_ / h;  // x_stage_[0] lies this far behind, in steps
  /// Shares of a and b in a parabola through a, b and c; c has the rest.
  const auto parabola = [](const R& at, const R& ta, const R& tb, const R& tc, R& wa, R& wb) {
    wa = (at - tb) * (at - tc) / ((ta - tb) * (ta - tc));
    wb = (at - ta) * (at - tc) / ((tb - ta) * (tb - tc));
  };
  const Vector *a = &x_stage_[0], *b = &middle_, *c = &x_;
  R wa, wb;
  if (i == 1) {
    // On along the last step, but no further than it was long twice.
    parabola(minimum(R(kC[1]), kAhead * before), -before, (kC[2] - 1.0) * before, none, wa, wb);
    wa = select(known, wa, none), wb = select(known, wb, none);
  } else if (i == 2) {
    b = &x_, c = &x_stage_[1];
    parabola(R(kC[2]), -before, none, R(kC[1]), wa, wb);
    wa = select(known, wa, none), wb = select(known, wb, R(1.0 - kC[2] / kC[1]));
  } else {
    a = &x_, b = &x_stage_[2], c = &x_stage_[1];
    parabola(R(kC[3]), none, R(kC[2]), R(kC[1]), wa, wb);
  }
  const R wc = 1.0 - wa - wb;
  for (std::size_t m = 0; m < x.size(); ++m) x[m] = wa * (*a)[m] + wb * (*b)[m] + wc * (*c)[m];
}

/// Returns which of those that go have solved it.
template <class R>
Which<R> BasicTransient<R>::solve_stage(int i, const R& h, const R& t, const Which<R>& of) {
  using namespace esdirk;
  Which<R> goes = of;
  s_.set_time(t);
  Vector& x = x_stage_[i];
  const std::size_t n = rhs_.size();
  const R a0 = h * kA[i][0], a1 = h * kA[i][1], a2 = h * kA[i][2];
  const R *const q0 = q0_.data(), *const f0 = f_[0].data(), *const f1 = f_[1].data(),
                 *const f2 = f_[2].data();
  R* const rhs = rhs_.data();
  if (i == 1)
    for (std::size_t k = 0; k < n; ++k) rhs[k] = q0[k] - a0 * f0[k];
  else if (i == 2)
    for (std::size_t k = 0; k < n; ++k) rhs[k] = q0[k] - a0 * f0[k] - a1 * f1[k];
  else
    for (std::size_t k = 0; k < n; ++k) rhs[k] = q0[k] - a0 * f0[k] - a1 * f1[k] - a2 * f2[k];
  const R none = R(0.0);
  R change = none, before = none;
  Which<R> solved = which<R>(false);
  for (int k = 0; k < o_.max_newton && any(goes); ++k) {
    ++newton_iterations;
    goes = both(goes, s_.newton(x, rhs_, error_));
    before = change;
    change = weighted(error_);
    goes = both(goes, change >= none);
    if (k > 6) goes = except(goes, both(before > none, change > 2.0 * before));
    // Those that are done stay where they are.
    R share = newton_share(s_, x, error_);
    if (any(change > R(kFar))) share = minimum(share, share_up_to_knees(s_, error_));
    share = select(goes, share, none);
    for (std::size_t m = 0; m < n; ++m) x[m] += share * error_[m];
    const Which<R> climbs = share < R(1.0);  // still on the way up an exponential: its size says
    change = select(climbs, none, change);   // nothing of convergence
    // Newton converges quadratically: what is still missing is about change times the last
    // contraction. A first change is never taken for the last unless it is small itself: the
    // curvature seen before says nothing of a diode that is about to turn off. Nor is a change of
    // more than the tolerance: a diode leaves conduction by its own thermal voltage an iteration,
    // however much the iteration before it put right.
    constexpr double kMostTrusted = 1.0;
    const R missing = select(before > none, change * minimum(change / before, R(1.0)), change);
    const Which<R> may = except(goes, climbs);
    Which<R> settled = both(may, both(missing < R(o_.newton), change < R(kMostTrusted)));
    if (any(except(may, settled))) settled = either(settled, both(may, s_.left_little(error_)));
    if (!any(settled)) continue;
    settled = except(settled, newton_is_under_way(s_, x, error_));
    solved = either(solved, settled);
    goes = except(goes, settled);
  }
  if (!any(solved)) return solved;
  // f follows from the stage's own equation: no further evaluation.
  const R per_hg = 1.0 / (h * kGamma);
  s_.charge(x, q_);
  R* const f = f_[i].data();
  for (std::size_t m = 0; m < n; ++m) f[m] = (rhs_[m] - q_[m]) * per_hg;
  return solved;
}

template <class R>
void BasicTransient<R>::note_powers(int stage) {
  StagePower& p = power_[stage];
  s_.measure(x_stage_[stage], p.loss, p.i);
  p.source = s_.source_power_W(), p.load = s_.load_power_W();
  p.switches = s_.switches_W(p.loss);
}

template <class R>
R BasicTransient<R>::embedded_error(const R& h) {
  using namespace esdirk;
  R w[kStages];
  for (int i = 0; i < kStages; ++i) w[i] = -h * (kA[kStages - 1][i] - kBHat[i]);
  for (std::size_t m = 0; m < error_.size(); ++m)
    error_[m] = w[0] * f_[0][m] + w[1] * f_[1][m] + w[2] * f_[2][m] + w[3] * f_[3][m];
  s_.carry_over(error_);  // (C + h gamma G) carries an error in charge over to the unknowns and
                          // damps the stiff ones
  return weighted(error_);
}

template <class R>
Which<R> BasicTransient<R>::step(const R& h, const R& t_next, const Which<R>& of, R& error) {
  using namespace esdirk;
  Which<R> goes = of, hopeless = which<R>(false);
  R foreseen = R(0.0);
  s_.set_factor(h * kGamma);
  set_tolerances(h);
  s_.set_allowed(tol_, kDiagonal * o_.newton);
  for (int i = 1; i < kStages; ++i) {
    predict(i, h);
    const R t = i + 1 == kStages ? t_next : minimum(t_s_ + kC[i] * h, t_next);
    goes = solve_stage(i, h, t, goes);
    if (!any(goes)) break;
    note_powers(i);
    if (o_.fixed_step_s > 0.0 || i + 1 == kStages) continue;
    const R misjudged = foreseen_misjudged(i, h);
    const Which<R> too_much = both(goes, misjudged > R(kForeseen[i - 1]));
    if (!any(too_much)) continue;
    foreseen = select(too_much, misjudged, foreseen);
    hopeless = either(hopeless, too_much), goes = except(goes, too_much);
    if (!any(goes)) break;
  }
  if (!any(goes)) {
    error = foreseen;
    return hopeless;
  }
  error = embedded_error(h);
  goes = both(goes, error >= R(0.0));
  const R bent = kKink * kink(h);
  error = maximum(error, maximum(bent, misjudged_loss(h)));
  if (o_.peaks) error = maximum(error, unseen(h));
  error = select(hopeless, foreseen, error);
  return either(hopeless, both(goes, bent < R(HUGE_VAL)));
}

/// An error that makes the step just solved shorter where it does what its ends do not show; 0
/// where it does not. That is a crest beyond all that steps have ended at, of a parabola through
/// the ends and the stage between: the next step ends there. Or a voltage goes across its range
/// while the stage between is as good as at one end: nothing of the swing was met.
template <class R>
R BasicTransient<R>::unseen(const R& h) const {
  using namespace esdirk;
  constexpr double u = kC[2], kPerBend = 1.0 / (u * (1.0 - u));
  const Vector &middle = x_stage_[2], &end = x_stage_[kStages - 1];
  R until = R(1.0);  // of the step
  const auto shorten = [&](const Which<R>& where, const R& share) {
    if (any(where)) until = select(where, minimum(until, share), until);
  };
  const auto crest = [&](const R& x, const R& at_u, const R& at_end, const Range& past) {
    // x + b u + c u^2: goes b^2 / 4|c| beyond x, half of |b/c| into the step. Nothing is looked for
    // below three millivolts or milliamperes.
    const R rise = at_end - x, c = (u * rise - (at_u - x)) * kPerBend, b = rise - c,
            bend = 2.0 * absolute(c),
            known = select(b > R(0.0), maximum(past.greatest, at_end) - x,
                           x - minimum(past.least, at_end)),
            size = maximum(absolute(past.greatest), absolute(past.least)),
            allowed = known + kCrest * o_.rtol * size + o_.atol_V;
    const Which<R> turns = both(b * c < R(0.0), absolute(b) < bend);
    shorten(both(turns, b * b > 2.0 * bend * allowed), absolute(b) / bend);
  };
  const auto swing = [&](const R& x, const R& at_u, const R& at_end, const Range& past) {
    const R change = absolute(at_end - x),
            allowed = maximum(kSwing * (past.greatest - past.least), R(kLeastSwing_V)),
            met = minimum(absolute(at_u - x), absolute(at_end - at_u));
    shorten(both(change > allowed, met < kMet * change), allowed / change);
  };
  const std::size_t voltages = static_cast<std::size_t>(s_.inductor_unknown(0));
  for (std::size_t m = 0; m < voltages; ++m) swing(x_[m], middle[m], end[m], past_[m]);
  const Range* past = past_.data();
  for (std::size_t m = 0; m < watched_; ++m) crest(x_[m], middle[m], end[m], *past++);
  for (const Numbering::Span& s : s_.numbering().spans)
    crest(x_[s.a] - x_[s.b], middle[s.a] - middle[s.b], end[s.a] - end[s.b], *past++);
  for (int e = s_.first_switch(), last = e + s_.transistors(); e < last; ++e)
    crest(power_[0].i[e], power_[2].i[e], power_[kStages - 1].i[e], *past++);
  const Which<R> looks = both(t_s_ >= R(o_.peaks_from_s), h > R(kGlance_s));
  const R by = kSafe / minimum(until, R(kLeastCut));
  return select(both(looks, until < R(1.0)), by * by, R(0.0));
}

template <class R>
void BasicTransient<R>::forget_extremes() {
  past_.assign(past_.size(), {R(1e300), R(-1e300)});
  note_extremes(power_[0].i);
}

/// What steps have ended at, for unseen(); before that is looked for, where they are.
template <class R>
void BasicTransient<R>::note_extremes(const Vector& current_A) {
  const Which<R> counts = t_s_ > R(o_.peaks_from_s);
  const auto note = [&](const R& x, Range& past) {
    past.least = select(counts, minimum(past.least, x), x);
    past.greatest = select(counts, maximum(past.greatest, x), x);
  };
  Range* past = past_.data();
  for (std::size_t m = 0; m < watched_; ++m) note(x_[m], *past++);
  for (const Numbering::Span& s : s_.numbering().spans) note(x_[s.a] - x_[s.b], *past++);
  for (int e = s_.first_switch(), last = e + s_.transistors(); e < last; ++e)
    note(current_A[e], *past++);
}

/// How far the loss of the switches over this step is from what a straight line between its ends
/// makes of it, over what is allowed: a node that swings from rail to rail within a step leaves no
/// trace in voltages and currents, but what the swing loses. Measured against what is lost between
/// two corners, on average or since the last one.
template <class R>
R BasicTransient<R>::misjudged_loss(const R& h) {
  using namespace esdirk;
  if (s_.switches() == 0) return R(0.0);
  const StagePower* const p = power_.data();
  const R own_W = kA[kStages - 1][0] * p[0].switches + kA[kStages - 1][1] * p[1].switches +
                  kA[kStages - 1][2] * p[2].switches + kA[kStages - 1][3] * p[3].switches,
          straight_W = 0.5 * (p[0].switches + p[kStages - 1].switches);
  step_loss_J_ = h * own_W;
  return absolute(h * (own_W - straight_W)) / allowed_loss_J(step_loss_J_);
}

/// By how much the loss of a step may be misjudged.
template <class R>
R BasicTransient<R>::allowed_loss_J(const R& step_J) const {
  const R typical = maximum(absolute(event_J_ + step_J), lost_J_ * per_event_);
  return o_.loss_share * maximum(typical, R(esdirk::kLeastEdge_J));
}

/// What misjudged_loss() will say, by the first stages. A parabola of power over time, of second
/// derivative W'', is misjudged by W'' h^3/12. After the first stage W'' is known from how far its
/// power is from a line on through the last step, after the second from the three powers there are.
template <class R>
R BasicTransient<R>::foreseen_misjudged(int stage, const R& h) const {
  using namespace esdirk;
  if (s_.switches() == 0) return R(0.0);
  const R first = power_[0].switches, now = power_[stage].switches;
  R bend;  // W'' h^2
  if (stage == 1) {
    const R before = h_previous_ / h,
            straight = maximum(first + (first - switches_before_W_) * kC[1] / before, R(0.0));
    bend = select(before > R(0.0), 2.0 * (now - straight) / (kC[1] * (kC[1] + before)), R(0.0));
  } else {
    constexpr double kApart = kC[2] - kC[1];
    bend = (2.0 / kApart) *
           ((now - first) * (1.0 / kC[2]) - (power_[1].switches - first) * (1.0 / kC[1]));
  }
  return h * absolute(bend) * (1.0 / 12.0) / allowed_loss_J(0.5 * h * (first + now));
}

/// How far the stages of this step lie from a cubic through its ends, for the windings and the
/// rotor: the embedded error may miss a change of regime inside a step (a diode that stops
/// conducting), which bends the path.
template <class R>
R BasicTransient<R>::kink(const R& h) const {
  using namespace esdirk;
  if (!s_.has_rotor()) return R(0.0);
  R most = R(0.0);
  const auto look = [&](int m) {
    const R x0 = x_[m], x1 = x_stage_[kStages - 1][m];
    R d0, d1;
    if (s_.saturates()) {
      d0 = h * s_.slope(x_, f_[0], m);
      d1 = h * s_.slope(x_stage_[kStages - 1], f_[kStages - 1], m);
    } else {
      const R hd = -h / s_.storage(m);
      d0 = hd * f_[0][m], d1 = hd * f_[kStages - 1][m];
    }
    for (int i = 1; i <= 2; ++i) {
      const double u = kC[i], v = 1.0 - u;
      const R cubic =
          v * v * ((1.0 + 2.0 * u) * x0 + u * d0) + u * u * ((1.0 + 2.0 * v) * x1 - v * d1);
      most = maximum(absolute(x_stage_[i][m] - cubic) * per_tol_[m], most);
    }
  };
  for (int m = s_.winding_unknown(0); m < s_.angle_unknown(); ++m) look(m);
  if (s_.has_loose_load()) look(s_.load_speed_unknown());
  return most;
}

/// Of those that have stepped.
template <class R>
void BasicTransient<R>::accumulate(const R& h) {
  using namespace esdirk;
  static_assert(kStages == 4);
  const Which<R> of = stepped_;
  const bool whole = all(of);
  const auto add = [&](R& sum, const R& more) { sum += whole ? more : select(of, more, R(0.0)); };
  add(event_J_, step_loss_J_), add(lost_J_, step_loss_J_);
  R b[kStages];
  for (int i = 0; i < kStages; ++i) b[i] = h * kA[kStages - 1][i];
  const StagePower* const p = power_.data();
  const R source =
      b[0] * p[0].source + b[1] * p[1].source + b[2] * p[2].source + b[3] * p[3].source;
  add(ledger_.load_J, b[0] * p[0].load + b[1] * p[1].load + b[2] * p[2].load + b[3] * p[3].load);
  R loss = R(0.0);
  const R *const i0 = p[0].i.data(), *const i1 = p[1].i.data(), *const i2 = p[2].i.data(),
                 *const i3 = p[3].i.data(), *const l0 = p[0].loss.data(),
                 *const l1 = p[1].loss.data(), *const l2 = p[2].loss.data(),
                 *const l3 = p[3].loss.data();
  BasicElementSums<R>* const sums = sums_.data();
  for (std::size_t e = 0, end = sums_.size(); e < end; ++e) {
    const R c0 = b[0] * i0[e], c1 = b[1] * i1[e], c2 = b[2] * i2[e], c3 = b[3] * i3[e];
    add(sums[e].charge_C, (c0 + c1) + (c2 + c3));
    add(sums[e].i2_A2s, (c0 * i0[e] + c1 * i1[e]) + (c2 * i2[e] + c3 * i3[e]));
    const R own = (b[0] * l0[e] + b[1] * l1[e]) + (b[2] * l2[e] + b[3] * l3[e]);
    add(sums[e].loss_J, own);
    loss += own;
  }
  add(ledger_.source_J, source);
  add(ledger_.throughput_J, absolute(source));
  add(ledger_.loss_J, loss);
}

}  // namespace pb::physics
