// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A motor of low voltage on 24 V with its current kept down by duty, behind discrete switches or a
// driver chip, and a run of it by means and by every edge. Shared by the tests and the benchmark.
#pragma once

#include <algorithm>
#include <cmath>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "files/catalogue.h"
#include "files/load.h"
#include "files/toml_template.h"
#include "physics/drive_table.h"
#include "physics/run.h"

namespace pb::rigs {

/// `part_class`: of the switches, or of the chip; the first of the catalogue is taken.
inline Design chopped(const Brief& least, const std::string& root, const std::string& part_class,
                      const std::string& decay, const std::string& sequence) {
  const std::string file = root + "/parts/starter.csv";
  const Catalogue catalogue = *read_catalogue(file, *load_text(file));
  const std::vector<Template> templates = *load_templates(root + "/templates");
  for (const Template& t : templates) {
    const bool has = std::any_of(t.roles.begin(), t.roles.end(),
                                 [&](const Role& r) { return r.part_class == part_class; });
    if (!has || !t.measures.empty() || !physics::supports(t, sequence) ||
        !physics::supports_decay(t, sequence, decay))
      continue;
    Design d;
    d.wiring = t;
    d.brief = least;
    for (const Role& role : t.roles) {
      // Freewheel diodes of their own, for body diodes are slow; no clamps.
      if (role.optional && role.part_class != "diode") continue;
      const auto part =
          std::find_if(catalogue.parts.begin(), catalogue.parts.end(),
                       [&](const Part& p) { return p.part_class == role.part_class; });
      if (part != catalogue.parts.end()) d.parts[role.name] = *part;
      if (!role.values.empty()) d.settings.value[role.name] = role.values.front();
    }
    Brief& b = d.brief;
    b.regulation.kind = "duty";
    b.regulation.current_A = 0.5;
    b.controller.timer_tick_s = 1e-7;
    b.supply.voltage_V = 24;
    b.motor.winding_resistance_ohm = 6;
    b.motor.winding_inductance_H = 9e-3;
    b.motor.steps_per_turn = 200;
    b.motor.back_emf_constant_Vs = 0.2;
    b.motor.rotor_inertia_kgm2 = 4e-6;
    b.motor.viscous_friction_Nms = 5e-4;
    b.load.torque_Nm = 0.01;
    b.motion.rate_steps_s = 250;
    b.motion.hold = "on";
    d.settings.sequence = sequence;
    d.settings.decay = decay;
    return d;
  }
  throw std::runtime_error("no template with " + part_class + " decays " + decay);
}

inline physics::RunFigures by_edges(const Design& d, const physics::RunRequest& r) {
  const auto spreads = physics::spreads_of(d);
  return physics::run(d, spreads, physics::typical(spreads), {}, r);
}

inline physics::RunFigures by_means(const Design& d, physics::RunRequest r,
                                    const physics::DriveTable& table) {
  r.on_means = std::make_shared<const physics::DriveTable>(table);
  return by_edges(d, r);
}

/// Greatest difference of a winding's rms current, and of the loss of a part of these classes, as
/// shares.
struct Apart {
  double rms = 0, loss = 0;
  int parts = 0;
};
inline Apart apart(const Design& d, const physics::RunFigures& means,
                   const physics::RunFigures& edges, const std::string& part_class) {
  Apart out;
  const auto off = [](double x, double of) { return std::abs(x / of - 1.0); };
  out.rms = std::max(off(means.winding_a.rms_A, edges.winding_a.rms_A),
                     off(means.winding_b.rms_A, edges.winding_b.rms_A));
  for (const Place& p : d.wiring.places) {
    const auto part = d.parts.find(p.role);
    if (part == d.parts.end() || part->second.part_class != part_class) continue;
    ++out.parts;
    out.loss = std::max(out.loss, off(means.parts.at(p.ref).loss_W, edges.parts.at(p.ref).loss_W));
  }
  return out;
}

}  // namespace pb::rigs
