// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Copper: current and temperature rise of traces and vias.
//   I = k dT^0.44 A^0.725, A in mil^2, k = 0.048 outer, 0.024 inner
// Source: IPC-2221A (2003) 6.2, figure 6-4, as fitted in published texts. Range: outer 0 to 35 A,
// 10 to 100 K, 0.5 to 3 oz; outside it is extrapolation. IPC-2152 (2009) found inner traces to cool
// about as well as outer ones and gives charts only; the fit to them below is a third party's.
// Tested by tests/unit/physics_copper.cpp and tests/book/board_and_values.cpp.
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

/// Whether the charts behind the formula reach that far: current and foil of an outer trace (an
/// inner one half the current), rise, width up to 400 mil.
inline bool in_chart_range(double current_A, double rise_K, double width_m, double foil_m,
                           double k) {
  constexpr double kMost_A = 35.0, kOunce_m = 34.17e-6;
  return current_A <= kMost_A * k / kOuterTrace && rise_K >= 10.0 && rise_K <= 100.0 &&
         width_m <= 400.0 * kMil_m && foil_m >= 0.49 * kOunce_m && foil_m <= 3.1 * kOunce_m;
}
/// Rise [K] of an outer trace by a fit to the charts of IPC-2152: 215.3 I^2 W^-1.15 Th^-1, W and Th
/// in mil. Source: D. Brooks, J. Adam, "Trace Currents and Temperatures Revisited", 2015.
inline double outer_rise_2152_K(double current_A, double width_m, double foil_m) {
  return 215.3 * current_A * current_A * std::pow(width_m / kMil_m, -1.15) / (foil_m / kMil_m);
}
/// Time [s] in which a current melts a trace that gives no heat away. Source: E. Stauffacher,
/// General Electric Review 31(6), 1928 (Onderdonk's equation). Valid up to some seconds.
inline double melts_within_s(double area_m2, double current_A, double ambient_degC) {
  constexpr double kMelts_degC = 1083.0, kPi = 3.141592653589793;
  const double circular_mil = area_m2 / (kMil_m * kMil_m) * 4.0 / kPi,
               per_A = circular_mil / current_A;
  return per_A * per_A / 33.0 *
         std::log10((kMelts_degC - ambient_degC) / (234.0 + ambient_degC) + 1.0);
}

/// Least distance of conductors [m] on an outer layer under solder mask up to 3,050 m; of bare ones
/// it is 0.1 mm to 30 V, 0.6 mm beyond. Source: IPC-2221A (2003) table 6-1, columns B4 and B2, from
/// memory.
struct Clearance {
  double coated_m, bare_m;
};
inline Clearance clearance_for(double volts) {
  if (volts <= 30.0) return {0.05e-3, 0.1e-3};
  if (volts <= 100.0) return {0.13e-3, 0.6e-3};
  return {0.4e-3, 0.6e-3};  // to 150 V
}

}  // namespace pb::physics
