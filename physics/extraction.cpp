// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/extraction.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace pb::physics {
namespace {

constexpr double kBuiltIn_V = 0.7;             // of silicon junctions; from memory
constexpr double kSlopeN = 1.3;                // weak inversion slope of power MOSFETs; from memory
constexpr double kThresholdDrift_V_K = -3e-3;  // -2 to -4 mV/K; common practice, no source
constexpr double kMobilityExponent =
    2.0;  // gives 1.45 times the on-resistance at 100 degC for 3 V of overdrive
constexpr double kJunctionDrift_V_K = -2e-3;  // silicon junction at constant current; from memory

double or_else(double x, double fallback) { return given(x) ? x : fallback; }

/// Channel conductance at v_DS = 0. [S]
double on_conductance(const Channel& c, double gate_V) {
  return channel_current(c, c.sign * gate_V, 0.0).g_ds_S;
}

/// V_T0 such that v_GS = v_DS = threshold gives the test current: saturation, I = I_spec
/// ln^2(1+e^a).
double intrinsic_threshold(const Channel& c, double threshold_V, double test_A) {
  const double i_spec = 2.0 * c.slope_n * c.beta_A_V2 * c.Ut_V * c.Ut_V;
  const double a = std::log(std::expm1(std::sqrt(test_A / i_spec)));
  return threshold_V - 2.0 * c.slope_n * c.Ut_V * a;
}

/// beta and V_T0 such that the channel has resistance r at this gate voltage and the stated
/// threshold.
void fit_channel(Channel& c, double threshold_V, double test_A, double gate_V, double r_ohm) {
  const double overdrive = std::max(gate_V - threshold_V, 0.1);
  c.beta_A_V2 = 1.0 / (r_ohm * overdrive);
  for (int k = 0; k < 60; ++k) {
    c.threshold_V = intrinsic_threshold(c, threshold_V, test_A);
    const double ratio = 1.0 / (r_ohm * on_conductance(c, gate_V));
    c.beta_A_V2 *= std::clamp(ratio, 0.2, 5.0);
    if (std::abs(ratio - 1.0) < 1e-13) break;
  }
  c.threshold_V = intrinsic_threshold(c, threshold_V, test_A);
}

/// What the channel of a transistor is fitted to; figures that are not given are not numbers.
struct ChannelFigures {
  double sign, threshold_V, rds_ohm, test_A, gate_V, high_gate_V, high_max_ohm, rds_max_ohm;
};
struct ChannelFit {
  Channel channel;
  double series_ohm = 0;
};

ChannelFit fitted(const ChannelFigures& f) {
  ChannelFit m;
  m.channel.sign = f.sign;
  m.channel.slope_n = kSlopeN;
  m.channel.Ut_V = thermal_voltage_V(kDataSheet_K);
  fit_channel(m.channel, f.threshold_V, f.test_A, f.gate_V, f.rds_ohm);
  if (!given(f.high_gate_V) || !given(f.high_max_ohm) || !(f.high_gate_V > f.gate_V)) return m;
  // The second point in this unit's proportion; the series resistance is what makes both true.
  const double high_ohm = f.high_max_ohm * f.rds_ohm / f.rds_max_ohm;
  double low = 0.0, high = 0.98 * std::min(high_ohm, f.rds_ohm);
  const auto excess = [&](double series) {
    fit_channel(m.channel, f.threshold_V, f.test_A, f.gate_V, f.rds_ohm - series);
    return series + 1.0 / on_conductance(m.channel, f.high_gate_V) - high_ohm;
  };
  if (excess(0.0) < 0.0) {
    for (int k = 0; k < 50; ++k)
      (excess(0.5 * (low + high)) < 0.0 ? low : high) = 0.5 * (low + high);
    m.series_ohm = low;
  }
  excess(m.series_ohm);
  return m;
}

/// The same. A unit is run many times over, each transistor of it with its own figures, at whatever
/// temperature: the thread's last fits are kept.
const ChannelFit& fit_of(const ChannelFigures& f) {
  using Bits = std::array<std::uint64_t, sizeof(ChannelFigures) / sizeof(std::uint64_t)>;
  struct Kept {
    Bits of{};
    ChannelFit fit;
    bool known = false;
  };
  constexpr std::size_t kKept = 512;  // eight units of two bridges, several times
  thread_local std::array<Kept, kKept> kept;
  const Bits of = std::bit_cast<Bits>(f);
  std::uint64_t hash = 0;
  for (const std::uint64_t x : of) {
    constexpr std::uint64_t kSpread = 0x9e3779b97f4a7c15;  // 2^64 over the golden ratio
    hash = (hash ^ x) * kSpread;
    hash ^= hash >> 32;
  }
  Kept& k = kept[hash % kKept];
  if (!k.known || k.of != of) k = {of, fitted(f), true};
  return k.fit;
}

/// A junction far beyond any rating drops no less than this: the drift would take it below zero,
/// and it would then feed the circuit.
constexpr double kLeastDrop_V = 0.02;

/// A body diode is given by one point; two decades lower it is taken to be 0.15 V less (n = 1.1).
Junction body_diode(const Part& part, double T_K) {
  constexpr double kTwoDecades_V = 0.15;
  const double cold = or_else(figure(part, "body_drop"), 0.9),
               at = or_else(figure(part, "body_current"), 0.5),
               drop = std::max(cold + kJunctionDrift_V_K * (T_K - kDataSheet_K),
                               kTwoDecades_V + kLeastDrop_V);
  return junction_from_points(drop - kTwoDecades_V, at / 100.0, drop, at, 1.1, T_K);
}

}  // namespace

double threshold_current_A(const Part& part) {
  return or_else(figure(part, "threshold_current"), 250e-6);
}

MosfetModel mosfet_model(const Part& part, double sign, double threshold_V, double rds_ohm,
                         double T_K) {
  const ChannelFit& fit = fit_of({sign, threshold_V, rds_ohm, threshold_current_A(part),
                                  figure(part, "rds_gate"), figure(part, "rds_high_gate"),
                                  figure(part, "rds_high_max"), figure(part, "rds_max")});
  MosfetModel m;
  m.channel = fit.channel;
  m.series_ohm = fit.series_ohm;
  const double warm = T_K / kDataSheet_K;
  m.channel.threshold_V += kThresholdDrift_V_K * (T_K - kDataSheet_K);
  m.channel.beta_A_V2 *= std::pow(warm, -kMobilityExponent);
  m.channel.Ut_V = thermal_voltage_V(T_K);
  m.series_ohm *= std::pow(warm, kMobilityExponent);

  m.body = body_diode(part, T_K);
  const double ciss = figure(part, "ciss"), crss = figure(part, "crss"),
               coss = figure(part, "coss");
  constexpr double kLeast_F = 1e-12;
  const double at_V = capacitance_test_V(part);
  m.cgs_F = std::max(ciss - crss, kLeast_F);
  m.gate_drain = depletion_through(crss, at_V, kBuiltIn_V);
  m.drain_source = depletion_through(std::max(coss - crss, kLeast_F), at_V, kBuiltIn_V);
  return m;
}

double on_resistance_ohm(const Part& part, double sign, double threshold_V, double rds_ohm,
                         double T_K) {
  constexpr double kSmall_V = 1e-3;  // far into triode
  const MosfetModel m = mosfet_model(part, sign, threshold_V, rds_ohm, T_K);
  const double gate_V = sign * figure(part, "rds_gate");
  return m.series_ohm + 1.0 / channel_current(m.channel, gate_V, sign * kSmall_V).g_ds_S;
}

double capacitance_test_V(const Part& part) {
  const double stated = figure(part, "capacitance_vds");
  constexpr double kUsual_V = 15.0;  // from memory; small parts are measured at half their rating
  return given(stated) ? stated : std::min(kUsual_V, 0.5 * figure(part, "vds_max"));
}

double least_capacitance_F(const Part& part) {
  const double least_new_F = figure(part, "capacitance") * (1.0 - figure(part, "tolerance"));
  return part.part_class == "electrolytic" ? kWornCapacitance * least_new_F : least_new_F;
}

double esr_ohm(const Part& part, double farad, double T_K) {
  // An electrolyte thickens in the cold: about 2.2 times at -10 degC, 4 times at -40, half at 60;
  // from memory.
  constexpr double kEFold_K = 45.0;
  const double at_data_sheet = figure(part, "esr");
  if (part.part_class != "electrolytic") return at_data_sheet;
  // The electrolyte dries out, and both figures with it: what lacks capacitance is taken for worn.
  const double new_F = figure(part, "capacitance"),
               worn = std::clamp((new_F - farad) / (new_F - least_capacitance_F(part)), 0.0, 1.0);
  return at_data_sheet * (1.0 + worn * (kWornEsr - 1.0)) *
         std::exp((kDataSheet_K - T_K) / kEFold_K);
}

Ceramic ceramic_law(const Part& part, double farad) {
  const double stated = figure(part, "left_at_rating");
  constexpr double kUsual = 0.3;  // 50 to 80 % is lost under bias; from memory
  return ceramic_through(farad, given(stated) ? stated : kUsual, figure(part, "voltage_max"));
}

Filled filled_to(const Part& part, double farad, double v_V) {
  if (part.part_class != "ceramic") return {farad * v_V, 0.5 * farad * v_V * v_V};
  const Ceramic law = ceramic_law(part, farad);
  return {law(v_V).value, law.energy_J(v_V)};
}

namespace {

/// What a unit of a diode leaks at its rated voltage. [A]
double leakage_A(const Part& part, double drop_scale, double T_K) {
  // Doubled by every 10 K (10 to 11 K; common practice, no source). What gets hotter than this has
  // failed its check, and leaks as here: at a million times the data sheet's nothing overflows.
  constexpr double kDoubled_K = 10.0, kHottest_K = 500.0;
  // A low barrier drops little and leaks much: the unit of least drop leaks all that the data sheet
  // allows, that of the greatest a tenth (from memory; typical units leak 0.1 to 0.3 of it).
  constexpr double kLeastShare = 0.1;
  const double share =
      std::pow(kLeastShare, (drop_scale - kLeastDropScale) / (1.0 - kLeastDropScale));
  const auto times_since = [&](double from_K) {
    return std::exp2((std::min(T_K, kHottest_K) - from_K) / kDoubled_K);
  };
  const double most_A = figure(part, "ir_max") * times_since(kDataSheet_K),
               hot_A = figure(part, "ir_hot_max"), hot_K = figure(part, "ir_hot_at");
  if (!given(hot_A) || !given(hot_K)) return share * most_A;
  // Where it is cooler than there, what holds there holds all the more.
  return share * std::min(most_A, hot_A * std::max(times_since(hot_K), 1.0));
}

Junction forward_junction(const Part& part, double drop_scale, double T_K) {
  const double i1 = figure(part, "if_low"), i2 = figure(part, "if_high"), n = 1.05;
  const double shift = kJunctionDrift_V_K * (T_K - kDataSheet_K);
  const double v1 = figure(part, "vf_low_typ") * std::min(1.0, drop_scale / 0.85);
  const double least = v1 + n * thermal_voltage_V(T_K) * std::log(i2 / i1) * 1.01;
  const double v2 = std::max(drop_scale * figure(part, "vf_high_max"), least);
  return junction_from_points(std::max(v1 + shift, kLeastDrop_V), i1,
                              std::max(v2 + shift, 1.5 * kLeastDrop_V), i2, n, T_K);
}

}  // namespace

DiodeModel diode_model(const Part& part, double drop_scale, double T_K) {
  DiodeModel m{forward_junction(part, drop_scale, T_K), 0};
  if (given(figure(part, "ir_max")))  // the junction leaks a little already
    m.leak_S = std::max(leakage_A(part, drop_scale, T_K) - m.junction.saturation_A, 0.0) /
               figure(part, "vr_max");
  return m;
}

namespace {

/// What a breakdown's slope is made of: n V_T/i, and a resistance.
struct Knee {
  double nVt_V, series_ohm;
};

Knee knee_of(const Part& part) {
  // Below this breakdown is mostly tunnelling, and soft: the registered types of 3.3 to 4.3 V have
  // n V_T of 0.4 V. Above it is an avalanche: about as sharp as a junction. Common practice.
  constexpr double kSoftBelow_V = 6.0, kSoft_V = 0.4, kSharp_V = 0.02;
  constexpr double kLeastSeries = 0.01;  // of Z_ZT; the closed form needs some
  const double iz = figure(part, "iz_test"), zz = figure(part, "zz"), ik = figure(part, "izk");
  // What a sheet calls slope where no junction is so steep is that of a surge.
  const double softest_V = (1.0 - kLeastSeries) * zz * iz;
  if (softest_V < kSharp_V) return {kSharp_V, zz};
  const double both_V = (figure(part, "zzk") - zz) / (1.0 / ik - 1.0 / iz),
               usual_V = figure(part, "vz") < kSoftBelow_V ? kSoft_V : kSharp_V;
  const double knee_V = ik < iz && both_V > 0.0 ? both_V : usual_V;  // false where not given
  const double nVt_V = std::clamp(knee_V, kSharp_V, softest_V);
  return {nVt_V, zz - nVt_V / iz};
}

}  // namespace

double knee_V(const Part& part, double vz_V) {
  constexpr double kUsually = 0.01;  // of the test current
  const double iz = figure(part, "iz_test"),
               ik = std::min(or_else(figure(part, "izk"), kUsually * iz), iz);
  const Knee knee = knee_of(part);
  return vz_V - knee.series_ohm * (iz - ik) - knee.nVt_V * std::log(iz / ik);
}

ZenerModel zener_model(const Part& part, double vz_V, double T_K) {
  ZenerModel m;
  const double iz = figure(part, "iz_test"), tempco = or_else(figure(part, "tempco"), 0.0);
  m.forward = junction_from_points(0.65, 1e-3, 0.85, 0.1, 1.1, T_K);
  // Far beyond any rating a falling voltage would reach zero: no type's falls below half.
  const double at_test_V = std::max(vz_V * (1.0 + tempco * (T_K - kDataSheet_K)), 0.5 * vz_V);
  const Knee knee = knee_of(part);
  Junction& r = m.reverse;
  r.nVt_V = knee.nVt_V, r.series_ohm = knee.series_ohm;
  m.breakdown_V = std::max(at_test_V - r.series_ohm * iz, kLeastDrop_V);
  // I_S (e^(V_B/nV_T) - 1) = I_Z, counted from V_B: e^(V_B/nV_T) itself has no number.
  const double left = -std::expm1(-m.breakdown_V / r.nVt_V);
  const double leak_A = iz * std::exp(-m.breakdown_V / r.nVt_V) / left;
  r.offset = std::log(iz * r.series_ohm / (r.nVt_V * left)) + leak_A * r.series_ohm / r.nVt_V;
  // Exactly what the law has left at 0 V: a soft breakdown is not to feed the circuit.
  r.saturation_A = 0.0;
  r.saturation_A = junction_current(r, -m.breakdown_V).value;
  return m;
}

ChipModel chip_model(const Part& part, double on_ohm, double threshold_V, double T_K) {
  constexpr double kOnExponent = 1.4;  // half as much again at 125 degC; common practice, no source
  ChipModel m;
  m.bridge.switch_S = 2.0 / (on_ohm * std::pow(T_K / kDataSheet_K, kOnExponent));
  m.bridge.threshold_V = threshold_V;
  m.bridge.undervoltage_V =
      or_else(figure(part, "undervoltage"), 0.85 * figure(part, "supply_min"));
  m.bridge.quiescent_A = figure(part, "quiescent");
  m.bridge.follows = find_part_class(part.part_class)->follows ? 1.0 : 0.0;
  m.body = body_diode(part, T_K);
  m.pull_down_ohm = or_else(figure(part, "input_pull_down"), 100e3);
  return m;
}

namespace {

/// t_s = t_sat ln[(I_BF + I_BR)/(I_C/b_F + I_BR)], t_sat = [b_F (1 + b_R) t_F + b_R (1 + b_F) t_R]/
/// (1 + b_F + b_R), at the data sheet's I_BF = I_BR = I_C/10, solved for t_R. Source: J. Moll,
/// Proc. IRE 42, 1954, 1773-1784; in b and t of the transport form: models.md.
double reverse_transit_s(const Bipolar& q, double storage_s) {
  if (!given(storage_s)) {
    // 225 ns that sheets of a 2N3906 give at 250 MHz ask for 110; no source for others.
    constexpr double kOfForward = 100.0;
    return kOfForward * q.forward_transit_s;
  }
  constexpr double kLeastGain = 20.0;  // less is hardly saturated by a tenth
  const double forward = std::max(q.forward_gain, kLeastGain), reverse = q.reverse_gain;
  const double saturation_s = storage_s / std::log(0.2 / (1.0 / forward + 0.1));
  const double rest =
      saturation_s * (1.0 + forward + reverse) - forward * (1.0 + reverse) * q.forward_transit_s;
  return std::max(rest / (reverse * (1.0 + forward)), 0.0);
}

}  // namespace

BipolarModel bipolar_model(const Part& part, double sign, double gain, double junction_K) {
  // Far beyond any rating the drift would take v_BE below zero; a junction that hot has failed its
  // check whatever it does.
  constexpr double kHottest_K = 500.0;
  const double T_K = std::min(junction_K, kHottest_K);
  BipolarModel m;
  Bipolar& q = m.transistor;
  q.sign = sign;
  q.Vt_V = thermal_voltage_V(T_K);
  q.forward_gain = gain;
  q.reverse_gain = 5.0;  // planar switching types: 2 to 20; from memory
  const double vbe = figure(part, "vbe_typ") + kJunctionDrift_V_K * (T_K - kDataSheet_K);
  q.saturation_A = or_else(figure(part, "ic_test"), 2e-3) / std::expm1(vbe / q.Vt_V);
  constexpr double kDefaultTransition_Hz = 100e6;
  q.forward_transit_s =
      1.0 / (2.0 * std::numbers::pi * or_else(figure(part, "ft"), kDefaultTransition_Hz));
  q.reverse_transit_s = reverse_transit_s(q, figure(part, "storage_time"));
  // Saturation voltage of the ideal transistor at the data sheet's point; the rest is collector
  // resistance.
  const double forced = figure(part, "beta_sat"), ic = figure(part, "ic_sat");
  const double share = std::min(forced / std::max(figure(part, "hfe_min"), 1.05 * forced), 0.95);
  const double ideal = q.Vt_V * std::log((1.0 + (forced + 1.0) / q.reverse_gain) / (1.0 - share));
  m.collector_ohm = std::max(figure(part, "vce_sat_max") - ideal, 0.0) / ic;
  return m;
}

}  // namespace pb::physics
