// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The test every board passes through: what is applied, what is read, within which limits a board
// is good, and what a board with each single fault reads there. Tested by
// tests/unit/judgement_bench.cpp.
//
//   limits   the band of good boards (bench_scene.h), wider by the instrument's own error on either
//            side, so that no good board fails for the instrument's sake
//   fault    seen where a board that is typical but for the fault reads beyond a limit by the
//            instrument's error once more; else latent
//
// The motor supply limits at twice the greatest current of a good board. Loads are resistors of the
// winding's resistance, with its inductance where a chip chops into them, not the motor. Left out:
// two faults at once, the joints of the test's own contacts.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "judgement/bench_scene.h"

namespace pb {

struct TestLimit {
  std::string step;
  Expectation reading;  // its band is that of good boards
  double guard = 0;     // the instrument's error
  double low = 0, high = 0;
};

struct FaultSeen {
  std::string part, fault;
  std::string step, what, where, unit;  // the first reading that shows it; empty: latent
  double value = kNotGiven, low = kNotGiven, high = kNotGiven;
  std::string undecided;  // states without an answer, where none with one shows it
};

struct ProductionTest {
  std::vector<TestLimit> limits;
  std::vector<FaultSeen> faults;
  std::vector<std::string> omitted;
  double supply_limit_A = kNotGiven;  // what the motor supply is set to: no reading is above
  int detected = 0, latent = 0, undecided = 0;
  bool loads_have_inductance = false;  // the winding's: a chip chops into them
};

struct ProductionOptions {
  BenchOptions bench{.units = 48};
  std::function<void(double)> progress{};  // 0 to 1; may be empty
};

/// Error of the instrument at a reading: 0.5 % of it and so many of the least units a cheap tester
/// resolves: 1 mA of a supply or winding, 20 uA of a pin, 10 mV. Common practice, no source.
double instrument_error(const Expectation& reading, double value);

/// The dead time of the case must be known.
ProductionTest production_test(const Case& c, const ProductionOptions& options);

}  // namespace pb
