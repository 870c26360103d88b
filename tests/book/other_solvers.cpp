// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <cmath>
#include <map>
#include <utility>

#include "tests/book/topics.h"
#include "tests/ref/follower.h"
#include "tests/rigs/against_ida.h"
#include "tests/rigs/motor.h"
#include "tests/rigs/touching.h"

namespace pb::book {
namespace {

using namespace rigs;

/// One whole run of a motor on two bridges, once by each.
struct Both {
  ref::SceneRun reference;
  scenes::Samples product;
  scenes::Errors errors;
};

Both run_both(const ref::Scene& scene, double rtol) {
  constexpr double kSample_s = 1e-4;
  Both b{ref::run_scene(scene, rtol, true, kSample_s, {}), scenes::run(scene, {}, kSample_s), {}};
  EXPECT_EQ(b.reference.status, 0);
  b.errors = scenes::errors_of(b.product, b.reference, scene);
  return b;
}

struct SceneRow {
  const char *id, *claim;
  ref::Scene scene;
  double rtol;
};

void add_scene(std::vector<Row>& rows, const SceneRow& s) {
  const Both both = run_both(s.scene, s.rtol);
  const std::string id = s.id, claim = s.claim;
  const Source ida{
      "SUNDIALS IDA (variable-order BDF) on a second statement of the equations, at relative " +
          std::string(s.rtol > 5e-7 ? "1e-6" : "1e-7"),
      Basis::other_solver};
  const auto add = [&](const char* what, std::string text, double expected, const char* unit,
                       Tolerance tolerance, double computed, int digits) {
    rows.push_back({id + "-" + what, claim + ": " + std::move(text), ida, expected, unit, tolerance,
                    [computed](const Skew&) { return computed; }, digits});
  };
  const ref::Energies& e = both.reference.energy_J;
  add("current", "largest difference of a winding current over the largest current", 0, "",
      by(1e-3), both.errors.current, 2);
  add("angle", "largest difference of the rotor's angle", 0, "step", by(1e-2), both.errors.rotor,
      2);
  add("energy", "energy given by supply and pins", 1e3 * (e.source + e.pins), "mJ", within(1e-3),
      1e3 * both.product.ledger.source_J, 5);
  add("channels", "heat in the eight channels", 1e3 * scenes::channels_J(both.reference), "mJ",
      within(5e-3), 1e3 * both.product.switch_loss_J, 4);
}

void add_followers(std::vector<Row>& rows) {
  struct Point {
    double gate_V, load_ohm;
    const char *id, *text;
  };
  for (const Point& p : {Point{5, 10, "5-10", "5 V, 10 Ω"}, Point{5, 1000, "5-1000", "5 V, 1 kΩ"},
                         Point{9, 2, "9-2", "9 V, 2 Ω"}, Point{2.5, 10, "2.5-10", "2.5 V, 10 Ω"}}) {
    ref::Follower f;
    f.gate_V = p.gate_V, f.load_ohm = p.load_ohm;
    rows.push_back(
        {std::string("follower-") + p.id,
         std::string("Follower from 12 V, threshold 1.8 V, gate and load ") + p.text,
         {"bisection on the channel's law", Basis::other_solver},
         ref::follower_source_V(f),
         "V",
         by(3e-5),
         [f](const Skew& k) {
           Circuit c = grounded();
           const int drain = driven(c, Profile{{0.0, 1e-6}, {0.0, f.drain_V}}),
                     gate = driven(c, Profile{{0.0, 1e-6}, {0.0, f.gate_V}}),
                     source = c.add_node("source");
           c.mosfets.push_back(
               {"q", drain, gate, source, {1, f.VT0_V, f.K_A_V2 * k.channel_beta, f.n, f.UT_V}});
           c.resistors.push_back({"load", source, 0, 1.0 / f.load_ohm});
           c.capacitors.push_back({"c", source, 0, 1e-9});
           System s(c);
           TransientOptions o;
           o.atol_V = 1e-6, o.rtol = 1e-6;
           Transient t(s, o);
           t.start(0.0);
           t.run_to(1e-3);
           return t.state()[0];
         }});
  }
}

void add_runge_kutta(std::vector<Row>& rows) {
  const Source rk{"classical Runge-Kutta of fourth order, steps of 1 µs", Basis::other_solver};
  rows.push_back({"motor-current",
                  "Lightly damped motor, 12 steps: largest difference of a current over "
                  "the largest current",
                  rk, 0, "", by(3e-3), [](const Skew&) { return by_runge_kutta(1).current; }, 2});
  rows.push_back({"motor-angle", "Lightly damped motor, 12 steps: largest difference of the angle",
                  rk, 0, "step", by(3e-2), [](const Skew&) { return by_runge_kutta(1).angle_step; },
                  2});
}

void add_touching(std::vector<Row>& rows) {
  const Source cvode{"SUNDIALS CVODE (variable-order BDF) with flux linkages as states, at 1e-9",
                     Basis::other_solver};
  const std::string what = "Iron that saturates, a load behind a gap, an end stop, 12 steps: ";
  rows.push_back({"touching-current", what + "difference of a current over the largest", cvode, 0,
                  "", by(1e-3), [](const Skew&) { return apart_from_cvode({}).current; }, 2});
  rows.push_back({"touching-rotor", what + "difference of the rotor's angle", cvode, 0, "step",
                  by(5e-3), [](const Skew&) { return apart_from_cvode({}).rotor_step; }, 2});
  rows.push_back({"touching-load", what + "difference of the load's", cvode, 0, "step", by(5e-3),
                  [](const Skew&) { return apart_from_cvode({}).load_step; }, 2});
}

}  // namespace

Topic other_solvers() {
  Topic t{"Whole runs against other solvers",
          "Two bridges of P over N MOSFETs that turn a motor, with drive edges, diodes, clamp and "
          "rail, at the engine's default tolerances. The other solvers share no line of code with "
          "the product; they share the models, and so prove the numerics only.",
          {}};
  add_scene(t.rows,
            {"bridges", "Two phases on, 20 steps, all off at the end", ref::case_1(), 1e-7});
  add_scene(t.rows,
            {"coast", "With 4.7 µF of bulk and a coast at every step", ref::case_1_coast(), 1e-7});
  add_scene(t.rows, {"chopped", "Low sides chopped at 20 kHz", scenes::chopped(), 1e-6});
  add_followers(t.rows);
  add_runge_kutta(t.rows);
  add_touching(t.rows);
  return t;
}

}  // namespace pb::book
