// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The first board on the bench: what to measure, where, with which range, and what it should be,
// in the order that keeps parts alive (common practice, no source): no supply, one supply alone in
// either order, limited; reset; one bridge on a resistor; no motor; then the motor, standing before
// moving. Every expected value and band is simulated. Tested by tests/unit/judgement_bench.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/bench_scene.h"

namespace pb {

struct BenchReading {
  Expectation reading;
  std::string instrument;    // "meter" "oscilloscope" "thermometer"
  std::string coupling;      // "DC" "AC"
  std::string trigger;       // empty: none
  double range = kNotGiven;  // full scale in the reading's unit: 1, 2 or 5 times a power of ten
  std::string state;         // of the drive, where a step has several
};

struct BenchStep {
  std::string title;
  std::vector<std::string> set_up;  // what to do before
  std::vector<BenchReading> readings;
  std::string stop_if;  // when to switch off at once
};

struct BenchPlan {
  std::vector<BenchStep> steps;
  int units = 0;
  std::vector<std::string> omitted;  // what could not be computed
};

/// The dead time of the case must be known.
BenchPlan bench_plan(const Case& c, const BenchOptions& options);

/// The least of 1, 2, 5 times a power of ten that shows this value with a fifth to spare.
double range_for(double value);

/// What each winding is replaced by while one bridge is tried: ten times the winding, E12; where
/// the current is measured at least what lets through half of the regulated one, so that nothing
/// chops.
double dummy_ohm(const Brief& brief);

}  // namespace pb
