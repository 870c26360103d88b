// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A winding behind a bridge with a chopper that measures, and the exponentials it moves on: driven,
// to V/R_1 with L/R_1; shorted, to zero with L/R_2, R_1 with the sense resistor and R_2 without.
#pragma once

#include <cmath>
#include <vector>

#include "physics/chopping.h"
#include "tests/rigs/circuit.h"

namespace pb::rigs {

/// A bridge on a stiff supply with a sense resistor under its low switches.
struct ChopperRig {
  double supply_V = 24, winding_ohm = 4.6, inductance_H = 6e-3, switch_ohm = 0.3, sense_ohm = 0.5,
         reference_V = 0.5, drop_V = 0.7;
  Chopper law{.blanking_s = 1e-6, .off_s = 20e-6};
  bool fast = false;
  TransientOptions options{.rtol = 3e-6, .atol_A = 3e-6, .atol_V = 3e-4};

  double driven_ohm() const { return winding_ohm + 2 * switch_ohm + sense_ohm; }
  double shorted_ohm() const { return winding_ohm + 2 * switch_ohm; }
  /// Current after t from i0, driven.
  double rises(double i0, double t) const {
    const double end = supply_V / driven_ohm();
    return end + (i0 - end) * std::exp(-t * driven_ohm() / inductance_H);
  }
  double falls(double i0, double t) const {
    return i0 * std::exp(-t * shorted_ohm() / inductance_H);
  }
  double rise_time(double i0, double i1) const {
    const double end = supply_V / driven_ohm();
    return inductance_H / driven_ohm() * std::log((end - i0) / (end - i1));
  }
};

struct Seen {
  std::vector<double> on_A, off_A, on_s, off_s;  // current and time when the winding is let go, and
                                                 // driven again
  double mean_A = 0, rms_A = 0, loss_J = 0, supply_J = 0, residual_J = 0, throughput_J = 0;
  long steps = 0;
};

inline Seen chopped(const ChopperRig& r, double from_s, double to_s) {
  Circuit c = grounded();
  const int supply = driven(c, r.supply_V), in1 = driven(c, 5), in2 = driven(c, 0),
            reference = driven(c, r.reference_V), out1 = c.add_node("out1"),
            out2 = c.add_node("out2"), low = c.add_node("low");
  c.bridges.push_back({"chip",
                       {supply, 0, in1, in2, out1, out2, low},
                       {.switch_S = 1 / r.switch_ohm, .quiescent_A = 0},
                       {"in1", "in2"}});
  for (const int out : {out1, out2}) {
    const Junction body = junction_from_points(r.drop_V - 0.1, 0.1, r.drop_V, 1.0, 1.0, 298.15);
    c.diodes.push_back({"body", out, supply, body, 0, {}});
    c.diodes.push_back({"body", low, out, body, 0, {}});
    c.capacitors.push_back({"stray", out, 0, 1e-12});
  }
  c.capacitors.push_back({"stray", low, 0, 1e-12});
  c.resistors.push_back({"sense", low, 0, 1 / r.sense_ohm});
  c.inductors.push_back({"winding", out1, out2, r.inductance_H, r.winding_ohm});
  ChopperElement e;
  e.sense = low, e.reference = reference, e.law = r.law, e.bridge = 0, e.bridge_edge_s = 10e-9;
  c.choppers.push_back(e);
  System s(c);
  Transient t(s, r.options);
  Chopping chopping(s, 0.0);
  t.responder = &chopping;
  Seen out;
  const auto current = [&](const std::vector<double>& x) {
    return x[static_cast<std::size_t>(s.inductor_unknown(0))];
  };
  chopping.on_stretch = [&](const Chopping::Stretch& was, const std::vector<double>& x) {
    if (was.to_s < from_s) return;
    const bool driven = was.mode == ChopperLatch::Mode::driven;
    (driven ? out.on_A : out.off_A).push_back(current(x));
    (driven ? out.on_s : out.off_s).push_back(was.to_s - was.from_s);
  };
  t.start(0.0, std::vector<double>(static_cast<std::size_t>(s.size()), 0.0));
  EXPECT_EQ(t.run_to(from_s), Outcome::reached_end);
  t.reset_sums();
  EXPECT_EQ(t.run_to(to_s), Outcome::reached_end);
  const Ledger l = t.ledger();
  out.residual_J = l.residual_J(), out.throughput_J = l.throughput_J, out.loss_J = l.loss_J;
  for (std::size_t k = 0; k < s.names.size(); ++k)
    if (s.names[k].ref == "winding") {
      out.mean_A = t.sums()[k].charge_C / (to_s - from_s);
      out.rms_A = std::sqrt(t.sums()[k].i2_A2s / (to_s - from_s));
    }
  out.steps = t.accepted;
  return out;
}

}  // namespace pb::rigs
