// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Designs that the tests of judgement start from, and their numbers at typical values.
#pragma once

#include <string>
#include <vector>

#include "app/inputs.h"
#include "judgement/checks.h"
#include "tests/unit/delivery_samples.h"

namespace pb::judgement_samples {

/// A figure of a part, by name.
inline double& of(Part& part, const std::string& name) {
  return part.figures.at(
      static_cast<std::size_t>(figure_index(*find_part_class(part.part_class), name)));
}

/// All-N bridges straight from logic, made sound: the logic stands far enough above the supply.
/// `sets` are keys of the brief as on the command line.
inline Design sound(std::vector<std::string> sets = {}) {
  sets.insert(sets.begin(), "controller.logic_voltage=12 V");
  const std::string file = (test::kRoot / "examples/follower-trap/design.toml").string();
  return app::read_design_input({file, sets}).value().design;
}

/// The same with every optional part, and every limit the brief can give.
inline Design full() {
  Design d = sound({"supply.current_limit=2 A"});
  const Design donor = test::design_of(d.wiring, true);
  for (const char* role : {"freewheel", "clamp"}) d.parts[role] = donor.parts.at(role);
  of(d.parts["freewheel"], "vr_max") = 40;
  of(d.parts["clamp"], "vz") = 8;
  of(d.parts["clamp"], "pulse_energy") = 0.1;
  d.brief.controller.pin_source_current_A = d.brief.controller.pin_sink_current_A = 0.05;
  d.brief.controller.total_current_A = 0.3;
  return d;
}

/// Emitter followers: the one wiring whose legs are bipolar.
inline Design followers() {
  Design d;
  for (const Template& t : test::all_templates()) {
    d = test::design_of(t, false);
    if (d.parts.contains("base_resistor") && d.parts.at("high_side").part_class == "npn" &&
        !d.parts.contains("shifter"))
      break;
  }
  d.brief = sound({"controller.logic_voltage=5 V", "build.target_cost=1000"}).brief;
  return d;
}

/// A design and its runs at typical values.
struct Studied {
  explicit Studied(const Design& design, const EvidenceWanted& w) : d(design), c(case_of(d)) {
    c.dead_time_s = dead_time_of(c);
    e = gather(c, physics::typical(c.spreads), w, {});
    EXPECT_EQ(trouble_of(e), "");
  }
  Studied(const Studied&) = delete;
  std::vector<Measured> numbers(const CheckRow& row) const {
    return row.measure(c, physics::typical(c.spreads), e);
  }

  Design d;
  Case c;
  Evidence e;
};

/// Every number of one check at typical values. The scan is left to the one check that has nothing
/// else.
inline std::vector<Measured> at_nominal(const Design& d, const CheckRow& row) {
  EvidenceWanted w;
  w.torque = row.reads == Reads::torque, w.scan = row.id == "resonance";
  w.patterns = row.reads == Reads::patterns;
  return Studied(d, w).numbers(row);
}

inline const CheckRow& row_of(const std::string& id) {
  for (const CheckRow& row : check_rows())
    if (row.id == id) return row;
  ADD_FAILURE() << "no check " << id;
  return check_rows()[0];
}

}  // namespace pb::judgement_samples
