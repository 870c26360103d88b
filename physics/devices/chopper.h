// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopper that measures: a latch for one winding. On until the sense voltage has crossed the
// reference, then decay, then on again (common practice of motor drivers, no source):
//
//   on at t0; what the comparator says counts from t0 + t_blank on
//   crosses at t_c  ->  decays at max(t_c + t_delay, t0 + t_blank)
//   decays at t1    ->  fast for t_fast, then slow; on again at t1 + t_off, or, with a period T,
//                       at the next whole multiple of T after t1
// The comparator is a pure delay: what it saw at t it says at t + t_delay, so a crossing counts
// from t0 + t_blank - t_delay on, and one that is already there by then counts at that moment.
// Times in seconds. Valid: a latch that sees no crossing while it decays; no run-down of the
// off-time with the current, no limit of the duty. Tested by tests/unit/physics_chopper.cpp.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

namespace pb::physics {

struct Chopper {
  double blanking_s = 1e-6, delay_s = 0;
  double off_s = 20e-6;  // of a fixed off-time
  double period_s = 0;   // > 0: fixed frequency instead
  double fast_s = 0;     // of each decay, at its begin; as long as it lasts where that is shorter
  double phase_s = 0;    // of the period
};

inline constexpr double kNever_s = std::numeric_limits<double>::infinity();

class ChopperLatch {
 public:
  enum class Mode { idle, driven, fast, slow };

  explicit ChopperLatch(const Chopper& law) : law_(law) {}

  Mode mode() const { return mode_; }
  bool decays() const { return mode_ == Mode::fast || mode_ == Mode::slow; }

  /// Nothing is driven and nothing measured.
  void rest() {
    mode_ = Mode::idle;
    watches_s_ = next_s_ = kNever_s;
  }
  /// Driven from t on.
  void drive(double t_s) {
    mode_ = Mode::driven;
    watches_s_ = t_s + std::max(law_.blanking_s - law_.delay_s, 0.0);
    next_s_ = kNever_s;
    crossed_ = false;
  }
  /// From when on a crossing counts. [s]
  double watches_s() const { return mode_ == Mode::driven && !crossed_ ? watches_s_ : kNever_s; }
  /// The sense voltage is above the reference, at t from watches_s() on.
  void cross(double t_s) {
    crossed_ = true;
    next_s_ = std::max(t_s, watches_s_) + law_.delay_s;
  }
  /// Driven for so long, whatever the sense voltage says.
  void decay_at(double t_s) {
    crossed_ = true;
    next_s_ = t_s;
  }
  /// When the mode changes by itself; then pass() is to be called.
  double next_s() const { return next_s_; }
  void pass() {
    const double t = next_s_;
    switch (mode_) {
      case Mode::idle:
        break;
      case Mode::driven:
        on_again_s_ = law_.period_s > 0 ? next_period(t) : t + law_.off_s;
        mode_ = law_.fast_s > 0 ? Mode::fast : Mode::slow;
        next_s_ = mode_ == Mode::fast ? std::min(t + law_.fast_s, on_again_s_) : on_again_s_;
        break;
      case Mode::fast:
        if (t < on_again_s_) {
          mode_ = Mode::slow;
          next_s_ = on_again_s_;
        } else {
          drive(t);
        }
        break;
      case Mode::slow:
        drive(t);
        break;
    }
  }

 private:
  double next_period(double t_s) const {
    // A tick that all but coincides is this one, not the next.
    constexpr double kSame = 1e-6;
    return law_.phase_s +
           law_.period_s * (std::floor((t_s - law_.phase_s) / law_.period_s + kSame) + 1.0);
  }

  Chopper law_;
  Mode mode_ = Mode::idle;
  double watches_s_ = kNever_s, next_s_ = kNever_s, on_again_s_ = kNever_s;
  bool crossed_ = false;
};

}  // namespace pb::physics
