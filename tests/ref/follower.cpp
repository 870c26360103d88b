// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Operating point of a source follower by bisection. See follower.h.

#include "tests/ref/follower.h"

#include <algorithm>
#include <cmath>

namespace pb::ref {
namespace {

/// ln^2(1 + e^x), without overflow.
double square_log(double x) {
  const double l = x > 0.0 ? x + std::log1p(std::exp(-x)) : std::log1p(std::exp(x));
  return l * l;
}

}  // namespace

double follower_channel_A(const Follower& f, double source_V) {
  const double pinch_V = (f.gate_V - source_V - f.VT0_V) / f.n;
  const double spec_A = 2.0 * f.n * f.K_A_V2 * f.UT_V * f.UT_V;
  const double forward = square_log(pinch_V / (2.0 * f.UT_V));
  const double reverse = square_log((pinch_V - (f.drain_V - source_V)) / (2.0 * f.UT_V));
  return spec_A * (forward - reverse);
}

double follower_source_V(const Follower& f) {
  // The channel current falls and the load current rises with the source voltage: one crossing, and
  // it lies in between, as the channel carries nothing at source = drain.
  double low = 0.0, high = f.drain_V;
  while (high - low > 1e-13) {
    const double middle = 0.5 * (low + high);
    if (middle <= low || middle >= high) break;  // neighbours in floating point
    (follower_channel_A(f, middle) > middle / f.load_ohm ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace pb::ref
