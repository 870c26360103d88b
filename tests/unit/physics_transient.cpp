// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The integrator against closed forms of circuit theory (any textbook): the numbers below were
// worked out by hand from the formulas beside them.
#include "physics/transient.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/rigs/circuit.h"

namespace pb::rigs {
namespace {

// i = ((V - Vd)/R)(1 - e^(-t/tau)); V 24, Vd 0.3, R 2, L 4 mH: 0.577931 A after 100 us, 1.5 A after
// 270.683 us.
TEST(Transient, CurrentRisesInAWinding) {
  for (bool strict : {false, true}) {
    Circuit c = grounded();
    c.inductors.push_back({"l", driven(c, 23.7), 0, 4e-3, 2.0});
    System s(c);
    Transient t(s, strict ? tight() : TransientOptions{});
    t.start(0.0);
    ASSERT_EQ(t.run_to(100e-6), Outcome::reached_end);
    EXPECT_NEAR(t.state()[0], 0.577931, strict ? 1e-6 : 3e-4);
    ASSERT_EQ(t.run_to(270.683e-6), Outcome::reached_end);
    EXPECT_NEAR(t.state()[0], 1.5, strict ? 5e-6 : 7.5e-4);
    EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-3 * t.ledger().throughput_J);
  }
}

// A series L-R-C on a step V: the capacitor swings to V (1 + e^(-pi z / sqrt(1 - z^2))), z =
// R/2 sqrt(C/L): 17.2924 V for 10 V, 0.2 ohm, 1 uH, 1 uF. Steps are up to a tenth of a period long.
TEST(Transient, StepsEndAtCrests) {
  double passed_by = 0;
  for (const double C : {0.4e-6, 0.7e-6, 1e-6, 1.5e-6, 2.5e-6})
    for (const bool wanted : {true, false}) {
      Circuit c = grounded();
      const int node = c.add_node("c");
      c.inductors.push_back({"l", driven(c, 10.0), node, 1e-6, 0.2});
      c.capacitors.push_back({"c", node, 0, C});
      System s(c);
      TransientOptions o;
      o.peaks = wanted;
      Transient t(s, o);
      t.start(0.0);
      double most_V = 0;
      t.on_step = [&](double, const std::vector<double>& x) {
        most_V = std::max(most_V, s.node_voltage(x, node));
      };
      ASSERT_EQ(t.run_to(20e-6), Outcome::reached_end);
      const double z = 0.1 * std::sqrt(C / 1e-6),
                   crest_V = 10.0 * (1.0 + std::exp(-kPi * z / std::sqrt(1.0 - z * z)));
      if (wanted)
        EXPECT_NEAR(most_V, crest_V, 0.006 * crest_V) << C;
      else
        passed_by = std::max(passed_by, 1.0 - most_V / crest_V);
    }
  EXPECT_GT(passed_by, 0.008) << "steps that fall anyhow: the test would not notice";
}

// i0 e^(-t R'/L), both ends on the same rail, R' 2.2: 1.5 A -> 0.865425 A after 1 ms, a tenth after
// 4.18652 ms.
TEST(Transient, SlowDecayThroughSwitches) {
  Circuit c = grounded();
  c.inductors.push_back({"l", 0, 0, 4e-3, 2.2});
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {1.5});
  t.run_to(1e-3);
  EXPECT_NEAR(t.state()[0], 0.865425, 2e-6);
  t.run_to(4.18652e-3);
  EXPECT_NEAR(t.state()[0], 0.15, 2e-6);
}

// What diodes leak flows backwards through R: I_s R of each, against the supply and into it, with
// one that conducts beside them or not. I_s 10 uA, R 10 k: 0.1 V of 10 V.
TEST(Transient, DiodesLeakBackwards) {
  for (bool conducts : {false, true}) {
    Circuit c = grounded();
    const int rail = driven(c, 10.0), low = c.add_node("low"), high = c.add_node("high");
    const Junction leaky = prepared({1e-5, 0.028, 0.05, 0});
    c.diodes.push_back({"up", low, rail, leaky, 0, {}});
    c.diodes.push_back({"down", 0, high, leaky, 0, {}});
    if (conducts) c.diodes.push_back({"on", rail, 0, prepared({1e-15, 0.028, 1e4, 0}), 0, {}});
    c.resistors.push_back({"r_low", low, 0, 1e-4});
    c.resistors.push_back({"r_high", rail, high, 1e-4});
    for (const int node : {low, high}) c.capacitors.push_back({"c", node, 0, 1e-11});
    System s(c);
    Transient t(s, tight());
    t.start(0.0);
    ASSERT_EQ(t.run_to(1e-5), Outcome::reached_end);
    EXPECT_NEAR(s.node_voltage(t.state(), low), 0.1, 1e-4);
    EXPECT_NEAR(s.node_voltage(t.state(), high), 9.9, 1e-4);
  }
}

// i = (i0 + Vf/R) e^(-t/tau) - Vf/R; R 2.1, Vf 0.8: 0.731735 A after 1 ms, 0 after 3.041636 ms.
TEST(Transient, SlowDecayThroughADiode) {
  Circuit c = grounded();
  const int n = c.add_node("n");
  c.inductors.push_back({"l", 0, n, 4e-3, 2.1});
  c.diodes.push_back(constant_drop(n, 0, 0.8));
  c.resistors.push_back({"leak", n, 0, 1e-9});
  System s(c);
  Transient t(s, tight());
  t.start(0.0, {drop_at_start_V(0.8), 1.5});
  t.run_to(1e-3);
  EXPECT_NEAR(t.state()[1], 0.731735, 5e-4);  // the drop is 0.8 V and up to 0.1 mV
  t.run_to(3.041636e-3 * 0.99);
  EXPECT_GT(t.state()[1], 0.0);
  t.run_to(3.041636e-3 * 1.01);
  EXPECT_NEAR(t.state()[1], 0.0, 1e-5);
}

// Fast decay into the supply through two diodes: V 24, Vf 0.8, R 2, L 4 mH, 1.5 A: over after
// 221.629 us; 3.915653 mJ go back, 0.261044 into the diodes, 0.323303 into the winding.
TEST(Transient, EnergyReturnsToTheSupply) {
  Circuit c = grounded();
  const int rail = driven(c, 24.0), low = c.add_node("low"), high = c.add_node("high");
  c.inductors.push_back({"l", low, high, 4e-3, 2.0});
  c.diodes.push_back(constant_drop(0, low, 0.8));
  c.diodes.push_back(constant_drop(high, rail, 0.8));
  c.resistors.push_back({"leak_low", low, 0, 1e-9});
  c.resistors.push_back({"leak_high", high, 0, 1e-9});
  System s(c);
  Transient t(s, tight());
  const double drop = drop_at_start_V(0.8);
  t.start(0.0, {-drop, 24.0 + drop, 1.5});
  t.run_to(221.629e-6 * 0.995);
  EXPECT_GT(t.state()[2], 1e-3);
  ASSERT_EQ(t.run_to(230e-6), Outcome::reached_end);  // both nodes are left to float
  EXPECT_NEAR(t.state()[2], 0.0, 1e-5);
  EXPECT_NEAR(t.ledger().source_J, -3.915653e-3, 1e-3 * 3.915653e-3);
  double diodes = 0;
  for (std::size_t e = 0; e < s.names.size(); ++e)
    if (s.names[e].ref == "d") diodes += t.sums()[e].loss_J;
  EXPECT_NEAR(diodes, 0.261044e-3, 1e-3 * 0.261044e-3);
  EXPECT_NEAR(t.sums()[4].loss_J, 0.323303e-3, 1e-3 * 0.323303e-3);
  EXPECT_EQ(s.names[4].ref, "l");
  // 1/2 L i0^2 = 4.5 mJ, all of it accounted for.
  EXPECT_NEAR(-t.ledger().source_J + t.ledger().loss_J, 4.5e-3, 1e-4 * 4.5e-3);
}

// The same decay into a bulk capacitor behind a supply that blocks. Closed form, with u = v + 2 Vf:
// a series RLC circuit from (i0, V0 + 2 Vf) up to its first zero of current, i = e^(-at)(i0 cos wt
// + B sin wt), v there = -L di/dt - 2 Vf. With a large bulk this tends to sqrt(V0^2 + 2 E/C) of the
// energy E = 3.915653 mJ returned at constant voltage: 24.34466 V at 470 uF.
TEST(Transient, ReturnedEnergyLiftsTheRail) {
  const double V0 = 24, Vf = 0.8, L = 4e-3, R = 2, i0 = 1.5;
  for (double C : {100e-6, 470e-6}) {
    const double a = R / (2 * L), w = std::sqrt(1 / (L * C) - a * a);
    const double B = (-(V0 + 2 * Vf + R * i0) / L + a * i0) / w;
    const double zero = std::atan2(i0, -B) / w;
    const double slope =
        std::exp(-a * zero) * w * (B * std::cos(w * zero) - i0 * std::sin(w * zero));
    const double expected = -L * slope - 2 * Vf;

    Circuit c = grounded();
    const int rail = c.add_node("rail"), low = c.add_node("low"), high = c.add_node("high");
    c.inductors.push_back({"l", low, high, L, R});
    c.diodes.push_back(constant_drop(0, low, Vf));
    c.diodes.push_back(constant_drop(high, rail, Vf));
    c.resistors.push_back({"leak_low", low, 0, 1e-9});
    c.resistors.push_back({"leak_high", high, 0, 1e-9});
    c.capacitors.push_back({"bulk", rail, 0, C});
    System s(c);
    Transient t(s, tight());
    const double drop = drop_at_start_V(Vf);
    t.start(0.0, {V0, -drop, V0 + drop, i0});
    ASSERT_EQ(t.run_to(1.1 * zero), Outcome::reached_end);
    const double reached = s.node_voltage(t.state(), rail);
    EXPECT_NEAR(reached - V0, expected - V0, 1e-3 * (expected - V0)) << C;
    if (C > 400e-6) {
      EXPECT_NEAR(reached - V0, 0.34466, 0.02 * 0.34466);
    }
    EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-4 * 4.5e-3);
  }
}

// A gate behind its resistor, driven by an edge of length T: (V/T)(t - tau(1 - e^(-t/tau))) while
// it lasts, then V - (V - v(T)) e^(-(t-T)/tau).
TEST(Transient, EdgeAtAGate) {
  const double V = 10, T = 50e-9, R = 360, C = 700e-12, tau = R * C;
  const auto exact = [&](double t) {
    const auto ramp = [&](double u) { return V / T * (u - tau * (1 - std::exp(-u / tau))); };
    return t <= T ? ramp(t) : V - (V - ramp(T)) * std::exp(-(t - T) / tau);
  };
  for (bool strict : {false, true}) {
    Circuit c = grounded();
    const int pin = driven(c, 0.0), gate = c.add_node("gate");
    c.nodes[pin].voltage_V = {{0.0, 1e-6, 1e-6 + T}, {0.0, 0.0, V}};
    c.resistors.push_back({"r", pin, gate, 1.0 / R});
    c.capacitors.push_back({"c", gate, 0, C});
    System s(c);
    Transient t(s, strict ? tight() : TransientOptions{});
    t.start(0.0);
    double worst = 0;
    t.on_step = [&](double at, const std::vector<double>& x) {
      if (at >= 1e-6) worst = std::max(worst, std::abs(x[0] - exact(at - 1e-6)));
    };
    ASSERT_EQ(t.run_to(4e-6), Outcome::reached_end);
    EXPECT_LT(worst, strict ? 1e-4 : 0.1);
    EXPECT_NEAR(t.state()[0], exact(3e-6), 1e-2);
  }
}

// The same edge from a controller pin whose level and conductance are functions of time.
TEST(Transient, PinLetsGo) {
  Circuit c = grounded();
  const int n = c.add_node("n");
  c.pins.push_back({"p", n, {{0.0}, {5.0}}, {{0.0, 1e-3, 1.001e-3}, {1e-2, 1e-2, 1e-12}}});
  c.resistors.push_back({"pull", n, 0, 1e-4});
  c.capacitors.push_back({"c", n, 0, 1e-7});
  System s(c);
  Transient t(s, tight());
  t.start(0.0);
  t.run_to(1e-3);
  EXPECT_NEAR(t.state()[0], 5.0 * 1e-2 / (1e-2 + 1e-4), 1e-4);  // divider
  const double held = t.state()[0];
  t.run_to(2e-3);
  EXPECT_NEAR(t.state()[0], held * std::exp(-1.0), 5e-3);  // RC of 1 ms
}

// Series RLC onto 24 V: L 1 uH, C 100 uF, R 0.05: 170.7675 A after 13.6134 us, 34.66426 V after
// 32.446 us.
TEST(Transient, HotPlug) {
  Circuit c = grounded();
  const int source = driven(c, 24.0), n = c.add_node("n");
  c.inductors.push_back({"lead", source, n, 1e-6, 0.05});
  c.capacitors.push_back({"bulk", n, 0, 100e-6});
  System s(c);
  TransientOptions o = tight();
  Transient t(s, o);
  t.start(0.0);
  t.landings_s = {13.6134e-6, 32.446e-6};
  double i = 0, v = 0;
  t.on_step = [&](double, const std::vector<double>& x) {
    i = std::max(i, x[1]), v = std::max(v, x[0]);
  };
  t.run_to(100e-6);
  EXPECT_NEAR(i, 170.7675, 2e-3);
  EXPECT_NEAR(v, 34.66426, 3e-4);
  EXPECT_NEAR(t.ledger().residual_J(), 0.0, 1e-5 * t.ledger().throughput_J);
}

// Order three: halving the step divides the error by 8 (Kennedy, Carpenter 2003).
TEST(Transient, ErrorFallsWithTheThirdPowerOfTheStep) {
  const double exact = smooth_state(0.05e-6);
  double before = std::abs(smooth_state(4e-6) - exact);
  for (double h : {2e-6, 1e-6, 0.5e-6}) {
    const double error = std::abs(smooth_state(h) - exact);
    EXPECT_NEAR(before / error, 8.0, 0.8) << h;
    before = error;
  }
}

TEST(Transient, LedgerNoticesAFalsifiedCurrent) {
  for (double scale : {1.0, 1.01}) {
    Circuit c = grounded();
    const int source = driven(c, 10.0), n = c.add_node("n");
    c.resistors.push_back({"r", source, n, 0.1});
    c.inductors.push_back({"l", n, 0, 1e-3, 1.0});
    c.scaled_resistor = 0, c.scale = scale;
    System s(c);
    Transient t(s, {});
    t.start(0.0);
    t.run_to(2e-3);
    const double allowed = 1e-3 * t.ledger().throughput_J + 1e-6;
    if (scale == 1.0)
      EXPECT_LT(std::abs(t.ledger().residual_J()), allowed);
    else
      EXPECT_GT(std::abs(t.ledger().residual_J()), allowed);
  }
}

TEST(Transient, LandsOnCornersAndLandings) {
  Circuit c = grounded();
  const int source = driven(c, 1.0);
  c.nodes[source].voltage_V = {{0.0, 3e-5, 3.1e-5}, {1.0, 1.0, 2.0}};
  c.inductors.push_back({"l", source, 0, 1e-3, 1.0});
  System s(c);
  Transient t(s, {});
  t.start(0.0);
  t.landings_s = {1.7e-5, 5e-5};
  std::vector<double> times;
  t.on_step = [&](double at, const std::vector<double>&) { times.push_back(at); };
  t.run_to(1e-4);
  for (double wanted : {1.7e-5, 3e-5, 3.1e-5, 5e-5, 1e-4})
    EXPECT_NE(std::find(times.begin(), times.end(), wanted), times.end()) << wanted;
}

TEST(Transient, SumsAreIntegrals) {
  Circuit c = grounded();
  const int source = driven(c, 3.0);
  c.inductors.push_back({"l", source, 0, 4e-3, 2.0});  // tau 2 ms, 1.5 A
  System s(c);
  Transient t(s, tight());
  t.start(0.0);
  t.run_to(4e-3);
  const ElementSums& e = t.sums()[0];
  const double x = std::exp(-2.0);
  EXPECT_NEAR(e.charge_C, 1.5 * (4e-3 - 2e-3 * (1 - x)), 1e-8);
  EXPECT_NEAR(e.i2_A2s, 2.25 * (4e-3 - 4e-3 * (1 - x) + 1e-3 * (1 - x * x)), 1e-8);
  EXPECT_NEAR(e.loss_J, 2.0 * e.i2_A2s, 1e-9);
}

TEST(Transient, StopsWhenAsked) {
  Circuit c = grounded();
  c.inductors.push_back({"l", driven(c, 1.0), 0, 1e-3, 1.0});
  System s(c);
  Transient t(s, {});
  t.start(0.0);
  StopSource stop;
  t.on_step = [&](double at, const std::vector<double>&) {
    if (at > 1e-4) stop.request_stop();
  };
  EXPECT_EQ(t.run_to(1.0, stop.token()), Outcome::cancelled);
  EXPECT_LT(t.time_s(), 1e-2);
}

// Two switches of a leg with their gates on one pin: half way through its edge both conduct, and
// most flows where they are equal: V_G - V_Tn = V - V_G - |V_Tp|, I = beta (V_G - V_Tn)^2/(2 n) of
// saturation in strong inversion (Enz, Krummenacher, Vittoz 1995). V 5, V_T 1 and 0.7: V_G 2.65.
TEST(Transient, WhatALegLetsThroughDuringAnEdgeIsSeen) {
  Circuit c = grounded();
  const double edge_s = 50e-9;
  const int supply = driven(c, 5.0),
            gate = driven(c, Profile{{0.0, 1e-6, 1e-6 + edge_s, 2e-6}, {0.0, 0.0, 5.0, 5.0}});
  c.nodes.push_back({"out", false, {}});
  const int out = static_cast<int>(c.nodes.size()) - 1;
  Channel n{.threshold_V = 1.0}, p{.sign = -1, .threshold_V = 0.7};
  c.mosfets.push_back({"n", out, gate, 0, n});
  c.mosfets.push_back({"p", out, gate, supply, p});
  c.capacitors.push_back({"stray", out, 0, 1e-12});
  System s(c);
  Transient t(s, {});
  double most_A = 0;
  int within = 0;
  t.on_step = [&](double now_s, const std::vector<double>& x) {
    within += now_s > 1e-6 && now_s <= 1e-6 + edge_s;
    const double v_gate = 5.0 * std::clamp((now_s - 1e-6) / edge_s, 0.0, 1.0);
    const auto low = law_of(n)(v_gate, x[0]), high = law_of(p)(v_gate - 5.0, x[0] - 5.0);
    most_A = std::max(most_A, std::min(low.i_A, -high.i_A));
  };
  t.start(0.0);
  ASSERT_EQ(t.run_to(2e-6), Outcome::reached_end);
  const double expected_A = 1.65 * 1.65 / (2 * 1.3);
  EXPECT_GE(within, 10);  // peaks are read where steps end
  EXPECT_NEAR(most_A, expected_A, 0.1 * expected_A);
}

}  // namespace
}  // namespace pb::rigs
