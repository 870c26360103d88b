// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Copper: current and temperature rise of traces and vias.
//   I = k dT^0.44 A^0.725, A in mil^2, k = 0.048 outer, 0.024 inner
// Source: IPC-2221A (2003) 6.2, figure 6-4, as fitted in published texts. Range: outer 0 to 35 A,
// 10 to 100 K, 0.5 to 3 oz; outside it is extrapolation. IPC-2152 (2009) found inner traces to cool
// about as well as outer ones. Tested by tests/book/board_and_values.cpp.
#pragma once

#include <cmath>

namespace pb::physics {

inline constexpr double kMil_m = 25.4e-6, kOuterTrace = 0.048, kInnerTrace = 0.024;

/// Current [A] that warms a cross-section [m2] by rise_K.
inline double trace_current_A(double area_m2, double rise_K, double k) {
  return k * std::pow(rise_K, 0.44) * std::pow(area_m2 / (kMil_m * kMil_m), 0.725);
}
/// Cross-section [m2] that a current [A] warms by rise_K.
inline double trace_area_m2(double current_A, double rise_K, double k) {
  return std::pow(current_A / (k * std::pow(rise_K, 0.44)), 1.0 / 0.725) * kMil_m * kMil_m;
}
/// Barrel of a via as a trace: pi (d + t) t with d the finished hole, judged as an inner trace (a
/// convention).
inline double via_area_m2(double hole_m, double plating_m) {
  return 3.141592653589793 * (hole_m + plating_m) * plating_m;
}

}  // namespace pb::physics
