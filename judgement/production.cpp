// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/production.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "judgement/fault_list.h"

namespace pb {
namespace {

using namespace physics;

struct TestStep {
  Scene scene;
  std::vector<Probe> probes;
};

/// Resistors of the winding's resistance, 1 % or better, in place of the windings; their inductance
/// matters only where a chip chops into them, and there it is asked for.
void on_loads(Circuit& c, double ohm) {
  for (WindingElement& w : c.windings) w.resistance_ohm = ohm;
}

class Tester {
 public:
  Tester(const Case& c, const ProductionOptions& o) : c_(c), d_(c.design), o_(o) { list_steps(); }

  ProductionTest test() {
    limits();
    faults();
    return std::move(out_);
  }

 private:
  std::vector<Probe> everything() const {
    std::vector<Probe> out = {supply_current(), winding_current(d_.wiring, 0),
                              winding_current(d_.wiring, 1), node_voltage(kRail)};
    for (const Pin& p : d_.wiring.pins) out.push_back(pin_current(p.name));
    return out;
  }

  void add(const std::string& name, RunRequest r, std::vector<Probe> probes) {
    const double ohm = d_.brief.motor.winding_resistance_ohm;
    r.alter = [ohm](Circuit& c) { on_loads(c, ohm); };
    steps_.push_back({{name, std::move(r)}, std::move(probes)});
  }

  void list_steps() {
    const auto powered = [&](bool rail, bool logic) {
      RunRequest r = held_in_reset(c_);
      r.power.rail = rail, r.power.logic = logic;
      return r;
    };
    add("motor supply alone", powered(true, false), everything());
    add("logic supply alone", powered(false, true), everything());
    add("both supplies, reset", powered(true, true), everything());
    out_.loads_have_inductance = chops_by_itself(d_);
    for (const RunRequest& held : states_frozen(c_)) {
      const std::string& flow = held.plan.states.front().flow;
      add("state " + (flow == "bb"   ? std::string("brake")
                      : flow == "00" ? std::string("off")
                                     : flow),
          held, everything());
    }
    // Capacitors and clamps show only when something changes.
    Case shown = c_;
    if (measures_current(d_.brief)) shown.steps = std::min(shown.steps, kMeasuredSteps);
    RunRequest move;
    move.plan = move_plan(shown);
    move.plan.rotor_locked = true;
    add("a move on the loads", std::move(move),
        {supply_current(),
         {"rail, lowest", "rail", "V", [](const Seen& s) { return s.figures.rail_min_V; }},
         {"rail, highest", "rail", "V", [](const Seen& s) { return s.figures.rail_max_V; }},
         {"supply current, peak", "supply +", "A",
          [](const Seen& s) { return s.figures.supply_peak_A; }}});
  }

  void limits() {
    for (const TestStep& s : steps_) {
      std::vector<TestLimit> of_step;
      of_step.reserve(s.probes.size());
      for (Expectation& r : readings_of(c_, s.scene, s.probes, o_.bench)) {
        TestLimit l;
        l.step = s.scene.name;
        if (!given(r.low)) {
          out_.omitted.push_back(l.step + ": " + r.what + ", " + r.where);
        } else {
          l.guard = instrument_error(r, std::max(std::abs(r.low), std::abs(r.high)));
          l.low = r.low - l.guard, l.high = r.high + l.guard;
        }
        l.reading = std::move(r);
        of_step.push_back(std::move(l));
      }
      limits_.push_back(of_step);
      constexpr double kSpare = 2;
      for (const TestLimit& l : of_step)
        if (l.reading.what == supply_current().what && given(l.reading.high))
          out_.supply_limit_A = given(out_.supply_limit_A)
                                    ? std::max(out_.supply_limit_A, kSpare * l.high)
                                    : kSpare * l.high;
      for (TestLimit& l : of_step)
        if (given(l.reading.low)) out_.limits.push_back(std::move(l));
    }
  }

  /// The board's own defects: the motor is not on it, and is tested with the motor's maker.
  static bool on_the_board(const Situation& s) {
    return s.defect && s.part != "motor" && !s.part.starts_with("winding");
  }

  void faults() {
    std::vector<Situation> all;
    for (Situation& s : situations_of(c_))
      if (on_the_board(s)) all.push_back(std::move(s));
    out_.faults.resize(all.size());
    std::size_t done = 0;
    constexpr std::size_t kBatch = 8;  // so that progress shows and a stop is noticed
    for (; done < all.size() && !o_.bench.stop.stop_requested(); done += kBatch) {
      const std::size_t n = std::min(kBatch, all.size() - done);
      o_.bench.parallel(n, [&](std::size_t k) { out_.faults[done + k] = judge(all[done + k]); });
      if (o_.progress) o_.progress(static_cast<double>(done + n) / static_cast<double>(all.size()));
    }
    for (const FaultSeen& f : out_.faults) {
      int& count = !f.step.empty()       ? out_.detected
                   : f.undecided.empty() ? out_.latent
                                         : out_.undecided;
      ++count;
    }
  }

  /// The tester's supply does not give more than it was set to.
  double limited(const TestLimit& l, double value) const {
    return l.reading.what == supply_current().what ? std::min(value, out_.supply_limit_A) : value;
  }

  FaultSeen judge(const Situation& s) const {
    FaultSeen out;
    out.part = s.part, out.fault = s.fault;
    std::vector<std::string> open;
    for (std::size_t k = 0; k < steps_.size(); ++k) {
      Scene scene = steps_[k].scene;
      scene.request.alter = [healthy = scene.request.alter, fault = s.inject](Circuit& c) {
        healthy(c);
        if (fault) fault(c);
      };
      const Seen seen = see(c_, bench_nominal(c_), scene, o_.bench.stop);
      if (!seen.ended) {
        open.push_back(scene.name);
        continue;
      }
      for (std::size_t p = 0; p < steps_[k].probes.size(); ++p) {
        const TestLimit& l = limits_[k][p];
        double value = steps_[k].probes[p].value(seen);
        if (!given(l.reading.low) || !given(value)) continue;
        value = limited(l, value);
        const double error = instrument_error(l.reading, value);
        if (value >= l.low - error && value <= l.high + error) continue;
        out.step = l.step, out.what = l.reading.what, out.where = l.reading.where;
        out.unit = l.reading.unit;
        out.value = value, out.low = l.low, out.high = l.high;
        return out;
      }
    }
    out.undecided = join(open, ", ");
    return out;
  }

  const Case& c_;
  const Design& d_;
  const ProductionOptions& o_;
  std::vector<TestStep> steps_;
  std::vector<std::vector<TestLimit>> limits_;  // of each step, one a probe
  ProductionTest out_;
};

}  // namespace

double instrument_error(const Expectation& reading, double value) {
  constexpr double kShare = 0.005;
  const double least = reading.unit == "V"                 ? 10e-3
                       : reading.where.starts_with("pin ") ? 20e-6
                                                           : 1e-3;
  return kShare * std::abs(value) + least;
}

ProductionTest production_test(const Case& c, const ProductionOptions& options) {
  return Tester(c, options).test();
}

}  // namespace pb
