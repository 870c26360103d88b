// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A small design of any shipped template, quick to run: what tests need that are about designs and
// not about a particular one. Templates are found by listing the folder.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "files/catalogue.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_template.h"
#include "judgement/screens.h"
#include "model/design.h"
#include "physics/plan.h"

namespace pb::test {

inline const std::string kTree = PB_SOURCE_DIR;

inline std::vector<Template> shipped() {
  const auto all = load_templates(kTree + "/templates");
  EXPECT_TRUE(all) << (all ? "" : to_lines(all.error()));
  return all ? *all : std::vector<Template>{};
}

inline const std::vector<Part>& starter() {
  static const std::vector<Part> parts = [] {
    const auto text = load_text(kTree + "/parts/starter.csv");
    const auto read = read_catalogue("starter.csv", text ? *text : "");
    EXPECT_TRUE(read);
    return read ? read->parts : std::vector<Part>{};
  }();
  return parts;
}

/// A small 5 V motor, so that most wirings have parts that can work; a sequence the wiring has; a
/// dead time of its own, so that no proof ends early for want of one.
inline Design small_design(const Template& t) {
  const auto read = read_brief("test", R"(format = 1
[motor]
winding_resistance = "50 ohm"
winding_inductance = "20 mH"
steps_per_turn = "48 step"
back_emf_constant = "0.05 V s/rad"
rated_current = "0.1 A"
rotor_inertia = "3 g cm2"
detent_torque = "0.3 mN m"
[load]
torque = "0.5 mN m"
[motion]
rate = "400 step/s"
move = "8 step"
hold = "off"
[supply]
voltage = "5 V"
[controller]
logic_voltage = "5 V"
pins = 16
[build]
quantity = 1000
)");
  EXPECT_TRUE(read) << (read ? "" : to_lines(read.error()));
  Design d{read->brief, {}, t, {}, {}};
  d.settings.dead_time_s = 100e-6;
  for (const std::string sequence : {"two-phase", "one-phase", "half"})
    if (!physics::supports(t, d.settings.sequence)) d.settings.sequence = sequence;
  for (const Role& r : t.roles) {
    // One that may work, else any: what a wiring is not meant for still has a verdict.
    const Part* chosen = nullptr;
    for (const Part& p : starter()) {
      if (p.part_class != r.part_class || !missing_figures(p).empty()) continue;
      const bool may_work = screened_by({d.brief, t, r}, p).empty();
      if (!chosen || may_work) chosen = &p;
      if (may_work) break;
    }
    if (chosen) d.parts[r.name] = *chosen;
    if (!r.values.empty() && chosen) d.settings.value[r.name] = r.values[0];
  }
  EXPECT_TRUE(faults_of(d).empty()) << t.title;
  return d;
}

}  // namespace pb::test
