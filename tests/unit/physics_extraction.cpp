// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Each model turned back into the data-sheet figures it was made from.
#include "physics/extraction.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <map>

#include "base/math.h"
#include "tests/rigs/transit.h"

namespace pb::physics {
namespace {

Part part(const std::string& part_class, const std::map<std::string, double>& figures) {
  const PartClass* c = find_part_class(part_class);
  Part p;
  p.part_class = part_class;
  p.figures.assign(c->figures.size(), std::numeric_limits<double>::quiet_NaN());
  for (const auto& [name, value] : figures) {
    const int k = figure_index(*c, name);
    EXPECT_GE(k, 0) << name;
    p.figures[static_cast<std::size_t>(k)] = value;
  }
  return p;
}

Part mosfet(bool two_resistances) {
  std::map<std::string, double> f = {
      {"threshold_min", 0.8}, {"threshold_max", 2.0}, {"rds_gate", 4.5},
      {"rds_max", 0.040},     {"ciss", 600e-12},      {"coss", 150e-12},
      {"crss", 80e-12},       {"body_drop", 0.85},    {"body_current", 1.0}};
  if (two_resistances) f["rds_high_gate"] = 10.0, f["rds_high_max"] = 0.030;
  return part("n-mosfet", f);
}

TEST(Extraction, ThresholdAtTheTestCurrent) {
  for (double sign : {1.0, -1.0})
    for (double threshold : {0.8, 1.4, 2.0})
      for (bool two : {false, true}) {
        const MosfetModel m = mosfet_model(mosfet(two), sign, threshold, 0.035, kDataSheet_K);
        // V_GS = V_DS = threshold, as data sheets measure it.
        const double i = channel_current(m.channel, sign * threshold, sign * threshold).i_A;
        EXPECT_NEAR(sign * i, 250e-6, 1e-7) << threshold;
      }
}

double on_ohm(const MosfetModel& m, double gate_V) {
  const double v = 1e-4;
  return m.series_ohm +
         v / std::abs(channel_current(m.channel, m.channel.sign * gate_V, m.channel.sign * v).i_A);
}

TEST(Extraction, OnResistanceAtBothGateVoltages) {
  for (double sign : {1.0, -1.0}) {
    const MosfetModel one = mosfet_model(mosfet(false), sign, 1.4, 0.030, kDataSheet_K);
    EXPECT_NEAR(on_ohm(one, 4.5), 0.030, 1e-4 * 0.030);
    EXPECT_EQ(one.series_ohm, 0.0);
    const MosfetModel two = mosfet_model(mosfet(true), sign, 1.4, 0.040, kDataSheet_K);
    EXPECT_NEAR(on_ohm(two, 4.5), 0.040, 1e-4 * 0.040);
    EXPECT_NEAR(on_ohm(two, 10.0), 0.030, 1e-4 * 0.030);
    EXPECT_GT(two.series_ohm, 0.0);
  }
}

// 1.3 to 1.7 times at 100 degC (published curves of low-voltage types; 1.45 is one of them).
TEST(Extraction, OnResistanceRisesWithHeat) {
  const MosfetModel cold = mosfet_model(mosfet(true), 1, 1.4, 0.040, kDataSheet_K),
                    hot = mosfet_model(mosfet(true), 1, 1.4, 0.040, 373.15);
  EXPECT_GT(on_ohm(hot, 10) / on_ohm(cold, 10), 1.3);
  EXPECT_LT(on_ohm(hot, 10) / on_ohm(cold, 10), 1.7);
}

TEST(Extraction, CapacitancesAndBodyDiode) {
  const MosfetModel m = mosfet_model(mosfet(false), 1, 1.4, 0.040, kDataSheet_K);
  const double at_V = capacitance_test_V(mosfet(false)), cgd_F = m.gate_drain(at_V).slope;
  EXPECT_NEAR(m.cgs_F + cgd_F, 600e-12, 1e-18);
  EXPECT_NEAR(m.drain_source(at_V).slope + cgd_F, 150e-12, 1e-18);
  EXPECT_NEAR(cgd_F, 80e-12, 1e-18);
  EXPECT_NEAR(junction_current(m.body, 0.85).value, 1.0, 1e-4);
}

// Common practice, no source: an electrolytic's series resistance rises several times in the cold.
TEST(Extraction, AnElectrolyticIsWorseInTheCold) {
  const Part wet = part("electrolytic", {{"capacitance", 1e-4}, {"tolerance", 0.2}, {"esr", 0.5}}),
             dry = part("ceramic", {{"capacitance", 1e-4}, {"tolerance", 0.2}, {"esr", 0.01}});
  EXPECT_EQ(esr_ohm(wet, 1e-4, kDataSheet_K), 0.5);
  EXPECT_GT(esr_ohm(wet, 1e-4, 263.15), 2 * 0.5);
  EXPECT_LT(esr_ohm(wet, 1e-4, 263.15), 4 * 0.5);
  EXPECT_LT(esr_ohm(wet, 1e-4, 333.15), 0.5);
  EXPECT_EQ(esr_ohm(dry, 1e-4, 263.15), 0.01);
}

// End of life as data sheets put it (common practice): 20 % less capacitance than it may have new,
// twice the series resistance.
TEST(Extraction, AnElectrolyticWears) {
  const Part wet = part("electrolytic", {{"capacitance", 1e-4}, {"tolerance", 0.2}, {"esr", 0.5}}),
             dry = part("ceramic", {{"capacitance", 1e-4}, {"tolerance", 0.2}, {"esr", 0.01}});
  EXPECT_NEAR(least_capacitance_F(wet), 64e-6, 1e-18);
  EXPECT_NEAR(least_capacitance_F(dry), 80e-6, 1e-18);
  EXPECT_NEAR(esr_ohm(wet, 64e-6, kDataSheet_K), 1.0, 1e-12);
  EXPECT_NEAR(esr_ohm(wet, 82e-6, kDataSheet_K), 0.75, 1e-12);
  EXPECT_EQ(esr_ohm(wet, 1.2e-4, kDataSheet_K), 0.5);
  EXPECT_EQ(esr_ohm(dry, 80e-6, kDataSheet_K), 0.01);
}

TEST(Extraction, DiodeGoesThroughItsPoints) {
  const Part p = part(
      "diode", {{"vf_low_typ", 0.32}, {"if_low", 0.1}, {"vf_high_max", 0.55}, {"if_high", 1.0}});
  const Junction j = diode_model(p, 1.0, kDataSheet_K).junction;
  EXPECT_NEAR(junction_current(j, 0.32).value, 0.1, 1e-6);
  EXPECT_NEAR(junction_current(j, 0.55).value, 1.0, 1e-5);
  // -2 mV/K at constant current (from memory), at both points.
  const Junction hot = diode_model(p, 1.0, kDataSheet_K + 50).junction;
  EXPECT_NEAR(junction_current(hot, 0.32 - 0.1).value, 0.1, 1e-4);
  EXPECT_NEAR(junction_current(hot, 0.55 - 0.1).value, 1.0, 1e-3);
}

Part schottky() {
  return part("diode", {{"vf_low_typ", 0.32},
                        {"if_low", 0.1},
                        {"vf_high_max", 0.55},
                        {"if_high", 1.0},
                        {"vr_max", 40},
                        {"ir_max", 1e-3}});
}
double leaks_A(const DiodeModel& m, double v) {
  return m.leak_S * v - junction_current(m.junction, -v).value;
}

// The data sheet's limit at 25 degC, twice as much every 10 K.
TEST(Extraction, ADiodeLeaksWhatItsDataSheetAllows) {
  const Part p = schottky();
  const auto at = [&](double T_degC, double v) {
    return leaks_A(diode_model(p, kLeastDropScale, 273.15 + T_degC), v);
  };
  EXPECT_NEAR(at(25, 40), 1e-3, 1e-9);
  EXPECT_NEAR(at(75, 40), 32e-3, 1e-8);
  EXPECT_NEAR(at(125, 40), 1.024, 1e-6);
  EXPECT_NEAR(at(25, 20), 0.5e-3, 0.02e-3);  // a little less of it is the junction's own
  // What drops most leaks a tenth of the most.
  EXPECT_NEAR(leaks_A(diode_model(p, 1.0, kDataSheet_K), 40), 1e-4, 1e-9);
  // A limit for a hot one, too: none leaks more in the cool, and twice as much 10 K above.
  Part hot = p;
  hot.figures[static_cast<std::size_t>(figure_index(*find_part_class("diode"), "ir_hot_max"))] =
      12e-3;
  hot.figures[static_cast<std::size_t>(figure_index(*find_part_class("diode"), "ir_hot_at"))] =
      373.15;
  const auto limited = [&](double T_degC) {
    return leaks_A(diode_model(hot, kLeastDropScale, 273.15 + T_degC), 40);
  };
  EXPECT_NEAR(limited(25), 1e-3, 1e-9);
  EXPECT_NEAR(limited(75), 12e-3, 1e-8);
  EXPECT_NEAR(limited(100), 12e-3, 1e-8);
  EXPECT_NEAR(limited(110), 24e-3, 1e-8);
  const Part silent = part(
      "diode", {{"vf_low_typ", 0.32}, {"if_low", 0.1}, {"vf_high_max", 0.55}, {"if_high", 1.0}});
  EXPECT_EQ(diode_model(silent, kLeastDropScale, 400).leak_S, 0.0);
}

// V = V_Z + Z_ZT (I - I_ZT) near the test point; a 12 V type with 21 mA and 9 ohm.
TEST(Extraction, ZenerVoltageAndSlope) {
  const Part p = part("zener", {{"vz", 12}, {"vz_tolerance", 0.05}, {"iz_test", 21e-3}, {"zz", 9}});
  for (double vz : {11.4, 12.0, 12.6}) {
    const ZenerModel m = zener_model(p, vz, kDataSheet_K);
    const ValueSlope at = junction_current(m.reverse, vz - m.breakdown_V);
    EXPECT_NEAR(at.value, 21e-3, 1e-6);
    EXPECT_NEAR(1.0 / at.slope, 9.0, 0.01);
    EXPECT_LT(junction_current(m.reverse, 0.5 * vz - m.breakdown_V).value, 1e-6);
  }
}

struct Registered {
  double vz, izt, zzt, izk, zzk;
};
Part zener(const Registered& r) {
  return part("zener", {{"vz", r.vz},
                        {"iz_test", r.izt},
                        {"zz", r.zzt},
                        {"izk", r.izk},
                        {"zzk", r.zzk},
                        {"tempco", -650e-6}});
}
double slope_ohm(const ZenerModel& m, double i_A) {
  double low = -m.breakdown_V, high = 100.0;
  for (int k = 0; k < 200; ++k) {
    const double v = 0.5 * (low + high);
    (junction_current(m.reverse, v).value < i_A ? low : high) = v;
  }
  return 1.0 / junction_current(m.reverse, low).slope;
}

// As registered for the 1N47xxA family: greatest slopes at test and knee current. These types of it
// are no sharper at the test current than one exponential is.
TEST(Extraction, ASoftKneeHasBothItsSlopes) {
  for (const Registered& r :
       {Registered{3.3, 76e-3, 10, 1e-3, 400}, Registered{3.9, 64e-3, 9, 1e-3, 400},
        Registered{12, 21e-3, 9, 0.25e-3, 700}, Registered{24, 10.5e-3, 25, 0.25e-3, 750},
        Registered{39, 6.5e-3, 60, 0.25e-3, 1000}}) {
    const ZenerModel m = zener_model(zener(r), r.vz, kDataSheet_K);
    EXPECT_NEAR(slope_ohm(m, r.izt), r.zzt, 0.01 * r.zzt) << r.vz;
    EXPECT_NEAR(slope_ohm(m, r.izk), r.zzk, 0.05 * r.zzk) << r.vz;  // 4.5 % of 3.3 V flow at 0 V
    EXPECT_NEAR(junction_current(m.reverse, r.vz - m.breakdown_V).value, r.izt, 1e-5 * r.izt);
  }
}

// Those of 4.7 to 10 V are: the test current's slope holds, and the knee is as soft as it lets.
TEST(Extraction, AKneeIsNoSofterThanTheTestCurrentsSlopeLets) {
  for (const Registered& r :
       {Registered{5.6, 45e-3, 5, 1e-3, 600}, Registered{6.2, 41e-3, 2, 1e-3, 700},
        Registered{10, 25e-3, 7, 0.25e-3, 700}}) {
    const ZenerModel m = zener_model(zener(r), r.vz, kDataSheet_K);
    const double most = r.zzt * r.izt / r.izk;  // slope times current constant
    EXPECT_NEAR(slope_ohm(m, r.izt), r.zzt, 0.01 * r.zzt) << r.vz;
    EXPECT_NEAR(slope_ohm(m, r.izk), most, 0.02 * most) << r.vz;
    EXPECT_LT(slope_ohm(m, r.izk), r.zzk) << r.vz;
  }
}

// A sheet's slope of a suppressor is that of a surge: V_C = V_BR + R_d I (from memory).
TEST(Extraction, ASuppressorsSlopeIsThatOfASurge) {
  const Part p = part("zener", {{"vz", 14}, {"iz_test", 1e-3}, {"zz", 0.16}});
  const ZenerModel m = zener_model(p, 14, kDataSheet_K);
  EXPECT_NEAR(slope_ohm(m, 10.0), 0.16, 0.02 * 0.16);
  EXPECT_NEAR(junction_current(m.reverse, 14 - m.breakdown_V).value, 1e-3, 1e-8);
}

TEST(Extraction, BreakdownStaysPassiveWhenItBurns) {
  for (const Registered& r :
       {Registered{3.3, 76e-3, 10, 1e-3, 400}, Registered{6.2, 41e-3, 2, 1e-3, 700},
        Registered{39, 6.5e-3, 60, 0.25e-3, 1000}, Registered{14, 1e-3, 0.16, 0.5e-3, 0.2}})
    for (double T_K : {233.0, 298.15, 500.0, 700.0, 2000.0}) {
      const ZenerModel m = zener_model(zener(r), r.vz, T_K);
      EXPECT_GT(m.reverse.series_ohm, 0.0);
      EXPECT_GT(m.breakdown_V, 0.0);
      EXPECT_GE(m.reverse.saturation_A, 0.0);
      const auto flows_A = [&](double v) {
        return junction_current(m.forward, v).value -
               junction_current(m.reverse, -v - m.breakdown_V).value;
      };
      EXPECT_EQ(junction_current(m.reverse, -m.breakdown_V).value, 0.0);
      for (int k = 1; k < 6000; ++k)
        for (double v : {0.01 * k, -0.01 * k})
          ASSERT_GE(flows_A(v) * v, 0.0) << r.vz << " V type at " << v << " V, " << T_K << " K";
    }
}

// A junction is passive (second law): it never feeds the circuit, however hot a hopeless design
// makes it before its checks say so.
TEST(Extraction, JunctionsStayPassiveWhenTheyBurn) {
  const Part diode = part(
      "diode", {{"vf_low_typ", 0.32}, {"if_low", 0.1}, {"vf_high_max", 0.55}, {"if_high", 1.0}});
  for (double T_K : {233.0, 500.0, 700.0, 2000.0})
    for (const Junction& j : {mosfet_model(mosfet(false), 1, 1.4, 0.040, T_K).body,
                              diode_model(diode, 1.0, T_K).junction})
      for (double v : {-40.0, -3.0, -0.1, 0.1, 1.0})
        EXPECT_GE(junction_current(j, v).value * v, 0.0) << T_K << " K, " << v << " V";
  for (double T_K : {233.0, 500.0, 700.0, 2000.0}) {
    const double leak_S = diode_model(schottky(), kLeastDropScale, T_K).leak_S;
    EXPECT_GE(leak_S, 0.0) << T_K;
    EXPECT_LT(leak_S, 100.0) << T_K;
  }
}

TEST(Extraction, BipolarStaysOneWhenItBurns) {
  const Part p = part("pnp", {{"hfe_min", 100},
                              {"ic_test", 2e-3},
                              {"vbe_typ", 0.65},
                              {"vce_sat_max", 0.25},
                              {"ic_sat", 0.1},
                              {"beta_sat", 20}});
  for (double T_K : {233.0, 500.0, 700.0, 2000.0}) {
    const Bipolar q = bipolar_model(p, -1, 100, T_K).transistor;
    EXPECT_GT(q.saturation_A, 0) << T_K;
    EXPECT_LT(q.saturation_A, 1e-3) << T_K;
  }
}

/// Registered types as sheets give them: storage times at a tenth of 10 mA into and out of the
/// base.
TEST(Extraction, BipolarStores) {
  std::map<std::string, double> sheet{{"hfe_min", 100},  {"ic_test", 10e-3},   {"vbe_typ", 0.7},
                                      {"ic_sat", 50e-3}, {"vce_sat_max", 0.4}, {"beta_sat", 10},
                                      {"ft", 250e6}};
  const auto found_s = [](const Bipolar& q) {
    const rigs::Storage s{q.forward_gain,
                          q.reverse_gain,
                          q.forward_transit_s,
                          q.reverse_transit_s,
                          10e-3,
                          1e-3,
                          1e-3};
    return rigs::storage_s(rigs::saturated(s, q), 2e-6);
  };
  for (const double gain : {100.0, 300.0}) {
    // 225 ns at 250 MHz, the part known by its transition frequency alone.
    const Bipolar by_ft = bipolar_model(part("pnp", sheet), -1, gain, kDataSheet_K).transistor;
    EXPECT_NEAR(by_ft.forward_transit_s, 0.6366e-9, 1e-13);
    EXPECT_NEAR(found_s(by_ft), 225e-9, 60e-9);
    auto timed = sheet;
    timed["storage_time"] = 400e-9;
    const Bipolar by_time = bipolar_model(part("pnp", timed), -1, gain, kDataSheet_K).transistor;
    EXPECT_EQ(by_time.forward_transit_s, by_ft.forward_transit_s);
    EXPECT_NEAR(found_s(by_time), 400e-9, 8e-9);
  }
  sheet.erase("ft");
  const Bipolar plain = bipolar_model(part("npn", sheet), 1, 100, kDataSheet_K).transistor;
  EXPECT_NEAR(plain.forward_transit_s, 1.592e-9, 1e-12);
}

TEST(Extraction, BipolarDropInSaturation) {
  const Part p = part("npn", {{"hfe_min", 100},
                              {"ic_test", 2e-3},
                              {"vbe_typ", 0.66},
                              {"vce_sat_max", 0.25},
                              {"ic_sat", 0.1},
                              {"beta_sat", 20}});
  for (double sign : {1.0, -1.0}) {
    const BipolarModel m = bipolar_model(p, sign, 100, kDataSheet_K);
    // V_BE at the test current, in the active region.
    const BipolarCurrent a = bipolar_current(m.transistor, sign * 0.66, sign * (0.66 - 5));
    EXPECT_NEAR(sign * a.ic_A, 2e-3, 1e-8);
    EXPECT_NEAR(a.ic_A / a.ib_A, 100, 1e-3);
    // V_CE(sat): the weakest unit at the forced gain, i_B held, collector resistance added.
    const Bipolar& q = m.transistor;
    double v_be = 0, v_ce = 0, low = 0.4, high = 1.2;
    for (int k = 0; k < 100; ++k) {
      v_be = 0.5 * (low + high);
      double l = 0, h = 0.5;
      for (int j = 0; j < 100; ++j) {
        v_ce = 0.5 * (l + h);
        const BipolarCurrent i = bipolar_current(q, sign * v_be, sign * (v_be - v_ce));
        (sign * i.ic_A < 20 * sign * i.ib_A ? l : h) = v_ce;
      }
      const BipolarCurrent i = bipolar_current(q, sign * v_be, sign * (v_be - v_ce));
      (sign * i.ic_A < 0.1 ? low : high) = v_be;
    }
    EXPECT_NEAR(v_ce + 0.1 * m.collector_ohm, 0.25, 1e-4);
  }
}

}  // namespace
}  // namespace pb::physics
