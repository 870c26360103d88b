// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Heat of a pulse: a junction's single-pulse thermal impedance as a chain of first-order stages,
//   Z(t) = R_th sum a_i (1 - exp(-t/tau_i)),
// with the shares a_i of a small surface-mounted package: 10, 25, 65 and 130 K/W of 350 K/W at 1,
// 10, 100 ms and 1 s (from memory), below 1 ms with the root of time (heat spreading into a half
// space: Carslaw, Jaeger, Conduction of Heat in Solids, 1959, 2.9). Fitted, within 20 % from 10 us
// on. Valid: junction of a part whose R_th is mostly the board's. Tested by
// tests/unit/judgement_checks.cpp.
#pragma once

#include <array>
#include <cmath>

#include "base/math.h"

namespace pb::physics {

/// No law of a semiconductor here holds above; a part is gone before. What gets so hot is said to
/// be at least so hot.
inline constexpr double kMelted_K = 800.0;

struct ThermalStage {
  double share, time_s;
};
inline constexpr std::array<ThermalStage, 8> kPackage = {{{0.0046, 1e-5},
                                                          {0.0012, 1e-4},
                                                          {0.0271, 1e-3},
                                                          {0.0483, 1e-2},
                                                          {0.0626, 0.1},
                                                          {0.3457, 1.0},
                                                          {0.3236, 10.0},
                                                          {0.1869, 60.0}}};

/// Z(t)/R_th.
inline double pulse_share(double t_s) {
  double sum = 0;
  for (const ThermalStage& s : kPackage) sum += s.share * (1.0 - std::exp(-t_s / s.time_s));
  return sum;
}

/// Greatest current [A, RMS] for which a resistance that rises with its temperature finds a balance
/// T = T_a + R_th I^2 R(T) below an end; above it the part runs away. With R = R_25 (1 + a (T -
/// 25 degC)) and no end it would be 1/sqrt(R_th R_25 a) (the balance solved for T; its denominator
/// is then 0). `ohms`: R of a temperature [K].
template <class Ohms>
double runaway_A(double rth_K_W, double ambient_K, const Ohms& ohms, double up_to_K = kMelted_K) {
  constexpr double kStep_K = 10.0;  // the quotient has one gentle peak, or none below the end
  double most = 0.0;
  for (double T_K = ambient_K + kStep_K; T_K <= up_to_K; T_K += kStep_K)
    most = std::max(most, (T_K - ambient_K) / (rth_K_W * ohms(T_K)));
  return std::sqrt(most);
}

/// exp(-h/tau_i) of every stage, worked out once for all parts that take the same step.
class StageDecay {
 public:
  const std::array<double, kPackage.size()>& over(double h_s) {
    if (h_s == h_s_) return decay_;
    h_s_ = h_s;
    // Nearly all of the stages lie a decade apart: the tenth power of the next slower one.
    for (std::size_t i = decay_.size(); i-- > 0;) {
      const bool decade =
          i + 1 < decay_.size() && kPackage[i + 1].time_s == 10.0 * kPackage[i].time_s;
      if (!decade) {
        decay_[i] = std::exp(-h_s / kPackage[i].time_s);
        continue;
      }
      const double second = square(decay_[i + 1]), fourth = square(second);
      decay_[i] = square(fourth) * second;
    }
    return decay_;
  }

 private:
  double h_s_ = -1.0;
  std::array<double, kPackage.size()> decay_{};
};

/// Rise over the mean junction temperature of one part, K per K/W of R_th: fed with what its power
/// is above the mean.
struct ThermalRipple {
  std::array<double, kPackage.size()> stage_W{};
  double now_W = 0;
  /// `decay`: StageDecay of the step.
  void step(double power_above_mean_W, const std::array<double, kPackage.size()>& decay) {
    now_W = 0;
    for (std::size_t i = 0; i < kPackage.size(); ++i) {
      const double to = kPackage[i].share * power_above_mean_W;
      stage_W[i] = to + (stage_W[i] - to) * decay[i];
      now_W += stage_W[i];
    }
  }
};

}  // namespace pb::physics
