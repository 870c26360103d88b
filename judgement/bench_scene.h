// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What instruments read on a board on the bench: a scene is how it is powered, loaded and driven, a
// probe one reading of it. Values are those of simulated boards as they come: parts and motor
// anywhere within their limits, the supplies set to kSet, air of a laboratory. Tested by
// tests/unit/judgement_bench.cpp.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "base/parallel.h"
#include "base/stop.h"
#include "judgement/evidence.h"
#include "physics/net_current.h"

namespace pb {

struct Scene {
  std::string name;  // "reset", "a with a resistor, +0"
  physics::RunRequest request;
};

/// One run or resting state as instruments see it.
struct Seen {
  physics::RunFigures figures;
  std::vector<physics::NetFlow> flows;
  std::map<std::string, double> net_V;  // at rest, or at the end
  bool ended = false;
};

struct Probe {
  std::string what, where, unit;
  std::function<double(const Seen&)> value;
};

/// One reading with what it should be.
struct Expectation {
  std::string what, where, unit;
  double expected = kNotGiven, low = kNotGiven, high = kNotGiven;
};

struct BenchOptions {
  int units = 24;  // that make a band
  std::uint64_t seed = 1;
  ParallelFor parallel = serial();
  StopToken stop{};
};

/// Share by which a supply is off what it was set to, and the air of a laboratory: IEC 60068-1,
/// 15 to 35 degC (from memory).
inline constexpr double kSet = 0.005, kLaboratoryLow_K = 288.15, kLaboratoryHigh_K = 308.15;
/// A few dozen units do not reach the ends: the band is that much wider on either side, of its
/// width.
inline constexpr double kWidenBand = 0.15;

/// Unit number `unit` on the bench; nominal() is the typical one.
physics::Point bench_unit(const Case& c, const BenchOptions& options, int unit);
physics::Point bench_nominal(const Case& c);

Seen see(const Case& c, const physics::Point& point, const Scene& scene, const StopToken& stop);

/// Expected and band of every probe in a scene; not given where the typical board or too many units
/// come to no end.
std::vector<Expectation> readings_of(const Case& c, const Scene& scene,
                                     const std::vector<Probe>& probes, const BenchOptions& options);

// --- probes
// ---------------------------------------------------------------------------------------

Probe supply_current();
Probe logic_current();
Probe pin_current(const std::string& pin);
/// Mean current of a winding's first lead, from the board into the winding.
Probe winding_current(const Template& t, int winding);
Probe node_voltage(const std::string& node);
Probe voltage_between(const std::string& from, const std::string& to);

}  // namespace pb
