// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How the integrator of transient_method.h goes from step to step: lengths, landings, what a step
// leaves behind. Included where it is instantiated: for double by transient.cpp, for Lanes by
// lane_build.h. Units side by side each go by their own error, and wait for each other where they
// land.
#pragma once

#include <algorithm>
#include <cmath>
#include <type_traits>
#include <utility>

#include "physics/transient_method.h"

namespace pb::physics {

/// A step that ends with the speed beyond zero has jumped the turning of the friction, is rejected,
/// and halved until it no longer does. It is cut before: up to where friction begins to turn, then
/// through that in a few pieces.
template <class R>
R BasicTransient<R>::until_turning() const {
  constexpr double kNever = 1e300, kEdge = 3.0, kPiece = 1.5;  // of the speed at which it turns
  if (!s_.has_rotor() || s_.locked()) return R(kNever);
  const auto until = [&](const R& w, const R& gain) {
    const R falls = select(w > R(0.0), -gain, gain);  // of the speed's size
    const R way =
        maximum(absolute(w) - kEdge * kFrictionSpeed_rad_s, R(kPiece * kFrictionSpeed_rad_s));
    return select(falls > R(0.0), way / falls, R(kNever));
  };
  const int w = s_.speed_unknown();
  R reach = until(x_[w], slope(w));
  if (s_.has_loose_load()) {  // its own friction, and that of the flanks
    const int load = s_.load_speed_unknown();
    reach = minimum(reach, until(x_[load], slope(load)));
    reach = minimum(reach, until(x_[w] - x_[load], slope(w) - slope(load)));
  }
  if (s_.touches()) reach = minimum(reach, s_.until_touching(x_));
  return reach;
}

/// The next time to land on: a corner of a profile, a landing or the end.
template <class R>
double BasicTransient<R>::next_stop(double t_end_s) {
  const double last_s = least(t_s_);  // of who is there last
  while (next_corner_ < corners_.size() && corners_[next_corner_] <= last_s) ++next_corner_;
  while (next_landing_ < landings_s.size() && landings_s[next_landing_] <= last_s) ++next_landing_;
  double stop = t_end_s;
  if (next_corner_ < corners_.size()) stop = std::min(stop, corners_[next_corner_]);
  if (next_landing_ < landings_s.size()) stop = std::min(stop, landings_s[next_landing_]);
  if (responder) stop = std::min(stop, std::max(responder->next_s(), last_s));
  return stop;
}

/// Whether the step just solved ends beyond a signal's zero: then the next one tried is as long as
/// a straight line says. Signals at zero are noted.
template <class R>
bool BasicTransient<R>::passes_signal(const R& h) {
  rose_.clear();
  if constexpr (std::is_same_v<R, double>) {
    if (!responder) return false;
    // Of a sense voltage that rises by 1 kV/s, 5 ns; a chopper's comparator is no quicker.
    constexpr double kThere_V = 5e-6, kShortest_s = 1e-12, kLeastShare = 1e-3;
    double share = 1.0;
    for (std::size_t k = 0; k < responder->signals(); ++k) {
      const double after = responder->signal(k, x_stage_[esdirk::kStages - 1]);
      if (after < -kThere_V) continue;
      const double before = responder->signal(k, x_);
      if (after > kThere_V && before < 0.0)
        share = std::min(share, std::max(before / (before - after), kLeastShare));
      else
        rose_.push_back(k);
    }
    if (share >= 1.0) return false;
    if ((1.0 - share) * h > kShortest_s) {
      sought_s_ = share * h;
      return true;
    }
    for (std::size_t k = 0; k < responder->signals(); ++k)  // as near as steps can tell
      if (responder->signal(k, x_stage_[esdirk::kStages - 1]) > kThere_V) rose_.push_back(k);
    std::sort(rose_.begin(), rose_.end());
    rose_.erase(std::unique(rose_.begin(), rose_.end()), rose_.end());
  }
  return false;
}

/// Lets the responder act where a step has ended, if there is cause. True: a corner of its sources.
template <class R>
bool BasicTransient<R>::answer() {
  if constexpr (std::is_same_v<R, double>)
    if (responder && (!rose_.empty() || responder->next_s() <= t_s_))
      return responder->respond(t_s_, x_, rose_);
  return false;
}

/// The longest step while a pin changes level, unless nothing happens: peaks are read where steps
/// end, and what two switches let through meanwhile is a peak within the edge.
template <class R>
double BasicTransient<R>::within_edge() const {
  constexpr double kEdge_s = 1e-6;                  // what takes longer is no edge
  constexpr double kShare = 0.1, kFinest_s = 1e-9;  // corners of two pins may all but coincide
  if (!o_.peaks || next_corner_ == 0 || next_corner_ >= corners_.size()) return HUGE_VAL;
  const double lasts_s = corners_[next_corner_] - corners_[next_corner_ - 1];
  return lasts_s < kEdge_s ? std::max(kShare * lasts_s, kFinest_s) : HUGE_VAL;
}

/// Those that have stepped go on to where they have come.
template <class R>
void BasicTransient<R>::accept(const R& h, const R& t_next) {
  using esdirk::kStages;
  ++accepted;
  const bool whole = all(stepped_);
  const auto put = [&](R& to, const R& from) { to = whole ? from : select(stepped_, from, to); };
  const auto take = [&](Vector& to, Vector& from) {
    if (whole)
      to.swap(from);
    else
      for (std::size_t m = 0; m < to.size(); ++m) to[m] = select(stepped_, from[m], to[m]);
  };
  // The state before, the middle and the last stage are kept for the next prediction; what they
  // replace is overwritten there.
  take(x_stage_[0], x_);
  take(middle_, x_stage_[2]);
  take(x_, x_stage_[kStages - 1]);
  take(q0_, q_);
  put(h_previous_, h);
  put(switches_before_W_, power_[0].switches);
  put(t_s_, t_next);
  accumulate(h);
  if (o_.peaks) note_extremes(power_[kStages - 1].i);
  take(f_[0], f_[kStages - 1]);
  StagePower &first = power_[0], &last = power_[kStages - 1];
  take(first.loss, last.loss), take(first.i, last.i);
  put(first.source, last.source), put(first.load, last.load);
  put(first.switches, last.switches);
  s_.fill_readings(first.loss, first.i, stepped_);
  if (on_step) on_step(t_s_, x_);
}

/// The next step, of those that have stepped and of those that failed. `cut`: whose step ended
/// where it had to.
template <class R>
void BasicTransient<R>::lengthen(const R& h, const R& error, const Which<R>& cut) {
  constexpr double kShrinks = 0.3, kGrows = 5.0;
  const R by =
      esdirk::kSafe * each([](double e) { return 1.0 / std::cbrt(e); }, maximum(error, R(1e-6)));
  // A length that just failed is not tried again.
  const R most = select(failed_before_, R(1.0), R(kGrows)),
          grown = h * minimum(maximum(by, R(kShrinks)), most);
  // A step cut short to land says nothing against the length before it, unless the error does.
  const R kept = select(both(cut, error < R(0.5)), maximum(grown, h_s_), grown);
  h_s_ = select(stepped_, kept, h_s_);
  failed_before_ = except(failed_before_, stepped_);
}

/// After a corner of the sources. Their slopes change there; f does not, for their values are
/// continuous.
template <class R>
void BasicTransient<R>::restart(const Which<R>& of) {
  h_s_ = select(of, minimum(h_s_, R(o_.first_step_s)), h_s_);
  h_previous_ = select(of, R(0.0), h_previous_);
  quiet_ = except(quiet_, of);
  event_J_ = select(of, R(0.0), event_J_);
  events_ = select(of, events_ + R(1.0), events_);
  per_event_ = 1.0 / events_;
}

template <class R>
Outcome BasicTransient<R>::advance(double t_end_s, const StopToken& stop) {
  // An error below the former says that nothing happens; where a step is long for an edge it must
  // be less by the latter factor.
  constexpr double kQuiet = 0.01, kQuieter = 50.0;
  const bool fixed = o_.fixed_step_s > 0.0;
  const Which<R> none = which<R>(false), every = which<R>(true);
  failed_before_ = none;
  rose_.clear();
  answer();
  while (any(t_s_ < R(t_end_s))) {
    if (stop.stop_requested()) return Outcome::cancelled;
    if (o_.max_steps > 0 && accepted + rejected >= o_.max_steps) return Outcome::too_many_steps;
    const double land_s = next_stop(t_end_s);
    // Who is there already makes a step for nothing.
    const Which<R> goes = t_s_ < R(land_s);
    const R turn_s = s_.hiccups() ? s_.next_turn(t_s_) : R(HUGE_VAL),
            land_at = minimum(R(land_s), turn_s);
    const double edge_s = within_edge();
    R h = R(o_.fixed_step_s);
    if (!fixed) {
      const R longest = select(quiet_, R(o_.max_step_s), R(std::min(o_.max_step_s, edge_s)));
      h = minimum(minimum(h_s_, longest), until_turning());
    }
    if (responder) h = minimum(h, R(responder->longest_step_s()));
    const bool seeks = sought_s_ > 0;
    if (seeks) h = R(std::exchange(sought_s_, 0.0));
    R t_next = t_s_ + h;
    Which<R> lands = none;
    if (!seeks) {  // What is sought lies before the stop that the longer step had.
      lands = t_next >= land_at - 1e-3 * h;
      const Which<R> halves =
          fixed ? none : except(t_next > land_at - h, lands);  // no sliver before the corner
      const R left = land_at - t_s_;
      h = select(lands, left, select(halves, 0.5 * left, h));
      t_next = select(lands, land_at, t_s_ + h);
      h = select(goes, h, h_s_), t_next = select(goes, t_next, land_at);
    }
    const R finest = 1e-15 + 16.0 * 2.2e-16 * absolute(t_s_);
    if (any(both(goes, except(h < finest, lands)))) return Outcome::step_underflow;
    R error = R(0.0);
    const Which<R> solved = step(h, t_next, goes, error);
    const Which<R> quiet = error < R(kQuiet);
    error = select(h > R(1.001 * edge_s), kQuieter * error, error);
    stepped_ = fixed ? solved : both(solved, R(1.0) >= error);
    const Which<R> fails = except(goes, stepped_);
    if (any(fails)) {
      ++rejected;
      if (fixed || any(both(fails, both(lands, h < R(1e-14))))) return Outcome::step_underflow;
      const R by =
          each([](double e) { return esdirk::kSafe / std::sqrt(e); }, maximum(error, R(1.0)));
      h_s_ = select(fails,
                    h * select(solved, minimum(maximum(by, R(0.1)), R(esdirk::kLeastCut)), R(0.2)),
                    h_s_);
      failed_before_ = either(failed_before_, fails);
      if (!any(stepped_)) continue;
    }
    if (passes_signal(h)) continue;
    accept(h, t_next);
    if (s_.hiccups()) s_.advance_supplies(x_, t_s_);
    const bool corner = answer();
    lengthen(h, error, seeks ? every : lands);
    quiet_ = either(except(quiet_, stepped_), both(stepped_, quiet));
    Which<R> anew = corner ? stepped_ : none;
    if (next_corner_ < corners_.size())
      anew = either(anew, both(stepped_, t_s_ >= R(corners_[next_corner_])));
    if (s_.hiccups()) anew = either(anew, both(stepped_, t_s_ >= turn_s));
    if (any(anew)) restart(anew);
  }
  return Outcome::reached_end;
}

template <class R>
int BasicTransient<R>::worst_unknown() const {
  int worst = 0;
  double most = 0;
  for (std::size_t i = 0; i < error_.size(); ++i)
    if (const double r = largest(absolute(error_[i]) / tol_[i]); r > most)
      most = r, worst = static_cast<int>(i);
  return worst;
}

}  // namespace pb::physics
