// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The table of part classes.
#include "model/part.h"

#include <array>

#include "base/check.h"

namespace pb {
namespace {

constexpr Dim kV = dim::voltage, kA = dim::current, kOhm = dim::resistance, kF = dim::capacitance;
constexpr Dim kRth = dim::thermal_resistance, kT = dim::temperature;

constexpr auto kMosfet = std::to_array<Figure>({
    {"vds_max", kV, true, 1, 1000, "drain to source rating"},
    {"vgs_max", kV, true, 1, 100, "gate to source rating, either sign"},
    {"threshold_min", kV, true, 0.1, 10, "magnitude, at threshold_current and 25 degC"},
    {"threshold_typ", kV, false, 0.1, 10, "mean of min and max if not given"},
    {"threshold_max", kV, true, 0.1, 10, "magnitude"},
    {"threshold_current", kA, false, 1e-6, 0.1, "250 uA if not given"},
    {"rds_gate", kV, true, 0.5, 20, "lowest gate voltage at which on-resistance is guaranteed"},
    {"rds_typ", kOhm, false, 1e-4, 100, "at rds_gate; 0.75 of the maximum if not given"},
    {"rds_max", kOhm, true, 1e-4, 100, "at rds_gate, 25 degC"},
    {"rds_high_gate", kV, false, 0.5, 30, "a higher gate voltage with a guaranteed on-resistance"},
    {"rds_high_max", kOhm, false, 1e-4, 100, "at rds_high_gate"},
    {"drain_pulsed", kA, false, 1e-3, 1000, "pulsed drain current rating"},
    {"ciss", kF, true, 1e-13, 1e-7, "input capacitance, typical"},
    {"coss", kF, true, 1e-13, 1e-7, "output capacitance, typical"},
    {"crss", kF, true, 1e-13, 1e-7, "reverse transfer capacitance, typical"},
    {"capacitance_vds", kV, false, 0.1, 100,
     "drain voltage of the capacitances; half of vds_max, at most 15 V, if not given"},
    {"body_drop", kV, false, 0.3, 2,
     "of the body diode at body_current; 0.9 V at 0.5 A if not given"},
    {"body_current", kA, false, 1e-4, 100, ""},
    {"tj_max", kT, true, 350, 500, "junction"},
    {"rth_ja", kRth, true, 1, 1000, "junction to ambient, minimum copper"},
});

constexpr auto kSecond = std::to_array<std::string_view>({
    "second_vds_max",       "second_vgs_max",
    "second_threshold_min", "second_threshold_typ",
    "second_threshold_max", "second_threshold_current",
    "second_rds_gate",      "second_rds_typ",
    "second_rds_max",       "second_rds_high_gate",
    "second_rds_high_max",  "second_drain_pulsed",
    "second_ciss",          "second_coss",
    "second_crss",          "second_capacitance_vds",
    "second_body_drop",     "second_body_current",
    "second_tj_max",        "second_rth_ja",
});
/// The figures of one half, those of the other and what they share. Halves that are `alike` need
/// theirs once.
constexpr auto pair_of(bool alike) {
  std::array<Figure, 2 * kMosfet.size() + 1> out{};
  static_assert(kSecond.size() == kMosfet.size());
  for (std::size_t k = 0; k < kMosfet.size(); ++k) {
    out[k] = kMosfet[k];
    out[kMosfet.size() + k] = kMosfet[k];
    Figure& second = out[kMosfet.size() + k];
    second.name = kSecond[k];
    second.required = second.required && !alike;
    second.doc = alike ? "of the second half; as of the first if not given" : "of the P-channel";
  }
  out.back() = {
      "rth_mutual",
      kRth,
      false,
      0.1,
      1000,
      "rise of one half for each watt in the other; 0.6 of the lesser rth_ja if not given"};
  return out;
}
constexpr auto kAlikePair = pair_of(true), kMixedPair = pair_of(false);

constexpr auto kBipolar = std::to_array<Figure>({
    {"vce_max", kV, true, 1, 1000, "V_CEO"},
    {"veb_max", kV, false, 1, 50, "V_EBO; 5 V if not given"},
    {"ic_max", kA, true, 1e-3, 100, "collector current rating"},
    {"hfe_min", {}, true, 1, 10000, "at ic_test"},
    {"hfe_typ", {}, false, 1, 10000, ""},
    {"hfe_max", {}, false, 1, 20000, ""},
    {"ic_test", kA, false, 1e-5, 10, "2 mA if not given"},
    {"vbe_typ", kV, true, 0.3, 1.5, "at ic_test"},
    {"vce_sat_max", kV, true, 0.01, 3, "at ic_sat, forced gain beta_sat"},
    {"ic_sat", kA, true, 1e-4, 100, ""},
    {"beta_sat", {}, true, 1, 200, ""},
    {"cob", kF, false, 1e-13, 1e-9, "collector to base; 4 pF if not given"},
    {"ft", dim::frequency, false, 1e5, 1e11, "sets the transit time; 100 MHz if not given"},
    {"storage_time", dim::time, false, 1e-10, 1e-4,
     "greatest, a tenth of the collector current into the base and then out of it; from ft if not "
     "given"},
    {"tj_max", kT, true, 350, 500, ""},
    {"rth_ja", kRth, true, 1, 1000, ""},
});
constexpr auto kDiode = std::to_array<Figure>({
    {"vr_max", kV, true, 1, 2000, "repetitive reverse rating"},
    {"if_max", kA, true, 1e-3, 100, "average forward rating"},
    {"if_surge", kA, false, 1e-3, 1000, ""},
    {"vf_low_typ", kV, true, 0.05, 2, "typical drop at if_low"},
    {"if_low", kA, true, 1e-5, 10, ""},
    {"vf_high_max", kV, true, 0.05, 3, "greatest drop at if_high"},
    {"if_high", kA, true, 1e-4, 100, "above if_low"},
    {"ir_max", kA, false, 1e-12, 1,
     "leakage at rated voltage, 25 degC; none but the junction's if not given"},
    {"ir_hot_max", kA, false, 1e-12, 10, "the same at ir_hot_at; twice as much every 10 K without"},
    {"ir_hot_at", kT, false, 323.15, 500, "junction"},
    {"cj", kF, false, 1e-13, 1e-8, "10 pF if not given"},
    {"tj_max", kT, true, 350, 500, ""},
    {"rth_ja", kRth, true, 1, 1000, ""},
});
constexpr auto kZener = std::to_array<Figure>({
    {"vz", kV, true, 1, 200, "at iz_test"},
    {"vz_tolerance", {}, true, 0, 0.2, ""},
    {"iz_test", kA, true, 1e-5, 1, ""},
    {"zz", kOhm, true, 1e-3, 1000, "slope at iz_test"},
    {"zzk", kOhm, false, 1e-2, 1e5, "greatest slope at izk, in the knee; with izk or not at all"},
    {"izk", kA, false, 1e-6, 1, "a current below iz_test; without both, by the voltage"},
    {"power_max", dim::power, true, 0.01, 10000, "steady"},
    {"pulse_energy", dim::energy, false, 1e-6, 100, ""},
    {"tempco", dim::temperature_coefficient, false, -0.01, 0.01, ""},
    {"tj_max", kT, true, 350, 500, ""},
    {"rth_ja", kRth, true, 1, 1000, ""},
});
constexpr auto kResistor = std::to_array<Figure>({
    {"tolerance", {}, true, 0, 0.3, ""},
    {"power_max", dim::power, true, 1e-3, 1000, "at 70 degC"},
});
constexpr auto kElectrolytic = std::to_array<Figure>({
    {"capacitance", kF, true, 1e-12, 1, ""},
    {"tolerance", {}, true, 0, 0.8, ""},
    {"voltage_max", kV, true, 1, 1000, ""},
    {"esr", kOhm, true, 1e-4, 1000, "25 degC, 100 kHz"},
    {"ripple_max", kA, false, 1e-3, 100, "rated ripple current"},
});
constexpr auto kCeramic = std::to_array<Figure>({
    {"capacitance", kF, true, 1e-12, 1, "without bias"},
    {"tolerance", {}, true, 0, 0.8, ""},
    {"voltage_max", kV, true, 1, 1000, ""},
    {"esr", kOhm, true, 1e-4, 1000, "at its resonance"},
    {"left_at_rating",
     {},
     false,
     0.02,
     1,
     "share of the capacitance at voltage_max; 0.3 if not given"},
});

constexpr auto kBridgeChip = std::to_array<Figure>({
    {"supply_min", kV, true, 1, 100, "least supply at which the on-resistance is guaranteed"},
    {"supply_max", kV, true, 1, 200, "rating of the supply terminal"},
    {"undervoltage", kV, false, 0.5, 100, "outputs open below; 0.85 of supply_min if not given"},
    {"quiescent", kA, true, 1e-9, 0.1, "supply current of the chip itself, active"},
    {"input_low_max", kV, true, 0.05, 20, "an input up to this is low for certain"},
    {"input_high_min", kV, true, 0.1, 20, "an input from this on is high for certain"},
    {"input_max", kV, true, 1, 100, "rating of an input, with or without supply"},
    {"input_pull_down", kOhm, false, 1e3, 1e8, "inside, at every input; 100 kohm if not given"},
    {"on_resistance_typ", kOhm, false, 1e-3, 100,
     "high and low switch together; 0.75 of the maximum if not given"},
    {"on_resistance_max", kOhm, true, 1e-3, 100, "high and low switch together, 25 degC"},
    {"output_peak", kA, true, 1e-3, 100, "least current at which the chip's limit may act"},
    {"body_drop", kV, false, 0.3, 2, "of the diodes across the switches; 0.9 V if not given"},
    {"body_current", kA, false, 1e-4, 100, "0.5 A if not given"},
    {"tj_max", kT, true, 350, 500, "junction"},
    {"rth_ja", kRth, true, 1, 1000, "junction to ambient, whole package, minimum copper"},
});

constexpr auto kChopperAlone = std::to_array<Figure>({
    {"reference_ratio",
     {},
     true,
     0.1,
     100,
     "voltage of a reference terminal over the sense voltage at which the chopper acts"},
    {"reference_tolerance", {}, true, 0, 0.5, "of that ratio"},
    {"sense_offset", kV, true, 0, 0.5, "greatest, either sign, of the sense voltage"},
    {"sense_max", kV, true, 0.05, 5, "greatest sense voltage the chopper works with"},
    {"delay_typ", dim::time, true, 1e-9, 1e-4, "from the sense voltage to the switches"},
    {"delay_max", dim::time, true, 1e-9, 1e-4, ""},
    {"blanking", dim::time, true, 0, 1e-3,
     "typical; after a winding is driven again its sense voltage is not listened to"},
    {"off_time", dim::time, true, 1e-7, 1e-2, "typical; how long a winding is left to decay"},
    {"timing_tolerance", {}, true, 0, 0.5, "of blanking and off-time together"},
});
/// The figures of a chip with bridges, and those of its chopper.
constexpr auto chopper_chip() {
  std::array<Figure, kBridgeChip.size() + kChopperAlone.size()> out{};
  for (std::size_t k = 0; k < kBridgeChip.size(); ++k) out[k] = kBridgeChip[k];
  for (std::size_t k = 0; k < kChopperAlone.size(); ++k)
    out[kBridgeChip.size() + k] = kChopperAlone[k];
  return out;
}
constexpr auto kChopperChip = chopper_chip();

/// The same figures; what bounds the current is not a limit that acts but a rating.
constexpr auto buffers() {
  auto out = kBridgeChip;
  for (Figure& f : out)
    if (f.name == "output_peak")
      f.doc = "of a winding: the least of what its outputs and half the supply terminal bear";
  return out;
}
constexpr auto kBuffers = buffers();

constexpr auto kComparator = std::to_array<Figure>({
    {"supply_min", kV, true, 0.5, 100, "least supply"},
    {"supply_max", kV, true, 0.5, 200, "rating of the supply terminal"},
    {"quiescent", kA, true, 1e-9, 0.1, "supply current"},
    {"offset", kV, true, 1e-6, 0.2, "greatest difference of the inputs at which it acts"},
    {"delay_typ", dim::time, true, 1e-9, 1e-3, "at the overdrive of a rising sense voltage"},
    {"delay_max", dim::time, true, 1e-9, 1e-3, ""},
    {"tj_max", kT, true, 350, 500, "junction"},
    {"rth_ja", kRth, true, 1, 1000, "junction to ambient"},
});

constexpr std::string_view kDgs[] = {"drain", "gate", "source"};
constexpr std::string_view kDgsTwice[] = {"drain1", "gate1", "source1",
                                          "drain2", "gate2", "source2"};
constexpr std::string_view kCbe[] = {"collector", "base", "emitter"};
constexpr std::string_view kAk[] = {"anode", "cathode"};
constexpr std::string_view kTwo[] = {"one", "two"};
constexpr std::string_view kOneBridge[] = {"vm", "gnd", "in1", "in2", "out1", "out2"};
constexpr std::string_view kTwoBridges[] = {"vm",  "gnd",  "in1",  "in2",  "in3",
                                            "in4", "out1", "out2", "out3", "out4"};
constexpr std::string_view kFourBuffers[] = {"vcc", "gnd",  "in1",  "in2",  "in3",
                                             "in4", "out1", "out2", "out3", "out4"};
constexpr std::string_view kTwoChoppers[] = {"vm",     "gnd",    "in1",  "in2",  "in3",
                                             "in4",    "out1",   "out2", "out3", "out4",
                                             "sense1", "sense2", "ref1", "ref2"};
constexpr std::string_view kCompares[] = {"vcc", "gnd", "plus", "minus", "out"};
constexpr auto kInputs = std::to_array<std::string_view>({"in1", "in2", "in3", "in4"});

constexpr auto kClasses = std::to_array<PartClass>({
    {"n-mosfet", kDgs, kMosfet, "Q", "N-channel enhancement MOSFET"},
    {"p-mosfet", kDgs, kMosfet, "Q", "P-channel enhancement MOSFET"},
    {"npn", kCbe, kBipolar, "Q", "NPN bipolar transistor"},
    {"pnp", kCbe, kBipolar, "Q", "PNP bipolar transistor"},
    {"diode", kAk, kDiode, "D", "junction or Schottky diode"},
    {"zener", kAk, kZener, "D", "breakdown diode: zener or one-way suppressor"},
    {"resistor", kTwo, kResistor, "R", "resistor; its value is a setting"},
    {"electrolytic", kTwo, kElectrolytic, "C", "electrolytic capacitor; terminal one is positive"},
    {"ceramic", kTwo, kCeramic, "C", "ceramic capacitor"},
    {"bridge-chip", kOneBridge, kBridgeChip, "U", "integrated bridge for one winding",
     std::span(kInputs).first(2)},
    {"dual-bridge-chip", kTwoBridges, kBridgeChip, "U", "two integrated bridges in one package",
     kInputs},
    {"dual-chopper-chip", kTwoChoppers, kChopperChip, "U",
     "two integrated bridges in one package that measure their currents and chop by themselves",
     kInputs},
    {"buffers",
     kFourBuffers,
     kBuffers,
     "U",
     "eight logic buffers in one package, two in parallel on each output",
     kInputs,
     {},
     true},
    {"comparator", kCompares, kComparator, "U",
     "comparator whose output pulls down when its minus is above its plus, and else floats"},
    {"n-mosfet-pair",
     kDgsTwice,
     kAlikePair,
     "Q",
     "two N-channel MOSFETs in one package",
     {},
     {"n-mosfet", "n-mosfet"}},
    {"p-mosfet-pair",
     kDgsTwice,
     kAlikePair,
     "Q",
     "two P-channel MOSFETs in one package",
     {},
     {"p-mosfet", "p-mosfet"}},
    {"np-mosfet-pair",
     kDgsTwice,
     kMixedPair,
     "Q",
     "an N-channel MOSFET, the first half, and a P-channel one in one package",
     {},
     {"n-mosfet", "p-mosfet"}},
});

}  // namespace

std::span<const PartClass> part_classes() { return kClasses; }

const PartClass* find_part_class(std::string_view name) {
  for (const PartClass& c : kClasses)
    if (c.name == name) return &c;
  return nullptr;
}

bool is_capacitor(std::string_view part_class) {
  const PartClass* c = find_part_class(part_class);
  return c != nullptr && figure_index(*c, "capacitance") >= 0;
}

bool is_pair(const PartClass& part_class) { return !part_class.halves[0].empty(); }

bool is_driver_chip(const PartClass& part_class) { return !part_class.inputs.empty(); }

bool is_bought_driver(const PartClass& part_class) {
  return is_driver_chip(part_class) && !part_class.follows;
}

int figure_index(const PartClass& part_class, std::string_view name) {
  for (std::size_t i = 0; i < part_class.figures.size(); ++i)
    if (part_class.figures[i].name == name) return static_cast<int>(i);
  return -1;
}

double figure(const Part& part, std::string_view name) {
  const PartClass* c = find_part_class(part.part_class);
  PB_CHECK(c != nullptr, part.part_class);
  const int i = figure_index(*c, name);
  PB_CHECK(i >= 0 && i < static_cast<int>(part.figures.size()), part.part_class, name);
  return part.figures[static_cast<std::size_t>(i)];
}

std::vector<std::string> missing_figures(const Part& part) {
  std::vector<std::string> out;
  const PartClass* c = find_part_class(part.part_class);
  PB_CHECK(c != nullptr, part.part_class);
  for (std::size_t i = 0; i < c->figures.size(); ++i)
    if (c->figures[i].required && !given(part.figures[i])) out.emplace_back(c->figures[i].name);
  return out;
}

}  // namespace pb
