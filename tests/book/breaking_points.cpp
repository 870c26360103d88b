// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where judgement/fault_stress.cpp has parts give way.
#include <cmath>
#include <functional>
#include <string>

#include "judgement/fault_stress.h"
#include "tests/book/topics.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace physics;

constexpr double kAmbient_K = 293.15;

/// How near the first part of a class is to what it bears, in a design that nothing else stresses.
/// `stressed` is told the part, and alters it and what is seen.
using Stressed = std::function<void(Part&, const std::string& ref, stress::Window&)>;
stress::Stress nearness(const std::string& part_class, const char* what, const Stressed& stressed) {
  for (const Template& t : test::shipped()) {
    Design d = test::small_design(t);
    for (const Place& p : d.wiring.places) {
      const auto part = d.parts.find(p.role);
      if (part == d.parts.end() || part->second.part_class != part_class) continue;
      stress::Window w;
      stressed(part->second, p.ref, w);
      const Case c = case_of(d);
      const Temperatures cold;
      for (const stress::Stress& s : stress::Meter{c, kAmbient_K, cold}.of("", w))
        if (s.of.subject == p.ref && s.of.what == what && s.share > 0) return s;
    }
  }
  return {};
}

void set(Part& p, const char* name, double to) {
  p.figures.at(static_cast<std::size_t>(figure_index(*find_part_class(p.part_class), name))) = to;
}

/// Of half its rating.
stress::Stress film() {
  return nearness("resistor", stress::kHeat, [](Part& p, const std::string& ref, auto& w) {
    set(p, "power_max", 0.25);
    w.figures.parts[ref].loss_W = 0.125;
  });
}
stress::Stress warm_capacitor(const char* part_class) {
  return nearness(part_class, stress::kHeat, [](Part&, const std::string& ref, auto& w) {
    w.figures.parts[ref].loss_W = 0.2;
  });
}

void add_heat(std::vector<Row>& rows) {
  rows.push_back(
      {"film-warms",
       "A film resistor at half its rating, above its surroundings",
       {"its rating at 70 °C, nothing at 155 °C: common practice, from memory", Basis::remembered},
       42.5,
       "K",
       within(5e-3),
       [](const Skew&) { return film().T_K - kAmbient_K; },
       4});
  rows.push_back({"film-share",
                  "That over what it bears, from 20 °C",
                  {"42.5 K of 135 K", Basis::remembered},
                  42.5 / 135,
                  "",
                  within(5e-3),
                  [](const Skew&) { return film().share; },
                  4});
  rows.push_back({"capacitor-warms", "A small capacitor of 0.2 W, above its surroundings", kMemory,
                  20.0, "K", within(5e-3),
                  [](const Skew&) { return warm_capacitor("electrolytic").T_K - kAmbient_K; }, 4});
  rows.push_back({"electrolytic-share",
                  "That of an electrolytic over what it bears, from 20 °C",
                  {"105 °C, from memory", Basis::remembered},
                  20.0 / 85,
                  "",
                  within(5e-3),
                  [](const Skew&) { return warm_capacitor("electrolytic").share; },
                  4});
  rows.push_back({"ceramic-share",
                  "That of a ceramic",
                  {"125 °C, from memory", Basis::remembered},
                  20.0 / 105,
                  "",
                  within(5e-3),
                  [](const Skew&) { return warm_capacitor("ceramic").share; },
                  4});
  rows.push_back({"melted",
                  "What is hotter than any part survives is said to be at",
                  {"no law of a semiconductor holds above: no source", Basis::remembered},
                  800.0,
                  "K",
                  within(1e-9),
                  [](const Skew&) {
                    return nearness("resistor", stress::kHeat,
                                    [](Part&, const std::string& ref, auto& w) {
                                      w.figures.parts[ref].loss_W = 1e6;
                                    })
                        .T_K;
                  },
                  3});
  rows.push_back({"motor-warms",
                  "Share of a motor's steady rise after ten minutes",
                  {"1 - 1/e: a small motor's time constant, from memory", Basis::remembered},
                  1 - std::exp(-1.0),
                  "",
                  within(5e-3),
                  [](const Skew&) {
                    const Design d = test::small_design(test::shipped().front());
                    const Case c = case_of(d);
                    const Temperatures cold;
                    stress::Window w;
                    w.fuse_s = 600, w.figures.temperatures.winding_K = kAmbient_K + 10;
                    for (const stress::Stress& s : stress::Meter{c, kAmbient_K, cold}.of("", w))
                      if (s.of.subject == stress::kMotor) return (s.T_K - kAmbient_K) / 10;
                    return 0.0;
                  },
                  4});
}

void add_volts(std::vector<Row>& rows) {
  const Source breaks{"1.2 times the rating, from memory", Basis::remembered};
  const auto mosfet = [](double drain_V, double gate_V) {
    return nearness("n-mosfet", stress::kVolts,
                    [&](Part& p, const std::string& ref, auto& w) {
                      set(p, "vds_max", 50), set(p, "vgs_max", 20);
                      w.figures.parts[ref].voltage_V.value = drain_V;
                      w.figures.parts[ref].control_V.value = gate_V;
                    })
        .share;
  };
  rows.push_back({"drain-breaks", "60 V on a MOSFET of 50 V, over what it bears", breaks, 1.0, "",
                  within(5e-3), [mosfet](const Skew&) { return mosfet(60, 0); }, 4});
  rows.push_back({"oxide-breaks",
                  "30 V on a gate of 20 V, over what it bears",
                  {"1.5 times the rating, from memory", Basis::remembered},
                  1.0,
                  "",
                  within(5e-3),
                  [mosfet](const Skew&) { return mosfet(0, 30); },
                  4});
  rows.push_back({"electrolytic-reversed",
                  "1.5 V the wrong way round on an electrolytic, over what it bears", kMemory, 1.0,
                  "", within(5e-3),
                  [](const Skew&) {
                    return nearness("electrolytic", stress::kVolts,
                                    [](Part&, const std::string&, auto& w) {
                                      w.figures.rail_min_V = -1.5, w.figures.rail_max_V = 0;
                                    })
                        .share;
                  },
                  4});
  rows.push_back({"leads-bear",
                  "5 A in supply leads of AWG 26, over what they bear",
                  {"twice 2.5 A, single wire: MIL-STD-975M (1994), appendix A", Basis::published},
                  1.0,
                  "",
                  within(5e-3),
                  [](const Skew&) {
                    const Design d = test::small_design(test::shipped().front());
                    const Case c = case_of(d);
                    const Temperatures cold;
                    stress::Window w;
                    w.supply_A = 5;
                    for (const stress::Stress& s : stress::Meter{c, kAmbient_K, cold}.of("", w))
                      if (s.of.subject == stress::kLeads) return s.share;
                    return 0.0;
                  },
                  4});
}

}  // namespace

Topic breaking_points() {
  Topic t{"Where parts give way",
          "What the faults are judged by, beyond the ratings. Remembered but for the leads.",
          {}};
  add_heat(t.rows);
  add_volts(t.rows);
  return t;
}

}  // namespace pb::book
