// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The proof runs the drive code, so a fault in its tables must fail the proof: swapped phases, no
// dead time, too steep a ramp, coast where the design brakes. With its own tables the design
// passes.
#include <gtest/gtest.h>

#include <string>
#include <utility>

#include "judgement/proof.h"
#include "tests/unit/judgement_samples.h"

namespace pb {
namespace {

/// Slow gates, which need a dead time; a mass that needs its ramp; windings whose energy the small
/// bulk capacitor cannot take, so that the design has to brake before it lets go.
Design design() {
  Design d = judgement_samples::sound();
  MotionBrief& m = d.brief.motion;
  m.start_rate_steps_s = 60, m.rate_steps_s = 240, m.ramp_steps_s2 = 1000, m.move_steps = 100;
  d.brief.load.inertia_kgm2 = 30e-7;
  d.settings.value["gate_resistor"] = 4700;
  judgement_samples::of(d.parts["bulk"], "capacitance") = 10e-6;
  for (const char* role : {"bulk", "ceramic"})
    judgement_samples::of(d.parts[role], "voltage_max") = 10;
  return d;
}

/// What fails the proof, check and subject; a proof that is not finished fails as that.
std::string failing(const physics::DriveEdit& edit) {
  ProofOptions o;
  o.drive_edit = edit;
  if (edit) o.depth = Depth::corners, o.fail_first = true;
  const Verdict v = prove(design(), o).verdict;
  std::string out;
  for (const std::string& u : v.undecided) out += "undecided: " + u + "; ";
  for (const Check& c : v.checks)
    if (!c.passes)
      out += c.id + " " + c.subject + " " + std::to_string(c.value) + "/" +
             std::to_string(c.limit) + "; ";
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
  const std::string f = failing([](physics::DriveTable& t) {
    EXPECT_GT(t.c.dead_ticks, 1u);
    t.c.dead_ticks = 0;
  });
  // The capacitors empty themselves through the legs.
  EXPECT_TRUE(has(f, "rail_dip")) << f;
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
