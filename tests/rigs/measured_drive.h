// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Drivers that measure their currents, of every template that does, with a motor of low voltage on
// 24 V, and what a held winding does there.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include "physics/drive_table.h"
#include "physics/run.h"
#include "physics/watched_run.h"
#include "tests/unit/delivery_samples.h"

namespace pb::rigs {

using namespace physics;

inline bool by_chip(const Template& t) { return t.measures.front().reached.empty(); }

inline const std::vector<Part>& rows() {
  static const Catalogue catalogue = [] {
    const std::string file = (test::kRoot / "parts/starter.csv").string();
    return *read_catalogue(file, *load_text(file));
  }();
  return catalogue.parts;
}

/// A motor of 4.6 ohm and 6 mH for 1 A, on a stiff 24 V.
inline Design measured(bool chip, const std::string& decay,
                       const std::string& sequence = "two-phase") {
  for (const Template& t : test::all_templates()) {
    if (t.measures.empty() || by_chip(t) != chip) continue;
    Design d = test::design_of(t, false);
    EXPECT_TRUE(supports(t, sequence));
    EXPECT_TRUE(supports_decay(t, sequence, decay)) << t.id << ' ' << decay;
    Brief& b = d.brief;
    b.regulation.kind = "current";
    b.regulation.current_A = 1.0;
    b.controller.timer_tick_s = 1e-7;
    b.supply.resistance_ohm = 1e-3;
    b.supply.can_sink = "yes";
    b.supply.voltage_V = 24;
    b.motor.winding_resistance_ohm = 4.6;
    b.motor.winding_inductance_H = 6e-3;
    b.motor.steps_per_turn = 200;
    b.motor.back_emf_constant_Vs = 0.18;
    b.motor.rotor_inertia_kgm2 = 4e-6;
    b.motor.viscous_friction_Nms = 5e-4;
    b.motion.rate_steps_s = 300;
    b.motion.hold = "on";
    d.settings.sequence = sequence;
    d.settings.decay = decay;
    // Switches of 65 and 85 mohm behind gates that arrive within a microsecond.
    for (const Part& p : rows())
      for (const auto& [role, part] : std::map(d.parts))
        if (p.part_class == part.part_class && p.number.find("FET-40V-") != std::string::npos)
          d.parts[role] = p;
    for (auto& [role, ohm] : d.settings.value) {
      if (role == "sense") ohm = 0.22;
      if (role == "gate_pull_up" || role == "gate_divider") ohm = 680;
      if (role == "base_resistor") ohm = 2200;
    }
    return d;
  }
  ADD_FAILURE() << "no template measures";
  return {};
}

inline double value(const Design& d, const std::string& role) { return d.settings.value.at(role); }

/// The first part of the class in the design.
inline const Part& of_class(const Design& d, std::string_view name) {
  for (const auto& [role, part] : d.parts)
    if (part.part_class == name) return part;
  throw std::runtime_error("no such part");
}

struct Swing {
  double high_A = -1e300, low_A = 1e300, mean_A = 0;
  RunFigures figures;
};

/// Winding a over a hold of 4 ms; its last tenth.
inline Swing held(const Design& d, double dead_time_s) {
  RunRequest r;
  r.plan = plan_hold(d, holding_table(d, "++", dead_time_s), 4e-3);
  EXPECT_TRUE(r.plan.measured);
  EXPECT_FALSE(r.plan.stands_still());
  const MeanSpan span = means_of(r.plan);
  const auto spreads = spreads_of(d);
  Swing out;
  double before_s = -1, before_A = 0, charge = 0;
  out.figures = watched_run(d, spreads, typical(spreads), {}, r,
                            [&](const System& s, double t, const std::vector<double>& x) {
                              if (t < span.from_s) return;
                              const double i = x[static_cast<std::size_t>(s.winding_unknown(0))];
                              if (before_s >= 0) charge += 0.5 * (i + before_A) * (t - before_s);
                              before_s = t, before_A = i;
                              out.high_A = std::max(out.high_A, i);
                              out.low_A = std::min(out.low_A, i);
                            });
  EXPECT_EQ(out.figures.outcome, Outcome::reached_end) << out.figures.trouble;
  const Ledger& l = out.figures.ledger;
  EXPECT_LT(std::abs(l.residual_J()), 1e-3 * l.throughput_J + 1e-6);
  out.mean_A = charge / (span.to_s - span.from_s);
  return out;
}

}  // namespace pb::rigs
