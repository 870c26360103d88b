// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How near everything in a faulty design is to what it bears; docs/faults.md has the limits. Tested
// by tests/unit/judgement_faults.cpp.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "judgement/faults.h"

namespace pb::stress {

/// How near something is to what it bears: 1 is the limit.
struct Stress {
  Harm of;
  double share = 0;
  double T_K = 0;  // where it is a temperature
};
inline constexpr const char* kHeat = "temperature";
inline constexpr const char* kVolts = "voltage";
inline constexpr const char* kCurrent = "current";
inline constexpr const char* kMotor = "motor";
inline constexpr const char* kLeads = "supply leads";

/// One look at the faulty design.
struct Window {
  physics::RunFigures figures;
  std::optional<double> fuse_s;
  bool moving = false;
  double supply_A = 0, peak_A = 0;       // at first, or hot: the greater
  std::map<std::string, double> loss_W;  // of each part, likewise
};

double supply_rms(const physics::RunFigures& f);
/// Keeps the greatest of what was seen so far and these figures.
void keep(Window& w, const physics::RunFigures& f);
/// The worst of each subject and kind.
void keep_worst(const std::vector<Stress>& list, std::map<std::string, Stress>& worst);

/// One design at one ambient; `warm`: where the sound one's temperatures are.
struct Meter {
  const Case& c;
  double ambient_K;
  const physics::Temperatures& warm;

  /// All stresses; `own`: the part whose fault it is, whose voltages tell nothing.
  std::vector<Stress> of(const std::string& own, const Window& w) const;
  void add_pins(const physics::RunFigures& f, bool moving, std::vector<Stress>& out) const;

  // Parts of it.
  double warmed_K(double rise_K, const Window& w) const;
  double was_K(const std::string& ref) const;
  void add_heat(const Window& w, std::vector<Stress>& out) const;
  void add_volts(const std::string& own, const Window& w, std::vector<Stress>& out) const;
};

}  // namespace pb::stress
