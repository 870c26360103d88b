// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <cmath>

#include "base/math.h"
#include "physics/devices/bipolar.h"
#include "physics/devices/junction.h"
#include "physics/devices/mosfet.h"
#include "physics/extraction.h"
#include "tests/book/one_part.h"
#include "tests/book/topics.h"

namespace pb::book {
namespace {

using namespace physics;

const Source kEkv{
    "law of Enz, Krummenacher, Vittoz, Analog Integr. Circuits Signal Process. 8, 1995, 83-114, "
    "evaluated in another language",
    Basis::published_law};
const Source kExample{
    "published worked example of the transport form (Ebers, Moll, Proc. IRE 42, 1954, 1761)",
    Basis::published};
const Source kSaturation{
    "V_T ln{[1 + (f+1)/b_R]/[1 - f/b_F]}, the transport form solved for V_CE at forced gain f",
    Basis::closed_form};
const Source kShockley{"Shockley, Bell Syst. Tech. J. 28(3), 1949: I = I_S (e^(V/nV_T) - 1)",
                       Basis::closed_form};
const Source kVoltOfHeatgnalDiode{
    "common parameter set of a signal diode, from memory; law as Shockley", Basis::closed_form};
const Source kVoltOfHeat{"kT/q with k and q of the SI brochure, 9th ed. 2019", Basis::closed_form};

/// SI brochure, 9th ed.: typed here once more, as `expected` may not come from base/math.h.
double volts_of(double T_K) { return 1.380649e-23 * T_K / 1.602176634e-19; }

/// Boltzmann's constant enters as k T only: a wrong k is a wrong T.
double product_Vt(const Skew& k, double T_K) { return thermal_voltage_V(T_K * k.boltzmann); }

Channel table_channel(const Skew& k) {
  return {1, 2.0, 0.1 * k.channel_beta, 1.3, product_Vt(k, 300)};
}

void add_channel(std::vector<Row>& rows) {
  struct Point {
    const char *gate, *drain;
    double vg, vd, i;
  };
  for (const Point& p :
       {Point{"5", "5", 5, 5, 3.46153846e-1}, Point{"3", "5", 3, 5, 3.84615402e-2},
        Point{"5", "0.1", 5, 0.1, 2.93500000e-2}, Point{"3", "0.1", 3, 0.1, 9.34999103e-3},
        Point{"3", "0.01", 3, 0.01, 9.93499647e-4}, Point{"2.1", "5", 2.1, 5, 4.97121649e-4},
        Point{"2", "5", 2.0, 5, 8.34857893e-5}, Point{"1.8", "5", 1.8, 5, 4.30287748e-7}})
    rows.push_back({std::string("channel-") + p.gate + "-" + p.drain,
                    std::string("Channel current at V_G ") + p.gate + " V, V_D " + p.drain +
                        " V (n 1.3, β 0.1 A/V², V_T0 2 V, 300 K)",
                    kEkv, 1e3 * p.i, "mA", within(2e-6), [p](const Skew& k) {
                      return 1e3 * channel_current(table_channel(k), p.vg, p.vd).i_A;
                    }});
  rows.push_back({"channel-slope",
                  "Slope of the same channel in weak inversion",
                  {"n (kT/q) ln 10, the law's limit", Basis::closed_form},
                  1e3 * 1.3 * volts_of(300) * std::log(10.0),
                  "mV/decade",
                  within(1e-4),
                  [](const Skew& k) {
                    const Channel c = table_channel(k);
                    const double i1 = channel_current(c, 1.20, 5).i_A,
                                 i2 = channel_current(c, 1.25, 5).i_A;
                    return 50.0 / std::log10(i2 / i1);
                  }});
}

void add_bipolar(std::vector<Row>& rows) {
  const auto q = [](const Skew& k) {
    return Bipolar{1, 10e-15 * k.saturation_current, 200, 20, 25.8649606e-3};
  };
  const std::string set = " (V_T 25.8649606 mV, I_S 10 fA, gains 200 and 20)";
  rows.push_back({"bipolar-ic", "Collector current at V_BE 0.65 V, V_CE 0.1 V" + set, kExample,
                  802.4051, "µA", within(1e-6),
                  [q](const Skew& k) { return 1e6 * bipolar_current(q(k), 0.65, 0.55).ic_A; }, 7});
  rows.push_back({"bipolar-ib", "Base current at V_BE 0.65 V, V_CE 0.1 V", kExample, 4.961090, "µA",
                  within(1e-6),
                  [q](const Skew& k) { return 1e6 * bipolar_current(q(k), 0.65, 0.55).ib_A; }, 7});
  const auto v_be = [q](const Skew& k) {
    return solved(0.5, 1.0, 0.16, [&](double v) { return bipolar_current(q(k), v, v - 0.1).ic_A; });
  };
  rows.push_back({"bipolar-vbe", "V_BE at 160 mA, V_CE 0.1 V", kExample, 0.7869631, "V",
                  within(1e-6), v_be, 7});
  rows.push_back({"bipolar-ib-160", "Base current at 160 mA, V_CE 0.1 V", kExample, 0.9892429, "mA",
                  within(3e-6),
                  [q, v_be](const Skew& k) {
                    const double v = v_be(k);
                    return 1e3 * bipolar_current(q(k), v, v - 0.1).ib_A;
                  },
                  6});
  struct Forced {
    double forward, reverse, gain;
    const char* text;
  };
  for (const Forced& f : {Forced{200, 20, 10, "200, 20, 10"}, Forced{200, 5, 10, "200, 5, 10"},
                          Forced{100, 1, 20, "100, 1, 20"}})
    rows.push_back(
        {"vce-sat-" + std::to_string(static_cast<int>(f.reverse)),
         std::string("Ideal V_CE(sat), 300 K, gains forward, reverse, forced: ") + f.text,
         kSaturation,
         1e3 * volts_of(300) *
             std::log((1.0 + (f.gain + 1.0) / f.reverse) / (1.0 - f.gain / f.forward)),
         "mV", within(1e-5), [f](const Skew& k) {
           const Bipolar t{1, 1e-14, f.forward, f.reverse, product_Vt(k, 300)};
           return 1e3 * solved(0.0, 0.5, f.gain, [&](double v) {
                    const BipolarCurrent i = bipolar_current(t, 0.75, 0.75 - v);
                    return i.ic_A / i.ib_A;
                  });
         }});
}

double diode_voltage(const Junction& j, double i_A) {
  return solved(0.0, 3.0, i_A, [&](double v) { return junction_current(j, v).value; });
}

void add_junctions(std::vector<Row>& rows) {
  const auto ideal = [](const Skew& k) {
    return prepared({1e-14 * k.saturation_current, product_Vt(k, 300), 1e-4, 0});
  };
  rows.push_back({"junction-1mA", "Junction of 10 fA at 1 mA, 300 K", kShockley,
                  volts_of(300) * std::log1p(1e-3 / 1e-14), "V", within(1e-5),
                  [ideal](const Skew& k) { return diode_voltage(ideal(k), 1e-3); }});
  rows.push_back({"junction-decade", "Voltage over a decade of current, 300 K", kShockley,
                  1e3 * volts_of(300) * std::log(10.0), "mV/decade", within(1e-4),
                  [ideal](const Skew& k) {
                    return 1e3 * (diode_voltage(ideal(k), 1e-3) - diode_voltage(ideal(k), 1e-4));
                  }});
  struct Point {
    const char* at;
    double mA, volts;
  };
  for (const Point& p :
       {Point{"1", 1, 0.58445}, Point{"10", 10, 0.69385}, Point{"100", 100, 0.84926}})
    rows.push_back({std::string("signal-diode-") + p.at,
                    std::string("Signal diode at ") + p.at + " mA (2.52 nA, n 1.752, 0.568 Ω)",
                    kVoltOfHeatgnalDiode, p.volts, "V", within(2e-5),
                    [p](const Skew& k) {
                      return diode_voltage(prepared({2.52e-9 * k.saturation_current,
                                                     1.752 * product_Vt(k, 300), 0.568, 0}),
                                           1e-3 * p.mA);
                    },
                    5});
  rows.push_back({"omega-constant",
                  "w with w + ln w = 0, on which the closed form of diodes rests",
                  {"bisection on w e^w = 1", Basis::closed_form},
                  solved(0.0, 1.0, 1.0, [](double w) { return w * std::exp(w); }),
                  "",
                  within(1e-12),
                  [](const Skew&) { return wright_omega(0.0); },
                  12});
  struct Warm {
    const char* at;
    double T_K;
  };
  for (const Warm& w : {Warm{"0", 273.15}, Warm{"25", 298.15}, Warm{"125", 398.15}})
    rows.push_back({std::string("thermal-voltage-") + w.at,
                    std::string("Thermal voltage at ") + w.at + " °C", kVoltOfHeat,
                    1e3 * volts_of(w.T_K), "mV", within(1e-9),
                    [w](const Skew& k) { return 1e3 * product_Vt(k, w.T_K); }});
}

/// Backwards. [V]
double zener_voltage(const ZenerModel& m, double i_A) {
  return m.breakdown_V + solved(-m.breakdown_V, 5.0, i_A,
                                [&](double v) { return junction_current(m.reverse, v).value; });
}

/// Where a model is asked for a point it was not fitted to, it errs by more than its numerics.
void add_unfitted(std::vector<Row>& rows) {
  const auto zener_at = [](double vz, double iz, double zz, double i_A) {
    const Part p = part("zener", {{"vz", vz}, {"vz_tolerance", 0.05}, {"iz_test", iz}, {"zz", zz}});
    return zener_voltage(zener_model(p, vz, kDataSheet_K), i_A);
  };
  const Source slope{
      "V_Z + Z_ZT (I - I_ZT), the slope as registered for the 1N47xxA family; 21 mA 9 Ω, 49 mA 7 Ω",
      Basis::closed_form};
  rows.push_back({"zener-12", "12 V zener at 50 mA, model given V_Z and Z_ZT at 21 mA", slope,
                  12.0 + 9.0 * 0.029, "V", by(0.02),
                  [zener_at](const Skew&) { return zener_at(12.0, 21e-3, 9.0, 50e-3); }});
  rows.push_back({"zener-5", "5.1 V zener from 39 to 59 mA", slope, 1e3 * 7.0 * 0.020, "mV",
                  within(0.02), [zener_at](const Skew&) {
                    return 1e3 *
                           (zener_at(5.1, 49e-3, 7.0, 59e-3) - zener_at(5.1, 49e-3, 7.0, 39e-3));
                  }});
  const auto resistance = [](double T_K) {
    const Part p = part("n-mosfet", {{"threshold_min", 0.8},
                                     {"threshold_max", 2.0},
                                     {"rds_gate", 4.5},
                                     {"rds_max", 0.040},
                                     {"rds_high_gate", 10.0},
                                     {"rds_high_max", 0.030},
                                     {"ciss", 600e-12},
                                     {"coss", 150e-12},
                                     {"crss", 80e-12}});
    const MosfetModel m = mosfet_model(p, 1, 1.4, 0.040, T_K);
    return m.series_ohm + 1.0 / channel_current(m.channel, 10.0, 0.0).g_ds_S;
  };
  const Source curve{"published on-resistance curve of one low-voltage device", Basis::published};
  rows.push_back({"on-resistance-hot",
                  "On-resistance at 100 °C over that at 25 °C, fully on; fitted with little gate, "
                  "on-resistance-3V",
                  curve, 1.45, "", by(0.15),
                  [resistance](const Skew&) { return resistance(373.15) / resistance(298.15); },
                  3});
  rows.push_back(
      {"on-resistance-cold", "On-resistance at -40 °C over that at 25 °C", curve, 0.60, "", by(0.1),
       [resistance](const Skew&) { return resistance(233.15) / resistance(298.15); }, 3});
}

void add_channel_leakage(std::vector<Row>& rows) {
  rows.push_back({"leakage-25",
                  "Leakage of the leakiest 40 V, 1 A Schottky diode at 40 V, 25 °C",
                  {"registered figures of 1N5817 to 1N5819: at most 1 mA", Basis::published},
                  1.0,
                  "mA",
                  within(1e-6),
                  [](const Skew&) { return 1e3 * schottky_leaks_A(kLeastDropScale, 298.15); }});
}

void add_knees(std::vector<Row>& rows) {
  struct Knee {
    const char* type;
    double vz, izt, zzt, izk, zzk;
  };
  const auto slope = [](const Knee& t, double i_A) {
    const Part p = part(
        "zener", {{"vz", t.vz}, {"iz_test", t.izt}, {"zz", t.zzt}, {"izk", t.izk}, {"zzk", t.zzk}});
    const ZenerModel m = zener_model(p, t.vz, kDataSheet_K);
    const double d_A = 1e-3 * i_A;
    return (zener_voltage(m, i_A + d_A) - zener_voltage(m, i_A - d_A)) / (2 * d_A);
  };
  const Source registered{"greatest slopes as registered for the 1N47xxA family", Basis::published};
  for (const Knee& t :
       {Knee{"3.3", 3.3, 76e-3, 10, 1e-3, 400}, Knee{"12", 12, 21e-3, 9, 0.25e-3, 700}}) {
    rows.push_back({std::string("zener-knee-") + t.type,
                    std::string("Slope of a ") + t.type + " V zener at its knee current",
                    registered, t.zzk, "Ω", within(0.05),
                    [t, slope](const Skew&) { return slope(t, t.izk); }, 4});
    rows.push_back({std::string("zener-slope-") + t.type,
                    std::string("Slope of that ") + t.type + " V zener at its test current",
                    registered, t.zzt, "Ω", within(0.01),
                    [t, slope](const Skew&) { return slope(t, t.izt); }, 4});
  }
}

void add_chip(std::vector<Row>& rows) {
  const auto on_S = [](double T_K) {
    const Part p = part("bridge-chip", {{"supply_min", 2.7}, {"quiescent", 1e-3}});
    return chip_model(p, 1.0, 1.5, T_K).bridge.switch_S;
  };
  rows.push_back({"chip-hot",
                  "A driver chip's on-resistance at 125 °C over that at 25 °C",
                  {"common practice, from memory", Basis::remembered},
                  1.5,
                  "",
                  by(0.005),
                  [on_S](const Skew&) { return on_S(298.15) / on_S(398.15); },
                  3});
  rows.push_back(
      {"chip-current", "Current of 10 Ω on a bridge of 1 Ω, high and low together, at 12 V",
       circuits("V/(R + R_on)"), 12.0 / 11.0, "A", within(1e-9), [](const Skew& k) {
         const BridgeChip chip{2.0, 1.5, 2.0, 1e-3};
         // Output 1 is that high that the load takes what the high switch gives.
         return solved(0.0, 0.6, 0.0,
                       [&](double drop) {
                         const double v[kBridgeTerminals] = {12, 0, 5, 0, 12 - drop, drop};
                         return -bridge_current(chip, v).i_A[kChipOut1] -
                                (12 - 2 * drop) / (10.0 * k.winding_resistance);
                       }) *
                2.0;
       }});
}

}  // namespace

Topic device_laws() {
  Topic t{"Laws of the devices",
          "The static laws alone, without circuit or integrator. Zeners away from their test "
          "current and on-resistances of a channel fully on are points a model was not fitted to: "
          "there the error is the model's, and the tolerance is what parts scatter by.",
          {}};
  add_channel(t.rows);
  add_bipolar(t.rows);
  add_junctions(t.rows);
  add_channel_leakage(t.rows);
  add_knees(t.rows);
  add_unfitted(t.rows);
  add_chip(t.rows);
  return t;
}

}  // namespace pb::book
