// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The proof runs the drive code, so a fault in its tables must fail the proof: swapped phases, no
// dead time, too steep a ramp, coast where the design brakes. With its own tables the design
// passes.
#include <gtest/gtest.h>

#include <algorithm>

#include "files/catalogue.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_template.h"
#include "judgement/proof.h"

namespace pb {
namespace {

const std::string kRoot = PB_SOURCE_DIR;

// A motor with enough inertia to need its ramp and enough energy in its windings to lift a small
// bulk capacitor.
constexpr const char* kBrief = R"(format = 1
[motor]
winding_resistance = "40 ohm"
winding_inductance = "100 mH"
steps_per_turn = "200 step"
holding_torque = "80 mN m"
rated_current = "0.12 A"
rotor_inertia = "20 g cm2"
detent_torque = "2 mN m"
viscous_friction = "1 mN m s"
thermal_resistance = "6 K/W"
[load]
torque = "4 mN m"
inertia = "400 g cm2"
[motion]
sequence = "two-phase"
rate = "250 step/s"
start_rate = "80 step/s"
ramp = "2000 step/s2"
move = "36 step"
hold = "off"
[supply]
voltage = "5 V"
[controller]
logic_voltage = "5 V"
[build]
quantity = 1000
)";

/// A wiring in which a pin turns a switch off when high, another when low, and that can coast.
Template wiring() {
  const auto all = load_templates(kRoot + "/templates");
  EXPECT_TRUE(all) << (all ? "" : to_lines(all.error()));
  for (const Template& t : *all) {
    const auto has = [&](char off) {
      return std::any_of(t.pins.begin(), t.pins.end(), [&](const Pin& p) { return p.off == off; });
    };
    physics::PlannedState ignored;
    if (has('0') && has('1') && physics::find_state(t, "00", ignored)) return t;
  }
  ADD_FAILURE() << "no such wiring";
  return {};
}

// Of the starter catalogue; thresholds that a pin at the rail, less its tolerance, keeps off.
constexpr const char* kNumbers[] = {"NFET-20V-400mR-SOT323-a", "PFET-20V-700mR-SOT323-a"};

Design design() {
  const auto brief = read_brief("test", kBrief);
  EXPECT_TRUE(brief) << (brief ? "" : to_lines(brief.error()));
  const auto text = load_text(kRoot + "/parts/starter.csv");
  const auto starter = read_catalogue("starter.csv", *text);
  Design d{brief->brief, brief->assumed, wiring(), {}, {}};
  for (const Role& r : d.wiring.roles) {
    if (r.optional) continue;
    for (const Part& p : starter->parts) {
      if (p.part_class != r.part_class) continue;
      const bool is_switch = p.part_class.ends_with("-mosfet");
      if (is_switch && p.number != kNumbers[0] && p.number != kNumbers[1]) continue;
      if (d.parts.try_emplace(r.name, p).second && !r.values.empty())
        d.settings.value[r.name] = r.values[r.values.size() / 2];
    }
    if (is_capacitor(r.part_class))
      d.parts.at(r.name).figures.at(static_cast<std::size_t>(
          figure_index(*find_part_class(r.part_class), "capacitance"))) = 2.2e-6;
  }
  EXPECT_TRUE(faults_of(d).empty());
  return d;
}

/// Ids of the checks that fail.
std::string failing(const physics::DriveEdit& edit) {
  ProofOptions o;
  o.drive_edit = edit;
  const Verdict v = prove(design(), o).verdict;
  std::string out;
  for (const std::string& u : v.undecided) out += "undecided " + u + "; ";
  for (const Check& c : v.checks)
    if (!c.passes && out.find(c.id) == std::string::npos) out += c.id + " ";
  return out;
}

bool has(const std::string& list, const std::string& id) {
  return list.find(id) != std::string::npos;
}

TEST(DriveFaults, ItsOwnTablesPass) { EXPECT_EQ(failing({}), ""); }

TEST(DriveFaults, SwappedPhaseFails) {
  const std::string f =
      failing([](physics::DriveTable& t) { std::swap(t.sequence[1], t.sequence[3]); });
  EXPECT_TRUE(has(f, "lost_steps")) << f;
}

TEST(DriveFaults, MissingDeadTimeFails) {
  const std::string f = failing([](physics::DriveTable& t) { t.c.dead_ticks = 0; });
  EXPECT_TRUE(has(f, "shoot_through_edge")) << f;
}

TEST(DriveFaults, TooSteepARampFails) {
  const std::string f = failing([](physics::DriveTable& t) { t.c.ramp.first = t.c.ramp.cruise; });
  EXPECT_TRUE(has(f, "lost_steps")) << f;
}

TEST(DriveFaults, CoastInsteadOfBrakeFails) {
  const std::string f = failing([](physics::DriveTable& t) {
    ASSERT_EQ(t.release_flows.size(), 2u);
    t.c.release[0] = t.c.release[1];
    t.c.releases = 1;
    t.release_flows.erase(t.release_flows.begin());
  });
  EXPECT_TRUE(has(f, "rail_peak")) << f;
}

}  // namespace
}  // namespace pb
