// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/settle.h"

#include <algorithm>
#include <cmath>

#include "physics/newton.h"

namespace pb::physics {
namespace {

/// One implicit Euler step of length h from x, by Newton. False: try a shorter one.
bool euler(System& s, double h, std::vector<double>& x, std::vector<double>& rhs,
           std::vector<double>& dx) {
  constexpr int kIterations = 30;
  constexpr double kConverged = 1e-5;  // volts and amperes: far below what any check reads
  s.charge(x, rhs);
  s.set_factor(h);
  for (int k = 0; k < kIterations; ++k) {
    if (!s.newton(x, rhs, dx)) return false;
    double change = 0, sum = 0;
    for (double d : dx) change = std::max(change, std::abs(d)), sum += d;
    if (!std::isfinite(sum) || change > 1e6) return false;
    const double share = newton_share(s, x, dx);
    for (std::size_t m = 0; m < x.size(); ++m) x[m] += share * dx[m];
    if (share == 1.0 && change < kConverged) return true;
  }
  return false;
}

}  // namespace

bool settle(System& s, double t_s, std::vector<double>& x) {
  // Longer than anything here takes but the discharge of a bulk capacitor. Much longer steps would
  // leave floating nodes to rounding: nothing but leakage holds them then.
  constexpr double kFirst_s = 1e-9, kLongest_s = 0.1, kLonger = 10.0, kShorter = 0.1;
  constexpr int kSteps = 200, kAtLongest = 4;
  int longest = 0;
  std::vector<double> rhs(x.size()), dx(x.size()), before;
  s.set_time(t_s);
  double h = kFirst_s;
  for (int k = 0; k < kSteps; ++k) {
    before = x;
    if (euler(s, h, x, rhs, dx)) {
      if (h >= kLongest_s && ++longest == kAtLongest) return true;
      h = std::min(h * kLonger, kLongest_s);
    } else {
      x = before;
      h *= kShorter;
      if (h < 1e-15) return false;
    }
  }
  return false;
}

}  // namespace pb::physics
