// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Laws of the devices against worked examples, defining equations solved by bisection, and
// differences for their slopes.
#include <gtest/gtest.h>

#include <cmath>

#include "base/math.h"
#include "physics/devices/bipolar.h"
#include "physics/devices/junction.h"
#include "physics/devices/mosfet.h"

namespace pb::physics {
namespace {

// The law of C. Enz, F. Krummenacher, E. Vittoz, Analog Integr. Circuits Signal Process. 8, 1995,
// 83-114, evaluated by hand calculator: n 1.3, beta 0.1 A/V^2, V_T0 2 V, 300 K.
TEST(Mosfet, TableOfTheEkvLaw) {
  const Channel c{1, 2.0, 0.1, 1.3, thermal_voltage_V(300)};
  const struct {
    double vg, vd, i;
  } rows[] = {{5, 5, 3.46153846e-1},   {3, 5, 3.84615402e-2},    {5, 0.1, 2.93500000e-2},
              {3, 0.1, 9.34999103e-3}, {3, 0.01, 9.93499647e-4}, {2.1, 5, 4.97121649e-4},
              {2.0, 5, 8.34857893e-5}, {1.8, 5, 4.30287748e-7}};
  for (const auto& r : rows)
    EXPECT_NEAR(channel_current(c, r.vg, r.vd).i_A, r.i, 2e-5 * r.i) << r.vg << ' ' << r.vd;
  // 77.384 mV a decade in weak inversion: n U_T ln 10.
  const double decade =
      channel_current(c, 1.45, 5).i_A / channel_current(c, 1.45 - 0.077384, 5).i_A;
  EXPECT_NEAR(decade, 10.0, 0.005);
  // Strong saturation: beta (V_G - V_T0)^2 / (2 n).
  EXPECT_NEAR(channel_current(c, 5, 5).i_A, 0.1 * 9 / 2.6, 1e-8);
}

TEST(Mosfet, OffBelowAPicoampere) {
  const Channel c{1, 2.0, 8.0, 1.3, thermal_voltage_V(300)};
  EXPECT_LT(channel_current(c, 0.0, 12.0).i_A, 1e-12);
  EXPECT_EQ(channel_current(c, -10.0, 12.0).i_A, 0.0);
}

TEST(Mosfet, PIsTheMirrorOfN) {
  const Channel n{1, 1.5, 2.0, 1.3, 0.0259}, p{-1, 1.5, 2.0, 1.3, 0.0259};
  for (double vg : {0.5, 1.4, 3.0, 8.0})
    for (double vd : {-0.5, 0.01, 0.3, 9.0}) {
      const ChannelCurrent a = channel_current(n, vg, vd), b = channel_current(p, -vg, -vd);
      EXPECT_DOUBLE_EQ(a.i_A, -b.i_A);
      EXPECT_DOUBLE_EQ(a.g_gs_S, b.g_gs_S);
      EXPECT_DOUBLE_EQ(a.g_ds_S, b.g_ds_S);
    }
}

TEST(Mosfet, SlopesAreThoseOfTheCurrent) {
  for (double sign : {1.0, -1.0}) {
    const Channel c{sign, 1.8, 8.0, 1.3, 0.025852};
    for (double vg : {1.6, 1.9, 3.0, 10.0})
      for (double vd : {-0.4, 0.0, 0.02, 0.5, 12.0}) {
        const double g = sign * vg, d = sign * vd, e = 1e-6;
        const ChannelCurrent at = channel_current(c, g, d);
        const double by_g =
            (channel_current(c, g + e, d).i_A - channel_current(c, g - e, d).i_A) / (2 * e);
        const double by_d =
            (channel_current(c, g, d + e).i_A - channel_current(c, g, d - e).i_A) / (2 * e);
        EXPECT_NEAR(at.g_gs_S, by_g, 1e-6 * std::abs(by_g) + 1e-7) << vg << ' ' << vd;
        EXPECT_NEAR(at.g_ds_S, by_d, 1e-6 * std::abs(by_d) + 1e-7) << vg << ' ' << vd;
      }
  }
}

// A published worked example of the transport form: V_T 25.8649606 mV, I_S 10 fA, gains 200 and 20.
TEST(Bipolar, WorkedExampleOfTheTransportForm) {
  const Bipolar q{1, 10e-15, 200, 20, 25.8649606e-3};
  const BipolarCurrent a = bipolar_current(q, 0.65, 0.65 - 0.1);
  EXPECT_NEAR(a.ic_A, 802.4051e-6, 1e-10);
  EXPECT_NEAR(a.ib_A, 4.961090e-6, 1e-12);
  const BipolarCurrent b = bipolar_current(q, 0.7869631, 0.7869631 - 0.1);
  EXPECT_NEAR(b.ic_A, 160e-3, 2e-6);
  EXPECT_NEAR(b.ib_A, 0.9892429e-3, 1e-8);
}

// V_CE(sat) = V_T ln{[1 + (f+1)/b_R] / [1 - f/b_F]} of the ideal transistor at forced gain f: the
// same law solved for v_CE; values at 300 K.
TEST(Bipolar, SaturationVoltageOfTheIdealTransistor) {
  const struct {
    double forward, reverse, forced, v;
  } rows[] = {{200, 20, 10, 12.6558e-3},
              {200, 5, 10, 31.3958e-3},
              {200, 2, 10, 49.7159e-3},
              {100, 1, 10, 66.9636e-3},
              {100, 1, 20, 85.6783e-3}};
  for (const auto& r : rows) {
    const Bipolar q{1, 1e-14, r.forward, r.reverse, thermal_voltage_V(300)};
    double low = 0, high = 0.5;
    for (int k = 0; k < 100; ++k) {
      const double v = 0.5 * (low + high);
      const BipolarCurrent i = bipolar_current(q, 0.75, 0.75 - v);
      (i.ic_A < r.forced * i.ib_A ? low : high) = v;
    }
    EXPECT_NEAR(low, r.v, 2e-7);
  }
}

TEST(Bipolar, PnpIsTheMirrorAndSlopesHold) {
  const Bipolar n{1, 1e-14, 150, 4, 0.0259}, p{-1, 1e-14, 150, 4, 0.0259};
  for (double be : {0.4, 0.6, 0.7})
    for (double bc : {-5.0, 0.3, 0.65}) {
      const BipolarCurrent a = bipolar_current(n, be, bc), b = bipolar_current(p, -be, -bc);
      EXPECT_DOUBLE_EQ(a.ic_A, -b.ic_A);
      EXPECT_DOUBLE_EQ(a.ib_A, -b.ib_A);
      const double e = 1e-7;
      const auto slope = [&](auto get, double d_be, double d_bc) {
        return (get(bipolar_current(n, be + d_be, bc + d_bc)) -
                get(bipolar_current(n, be - d_be, bc - d_bc))) /
               (2 * e);
      };
      const auto ic = [](const BipolarCurrent& i) { return i.ic_A; };
      const auto ib = [](const BipolarCurrent& i) { return i.ib_A; };
      const auto near = [](double x, double y) { EXPECT_NEAR(x, y, 1e-5 * std::abs(y) + 1e-9); };
      near(a.gc_be_S, slope(ic, e, 0));
      near(a.gc_bc_S, slope(ic, 0, e));
      near(a.gb_be_S, slope(ib, e, 0));
      near(a.gb_bc_S, slope(ib, 0, e));
    }
}

// Capacity is the slope of the charge, the energy the integral of v dq; beyond 80 V_T as well,
// where the exponential goes on straight.
TEST(Bipolar, ChargeUnderWay) {
  constexpr double kForward_s = 1.6e-9, kReverse_s = 1e-7, kVt_V = 0.0259;
  for (const double sign : {1.0, -1.0}) {
    const Bipolar q{sign, 1e-14, 150, 4, kVt_V, kForward_s, kReverse_s};
    const BipolarCurrent at = bipolar_current(q, sign * 0.65, sign * 0.6);
    EXPECT_NEAR(at.be.value, sign * kForward_s * 1e-14 * std::expm1(0.65 / kVt_V), 1e-18);
    EXPECT_NEAR(at.bc.value, sign * kReverse_s * 1e-14 * std::expm1(0.6 / kVt_V), 1e-16);
    EXPECT_DOUBLE_EQ(transit_charge_C(q, kForward_s, sign * 0.65), at.be.value);
    EXPECT_DOUBLE_EQ(transit_charge_C(q, kReverse_s, sign * 0.6), at.bc.value);
    EXPECT_EQ(transit_energy_J(q, kForward_s, 0.0), 0.0);
    constexpr double kStep_V = 1e-5;
    for (const double from_V : {-3.0, -0.1, 0.5, 0.75, 80.0 * kVt_V - 0.02, 80.0 * kVt_V + 0.2}) {
      double energy_J = 0;
      for (int k = 0; k < 4000; ++k) {
        const double v = from_V + k * kStep_V;
        const BipolarCurrent a = bipolar_current(q, sign * v, 0.0),
                             b = bipolar_current(q, sign * (v + kStep_V), 0.0);
        const double more_C = b.be.value - a.be.value;
        energy_J += sign * (v + 0.5 * kStep_V) * more_C;
        ASSERT_NEAR(a.be.slope, sign * more_C / kStep_V, 1e-3 * a.be.slope + 1e-22) << v;
      }
      const double to_V = from_V + 4000 * kStep_V;
      EXPECT_NEAR(transit_energy_J(q, kForward_s, sign * to_V) -
                      transit_energy_J(q, kForward_s, sign * from_V),
                  energy_J, 1e-5 * std::abs(energy_J) + 1e-30)
          << from_V;
    }
  }
}

// The defining equation w + ln w = z.
TEST(Junction, WrightOmega) {
  for (double z = -600; z < 600; z += 0.37) {
    const double w = wright_omega(z);
    ASSERT_GT(w, 0.0);
    EXPECT_NEAR(w + std::log(w), z, 4e-15 * std::max(1.0, std::abs(z)) + 4e-15) << z;
  }
  EXPECT_NEAR(wright_omega(1.0), 1.0, 1e-15);
  EXPECT_NEAR(wright_omega(0.0), 0.567143290409783873, 1e-15);  // the omega constant
}

TEST(Junction, TableOfOmegaIsCloseAndSmooth) {
  for (double z = -39.99; z < 40; z += 0.0173) {
    const double w = wright_omega(z);
    EXPECT_NEAR(kOmega(z).value, w, std::min(7e-7 * w, 5e-8)) << z;
    EXPECT_NEAR(kOmega(z).slope, w / (1 + w), std::min(3e-5 * w, 3e-6)) << z;
    const double e = 1e-6;
    const double slope = (kOmega(z + e).value - kOmega(z - e).value) / (2 * e);
    EXPECT_NEAR(kOmega(z).slope, slope, 1e-6 * slope + 1e-9) << z;
  }
  EXPECT_EQ(kOmega(-41.0).value, 0.0);
  EXPECT_EQ(kOmega(std::nan("")).value, 0.0);  // a diverging Newton must not read beside it
}

// v = n V_t ln(1 + i/I_s) + R i solved for i by bisection.
TEST(Junction, ClosedFormAgainstBisection) {
  for (const Junction& raw : {Junction{1e-12, 0.0285, 0.02, 0}, Junction{1e-6, 0.0271, 0.05, 0},
                              Junction{2.52e-9, 1.752 * thermal_voltage_V(300), 0.568, 0}}) {
    const Junction j = prepared(raw);
    for (double v : {-5.0, -0.1, 0.0, 0.2, 0.5, 0.8, 1.5, 3.0}) {
      double low = -j.saturation_A, high = std::max(v, 0.0) / j.series_ohm + 1e-30;
      for (int k = 0; k < 200; ++k) {
        const double i = 0.5 * (low + high);
        (j.nVt_V * std::log1p(i / j.saturation_A) + j.series_ohm * i < v ? low : high) = i;
      }
      EXPECT_NEAR(junction_current(j, v).value, low, 1e-6 * (std::abs(low) + j.saturation_A)) << v;
    }
  }
}

// A common signal-diode parameter set (from memory): 0.58445 V at 1 mA, 0.69385 V at 10 mA.
TEST(Junction, SignalDiode) {
  const Junction j = prepared({2.52e-9, 1.752 * thermal_voltage_V(300), 0.568, 0});
  EXPECT_NEAR(junction_current(j, 0.58445).value, 1e-3, 1e-6);
  EXPECT_NEAR(junction_current(j, 0.69385).value, 10e-3, 1e-5);
  EXPECT_NEAR(junction_current(j, 0.84926).value, 100e-3, 1e-4);
}

TEST(Junction, ThroughTwoPoints) {
  const Junction j = junction_from_points(0.3, 1e-3, 0.55, 1.0, 1.05, 298.15);
  EXPECT_NEAR(junction_current(j, 0.3).value, 1e-3, 1e-8);
  EXPECT_NEAR(junction_current(j, 0.55).value, 1.0, 1e-5);
}

}  // namespace
}  // namespace pb::physics
