// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The books of a motor that is walked through a plan (physics/mean_drive.h, latched_drive.h): its
// state, the times it is asked for, the greatest currents, and stretches short enough to follow a
// junction's heat. What moves it is the walker's own. Tested by tests/slow/chopped_run.cpp and
// latched_run.cpp.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <utility>
#include <vector>

#include "physics/mean_drive.h"
#include "physics/motor_step.h"

namespace pb::physics {

class MotorWalk {
 public:
  /// `times_s`, rising: when it is asked for; `each`: told of every stretch from t = 0 on;
  /// `points`: between which a stretch is shared out.
  MotorWalk(double theta0_rad, double from_s, std::size_t points,
            const std::vector<double>& times_s, const std::function<void(const MeanStretch&)>& each)
      : x_{0, 0, 0, theta0_rad}, t_s_(from_s), times_s_(times_s), each_(each) {
    stretch_.shares.assign(points, 0.0);
    stretch_.from_s = t_s_;
  }

  MeanMotion take() {
    out_.rms_A = std::sqrt(i2_A2s_ / (2.0 * t_s_));
    return std::move(out_);
  }
  void end_state() { out_.ends.push_back(state()); }

 protected:
  static constexpr double kStretch_s = 0.25e-3;  // heat of a junction is watched as closely

  MotorState state() const { return {t_s_, {x_[0], x_[1]}, x_[2], x_[3]}; }
  bool stretch_is_long() const { return t_s_ - stretch_.from_s > kStretch_s; }

  /// `straight(stop_s)` moves it there and ends its stretch.
  template <class Straight>
  void walk(double until_s, const Straight& straight) {
    while (t_s_ < until_s) {
      const bool asks = next_ < times_s_.size() && times_s_[next_] > t_s_;
      straight(asks ? std::min(times_s_[next_], until_s) : until_s);
      for (; next_ < times_s_.size() && times_s_[next_] <= t_s_; ++next_)
        out_.asked.push_back(state());
    }
  }

  void keep_most(std::size_t w) {
    if (t_s_ > 0 && std::abs(x_[w]) > most_A_[w])
      most_A_[w] = std::abs(x_[w]), out_.most[w] = state();
  }

  void end_stretch() {
    stretch_.to_s = t_s_;
    if (stretch_.from_s >= 0) i2_A2s_ += stretch_.i2_A2s[0] + stretch_.i2_A2s[1];
    if (each_ && stretch_.from_s >= 0 && stretch_.to_s > stretch_.from_s) each_(stretch_);
    std::fill(stretch_.shares.begin(), stretch_.shares.end(), 0.0);
    stretch_.from_s = t_s_;
    stretch_.i2_A2s[0] = stretch_.i2_A2s[1] = stretch_.shaft_J = stretch_.pulses_A2s = 0;
  }

  MotorVector x_;
  double t_s_;
  MeanStretch stretch_;

 private:
  double most_A_[2] = {-1, -1}, i2_A2s_ = 0;
  const std::vector<double>& times_s_;
  std::size_t next_ = 0;
  const std::function<void(const MeanStretch&)>& each_;
  MeanMotion out_;
};

}  // namespace pb::physics
