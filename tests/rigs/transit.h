// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A bipolar transistor between currents that do not depend on it, to see what it stores. No product
// law is used for what it should do.
#pragma once

#include <cmath>
#include <numbers>

#include "tests/rigs/circuit.h"

namespace pb::rigs {

/// So that no node is without any capacitance; next to nothing beside what is under way.
constexpr double kLittle_F = 1e-14;

/// Of a transistor that is saturated by one base current and turned off by another, the current of
/// its collector given.
struct Storage {
  double forward_gain, reverse_gain, forward_transit_s, reverse_transit_s;
  double collector_A, into_base_A, out_of_base_A;
};

/// Charge control: with F and R the forward and reverse transport currents, b and t their gains and
/// transit times,
///   base:       t_F F' + t_R R' = i_B - F/b_F - R/b_R
///   collector:  t_R R' = F - (1 + 1/b_R) R - i_C
/// With p = (1 + 1/b_F)/t_F, q = (1 + 1/b_R)/t_R these are F' = -p F + R/t_F + (i_B + i_C)/t_F and
/// R' = F/t_R - q R - i_C/t_R. The sum of their two rates is p + q, the product p q - 1/(t_F t_R) =
/// (1 + b_F + b_R)/(b_F b_R t_F t_R); the slow one is about product/sum, whose inverse is
///   t_sat = [b_F (1 + b_R) t_F + b_R (1 + b_F) t_R]/(1 + b_F + b_R),
/// as J. Moll, Proc. IRE 42, 1954, 1773-1784, has it with a = b/(1 + b): (a_F t_F + a_R t_R)/(1 -
/// a_F a_R). What is stored beyond the edge of saturation falls towards what -I_BR would sustain
/// and is gone when I_BF has fallen to I_C/b_F.
inline double textbook_storage_s(const Storage& s) {
  const double f = s.forward_gain, r = s.reverse_gain;
  const double saturation_s =
      (f * (1 + r) * s.forward_transit_s + r * (1 + f) * s.reverse_transit_s) / (1 + f + r);
  return saturation_s * std::log((s.into_base_A + s.out_of_base_A) /
                                 (s.collector_A / s.forward_gain + s.out_of_base_A));
}

/// The same with both rates, until R = 0.
inline double exact_storage_s(const Storage& s) {
  const double p = (1 + 1 / s.forward_gain) / s.forward_transit_s,
               q = (1 + 1 / s.reverse_gain) / s.reverse_transit_s, a = 1 / s.forward_transit_s,
               b = 1 / s.reverse_transit_s, product = p * q - a * b;
  // Rests of F and R at a base current: p F - a R = a (i_B + i_C), -b F + q R = -b i_C.
  const auto rest_F = [&](double base_A) {
    return a * (q * (base_A + s.collector_A) - b * s.collector_A) / product;
  };
  const auto rest_R = [&](double base_A) {
    return b * (a * (base_A + s.collector_A) - p * s.collector_A) / product;
  };
  const double end = rest_R(-s.out_of_base_A), u = rest_F(s.into_base_A) - rest_F(-s.out_of_base_A),
               v = rest_R(s.into_base_A) - end;
  const double middle = 0.5 * (p + q), half = std::sqrt(middle * middle - product);
  const double slow = middle - half, fast = middle + half,
               of_slow = (b * u - q * v + fast * v) / (fast - slow);
  double low = 0, high = 20 / slow;
  for (int k = 0; k < 200; ++k) {
    const double t = 0.5 * (low + high);
    const double R = end + of_slow * std::exp(-slow * t) + (v - of_slow) * std::exp(-fast * t);
    (R > 0.0 ? low : high) = t;
  }
  return low;
}

/// A transistor whose collector draws on a far rail, its base on a far source that turns at 0.
inline Circuit saturated(const Storage& s, const Bipolar& q) {
  constexpr double kFar_V = 1000.0, kJunction_V = 0.7, kEdge_s = 1e-13;
  Circuit c = grounded();
  const double base_S = s.into_base_A / kFar_V;
  const double back_V = kJunction_V - s.out_of_base_A / base_S;
  const int source = driven(
                c, Profile{{0.0, kEdge_s}, {q.sign * (kFar_V + kJunction_V), q.sign * back_V}}),
            rail = driven(c, q.sign * kFar_V), base = c.add_node("base"),
            collector = c.add_node("collector");
  c.resistors.push_back({"rb", source, base, base_S});
  c.resistors.push_back({"rc", rail, collector, s.collector_A / kFar_V});
  c.bipolars.push_back({"q", collector, base, 0, q});
  for (const int n : {base, collector}) c.capacitors.push_back({"", n, 0, kLittle_F});
  return c;
}

/// Time at which the collector leaves the base's voltage behind.
inline double storage_s(const Circuit& c, double at_most_s) {
  System system(c);
  Transient t(system, tight());
  const double sign = c.bipolars[0].transistor.sign;
  double before_s = 0, before_V = 0, found = std::nan("");
  t.start(-20.0 * at_most_s);
  if (t.run_to(0.0) != Outcome::reached_end) return found;
  StopSource stop;
  t.on_step = [&](double now_s, const std::vector<double>& x) {
    const double forward_V = sign * (x[0] - x[1]);  // base and collector
    if (forward_V < 0.0) {
      found = before_s + (now_s - before_s) * before_V / (before_V - forward_V);
      stop.request_stop();
    }
    before_s = now_s, before_V = forward_V;
  };
  t.run_to(at_most_s, stop.token());
  return found;
}

/// Greatest swing of the collector's current over that of the base at this frequency, the collector
/// held at a voltage: after five of the time constants at which it settles.
inline double current_gain_at(const Bipolar& q, double frequency_Hz) {
  constexpr int kPoints = 64;  // straight lines between them take 0.1 % of the swing
  constexpr double kFar_V = 1000.0, kBias_A = 1e-4, kSwing = 0.5, kJunction_V = 0.7;
  const double period_s = 1.0 / frequency_Hz,
               settles_s = 5.0 * q.forward_gain * q.forward_transit_s,
               end_s = period_s * (std::ceil(settles_s / period_s) + 1.0);
  Profile wave{{0.0}, {q.sign * (kFar_V + kJunction_V)}};
  for (int k = 1; k * period_s / kPoints <= end_s * (1 + 1e-9); ++k) {
    wave.t_s.push_back(k * period_s / kPoints);
    wave.value.push_back(
        q.sign *
        (kFar_V * (1.0 + kSwing * std::sin(2.0 * std::numbers::pi * k / kPoints)) + kJunction_V));
  }
  Circuit c = grounded();
  const int source = driven(c, wave), rail = driven(c, q.sign * 5.0), base = c.add_node("base");
  c.resistors.push_back({"rb", source, base, kBias_A / kFar_V});
  c.bipolars.push_back({"q", rail, base, 0, q});
  c.capacitors.push_back({"", base, 0, kLittle_F});
  System system(c);
  Transient t(system, tight());
  t.start(-4.0 * settles_s);
  if (t.run_to(end_s - period_s) != Outcome::reached_end) return std::nan("");
  double least_A = HUGE_VAL, most_A = -HUGE_VAL;
  t.on_step = [&](double, const std::vector<double>&) {
    const double i = q.sign * system.readings[1].current_A;
    least_A = std::min(least_A, i), most_A = std::max(most_A, i);
  };
  t.run_to(end_s);
  return 0.5 * (most_A - least_A) / (kSwing * kBias_A);
}

}  // namespace pb::rigs
