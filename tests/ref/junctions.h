// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The non-linear laws of the scenes with their slopes, written for this reference alone.

#pragma once

#include <cmath>

namespace pb::ref {

struct Branch {
  double value = 0.0;
  double slope = 0.0;
};

/// Wright omega: the w > 0 with w + ln w = z. One to three steps of the fourth-order iteration of
/// Fritsch, Shafer, Crowley; Lawrence, Corless, Jeffrey, ACM TOMS 38(3), 2012, algorithm 917.
/// Relative error below 1e-14 for real z (checked in the tests by its defining equation).
inline double wright_omega(double z) {
  if (z < -40.0) return std::exp(z);  // w/(1+w) of the next term is below double precision
  double w;
  if (z < -2.0) {
    const double e = std::exp(z);
    w = e * (1.0 - e * (1.0 - 1.5 * e));
  } else if (z < 2.5) {
    const double d = z - 1.0;
    w = 1.0 + d * (0.5 + d * (0.0625 - d * 0.0052083333333333333));
  } else {
    const double l = std::log(z);
    w = z - l + l / z;
  }
  for (int k = 0; k < 3; ++k) {
    const double r = z - w - std::log(w);
    const double p = 1.0 + w;
    const double q = 2.0 * p * (p + 2.0 / 3.0 * r);
    w *= 1.0 + r / p * (q - r) / (q - 2.0 * r);
    // The error left is about r^4; below 1e-4 nothing remains to be gained.
    if (std::fabs(r) < 1e-4 * p) break;
  }
  return w;
}

/// Junction Is, n UT in series with R, as a function of the voltage across both:
/// i = Is (exp((v - R i)/a) - 1). With w = (i + Is) R / a this is w + ln w = ln(Is R/a) + (v + Is
/// R)/a.
struct SeriesJunction {
  double a_V, R_ohm, offset_A, log_ratio, shift_V;

  static SeriesJunction diode(double Is_A, double a_V, double R_ohm) {
    return {a_V, R_ohm, Is_A, std::log(Is_A * R_ohm / a_V), Is_A * R_ohm};
  }
  /// Pure exponential through ref_A at knee_V: i = ref exp((v - R i - knee)/a).
  static SeriesJunction clamp(double ref_A, double knee_V, double a_V, double R_ohm) {
    return {a_V, R_ohm, 0.0, std::log(ref_A * R_ohm / a_V), -knee_V};
  }
  Branch at(double v_V) const {
    const double w = wright_omega(log_ratio + (v_V + shift_V) / a_V);
    return {a_V / R_ohm * w - offset_A, w / (1.0 + w) / R_ohm};
  }
};

/// Junction Is, a in parallel with R, as a function of the current through both: the voltage v with
/// Is (exp(v/a) - 1) + v/R = i. With w = (Is R/a) exp(v/a): w + ln w = (i + Is) R/a + ln(Is R/a).
struct ParallelJunction {
  double a_V, R_ohm, Is_A, log_ratio;

  static ParallelJunction diode(double Is_A, double a_V, double R_ohm) {
    return {a_V, R_ohm, Is_A, std::log(Is_A * R_ohm / a_V)};
  }
  Branch at(double i_A) const {
    const double x = (i_A + Is_A) * R_ohm / a_V;
    const double w = wright_omega(x + log_ratio);
    // v = a (ln w - ln ratio) = a (x - w); ln keeps its digits where x and w are both large.
    const double v_V = w > 1.0 ? a_V * (std::log(w) - log_ratio) : a_V * (x - w);
    return {v_V, R_ohm / (1.0 + w)};
  }
};

/// ln(1 + e^x) and its slope.
inline Branch softplus(double x) {
  if (x > 40.0) return {x, 1.0};
  const double e = std::exp(x);
  return {std::log1p(e), e / (1.0 + e)};
}

/// Channel current from drain to source and its slopes, all voltages to the source terminal.
struct ChannelCurrent {
  double i_A, by_vg_S, by_vd_S;
};

struct Channel {
  double K_A_V2, VT0_V, n, UT_V;

  ChannelCurrent at(double vg_V, double vd_V) const {
    const double half = 0.5 / UT_V;
    const double vp_V = (vg_V - VT0_V) / n;
    const double spec_A = 2.0 * n * K_A_V2 * UT_V * UT_V;
    const Branch f = softplus(vp_V * half);
    const Branch r = softplus((vp_V - vd_V) * half);
    const double gf = 2.0 * spec_A * f.value * f.slope * half;
    const double gr = 2.0 * spec_A * r.value * r.slope * half;
    // (f - r)(f + r) and not f^2 - r^2: in deep triode the two squares nearly cancel.
    return {spec_A * (f.value - r.value) * (f.value + r.value), (gf - gr) / n, gr};
  }
};

}  // namespace pb::ref
