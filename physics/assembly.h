// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// From a design, a point of its spread, temperatures and a plan to a circuit. The only place that
// knows both part classes and circuit elements: a new class is one row of the table in assembly.cpp
// and one function.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "physics/circuit.h"
#include "physics/plan.h"
#include "physics/spread.h"

namespace pb::physics {

struct Temperatures {
  std::map<std::string, double> junction_K;  // ref -> junction; ambient where missing
  double winding_K = kDefault_K;
  double board_K = kNotGiven;  // that the junctions stand on (physics/board_heat.h); else ambient
  /// Of a drive that rests between moves: what its parts lose while it moves. [W]
  std::map<std::string, double> moving_W;
  static constexpr double kDefault_K = 298.15;
};

/// How the supplies come up. Defaults: both there, up in 10 us before everything else.
struct PowerUp {
  double rail_at_s = 0, rail_rise_s = 1e-5, logic_at_s = 0, logic_rise_s = 1e-5;
  bool rail = true, logic = true;
  bool in_reset = false;  // pins as the brief's controller.reset leaves them, for the whole run
};

Circuit assemble(const Design& design, const std::vector<Spread>& spreads, const Point& point,
                 const Temperatures& temperatures, const Plan& plan, const PowerUp& power);

/// Resistance of copper at T over that at 25 degC: 1 + a20 (T - 20)/(1 + a20 (25 - 20)), a20 =
/// 0.00393/K. Source: IEC 60028:1925; NBS Handbook 100. Range -40 to 200 degC.
double copper_ratio(double T_K);

}  // namespace pb::physics
