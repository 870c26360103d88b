// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Heat that parts share through their board: one node, the board, warmed by the loss of every part
// and cooled from both faces,
//   T_board = T_ambient + sum P / (2 h A),
// with each junction above it by what its data sheet's resistance is without the board that was
// measured on,
//   T_j = T_board + (R_th - 1/(2 h A_c)) P,
// A_c the area of the standard's coupon. On a coupon of its own a part is what its sheet says.
// h: still air and radiation, 10 W/(m2 K) (common practice, no source; Incropera et al.,
// Fundamentals of Heat and Mass Transfer, 7th ed. 2011, table 1.1, gives 2 to 25 for free
// convection of gases). Valid: copper enough to spread the heat, boards of up to some 50 mm, on
// which what spreads it (sqrt(k t/(2 h)), 25 mm for 35 um of copper on half of both faces) makes
// neighbours nearly alike. Left out: where parts stand. Tested by
// tests/unit/physics_board_heat.cpp.
#pragma once

#include <algorithm>

#include "model/design.h"

namespace pb::physics {

inline constexpr double kFromFaces_W_m2K = 10.0;
/// 76.2 mm by 114.3 mm: JEDEC JESD51-7 (1999), and JESD51-3 for packages below 27 mm.
inline constexpr double kCoupon_m2 = 76.2e-3 * 114.3e-3;

/// A board's rho c t/(2 h), whatever its area: 1.6 mm of glass-epoxy laminate, 1,850 kg/m3 and
/// 1,100 J/(kg K) (from memory). [s]
inline constexpr double kBoard_s = 1850.0 * 1100.0 * 1.6e-3 / (2.0 * kFromFaces_W_m2K);

/// From a board of that area, one face, to ambient. [K/W]
inline double board_K_W(double area_m2) { return 1.0 / (2.0 * kFromFaces_W_m2K * area_m2); }

/// From a junction to its board, of a sheet's resistance to ambient; or between the junctions of
/// one package, of a sheet's mutual one. A tenth at the least: no sheet's is all the board's. [K/W]
inline double without_board_K_W(double rth_ja_K_W) {
  return std::max(rth_ja_K_W - board_K_W(kCoupon_m2), 0.1 * rth_ja_K_W);
}

/// Of one part alone on the brief's board. [K/W]
inline double alone_K_W(const Design& d, double rth_ja_K_W) {
  return without_board_K_W(rth_ja_K_W) + board_K_W(d.brief.build.board_area_m2);
}

}  // namespace pb::physics
